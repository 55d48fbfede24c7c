"""The ratio test."""

import pytest

from garage.evidence.resistance.points import Zero
from garage.evidence.resistance.ratio import RatioStatus, ratio_tested
from garage.evidence.resistance.worked_model import Deposits
from tests.evidence.resistance.readings import IDLE, RAISED, flow_of, shown, shown_by

ZERO = Zero(0.0, 0.2)


def test_ratio_laws_as_reckoned_by_hand() -> None:
    """7 and 28: flow ×5.9, viscosity ×1.16, density ×0.81. Fails on a law turned round."""
    found = ratio_tested(*shown_by(Deposits(18.0)), ZERO)
    assert found.as_filter_ratio == pytest.approx(7.0, abs=0.2)
    assert found.as_hole_ratio == pytest.approx(28.0, abs=0.6)


@pytest.mark.parametrize("held", [Deposits(18.0), Deposits(30.0), Deposits(12.0, 120.0)])
def test_ratio_of_any_filled_filter_is_a_filters(held: Deposits) -> None:
    """Fails where soot or ash is taken for a hole."""
    assert ratio_tested(*shown_by(held), ZERO).status is RatioStatus.AS_FILTER


def test_ratio_of_a_hole() -> None:
    """Fails where 28 times counts as a filter."""
    found = ratio_tested(shown(3.0, IDLE), shown(85.0, RAISED), ZERO)
    assert found.status is RatioStatus.AS_HOLE


@pytest.mark.parametrize(
    ("idle_mbar", "raised_mbar", "zero"),
    [
        (7.0, 47.0, None),  # no zero
        (1.2, 8.0, ZERO),  # idle as small as a poor zero
        (3.0, 42.0, ZERO),  # between the laws
    ],
)
def test_ratio_cannot_be_told(idle_mbar: float, raised_mbar: float, zero: Zero | None) -> None:
    """One fault at a time. Fails where any is let through."""
    found = ratio_tested(shown(idle_mbar, IDLE), shown(raised_mbar, RAISED), zero)
    assert found.status is RatioStatus.CANNOT_BE_TOLD


def test_ratio_cannot_be_told_from_flows_too_near() -> None:
    """Fails where two readings at one speed are set against each other."""
    near = flow_of(11.0, 150.0)
    found = ratio_tested(shown(7.0, IDLE), shown(9.0, near), ZERO)
    assert found.status is RatioStatus.CANNOT_BE_TOLD
    assert "flow" in found.reason


@pytest.mark.parametrize("raised_mbar", [7.5, 0.0, -40.0])
def test_ratio_of_a_stuck_reading_sends_to_the_sensor(raised_mbar: float) -> None:
    """Fails where a pressure that does not follow the flow passes for a filter."""
    found = ratio_tested(shown(7.0, IDLE), shown(raised_mbar, RAISED), ZERO)
    assert found.status is RatioStatus.FOLLOWS_TOO_LITTLE


def test_ratio_takes_the_zero_off() -> None:
    """3 mbar of offset would make a filter's 7 times look like 5. Fails where it stays on."""
    found = ratio_tested(*shown_by(Deposits(18.0), zero_mbar=3.0), Zero(3.0, 0.2))
    assert found.ratio == pytest.approx(6.87, abs=0.05)


def test_ratio_with_a_poor_zero_cannot_be_told() -> None:
    """Fails where the zero's own uncertainty is not carried into the ratio."""
    sharp = ratio_tested(shown(3.0, IDLE), shown(21.0, RAISED), Zero(0.0, 0.2))
    poor = ratio_tested(shown(3.0, IDLE), shown(21.0, RAISED), Zero(0.0, 2.0))
    assert sharp.status is RatioStatus.AS_FILTER
    assert poor.status is RatioStatus.CANNOT_BE_TOLD
