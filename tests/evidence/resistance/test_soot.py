"""The soot balance and the limit of a burn."""

import pytest

from garage.evidence.resistance.limits import DEFAULTS
from garage.evidence.resistance.ranges import Range
from garage.evidence.resistance.soot import (
    BurnStatus,
    Duty,
    FilterFacts,
    IntervalStatus,
    Substrate,
    burn_judged,
    burn_limit,
    distance_between_burns_km,
    interval_judged,
)
from garage.evidence.thresholds import Basis, Override


@pytest.mark.parametrize(
    ("soot_g_per_km", "km"), [(0.02, 900), (0.04, 450), (0.06, 300), (0.1, 180), (0.2, 90)]
)
def test_distance_between_burns_as_reckoned_by_hand(soot_g_per_km: float, km: float) -> None:
    """18 g over g/km. Fails where the quotient is turned round."""
    found = distance_between_burns_km(Range.exactly(18.0), Range.exactly(soot_g_per_km))
    assert found is not None
    assert found.likely == pytest.approx(km)


def test_distance_between_burns_without_soot_is_not_known() -> None:
    """Fails where an endless distance comes back."""
    assert distance_between_burns_km(Range.exactly(18.0), Range(0.0, 0.02, 0.04)) is None


@pytest.mark.parametrize(
    ("observed_km", "status"),
    [
        (120.0, IntervalStatus.SHORTER),
        (450.0, IntervalStatus.WITHIN),
        (1500.0, IntervalStatus.LONGER),
        (None, IntervalStatus.NOT_KNOWN),
    ],
)
def test_interval_beside_mixed_duty(observed_km: float | None, status: IntervalStatus) -> None:
    """200 to 1200 km for 3 L. Fails where an end is misplaced."""
    assert interval_judged(observed_km, 3.0, Duty.MIXED).status is status


@pytest.mark.parametrize(("volume_l", "duty"), [(None, Duty.MIXED), (3.0, None)])
def test_interval_is_not_known_without_volume_or_duty(
    volume_l: float | None, duty: Duty | None
) -> None:
    """One at a time. Fails where either is taken for granted."""
    assert interval_judged(450.0, volume_l, duty).status is IntervalStatus.NOT_KNOWN


@pytest.mark.parametrize(
    ("facts", "limit_g"),
    [
        (FilterFacts(3.0), 15.0),
        (FilterFacts(3.0, Substrate.CORDIERITE), 15.0),
        (FilterFacts(3.0, Substrate.SILICON_CARBIDE), 24.0),
        (FilterFacts(3.0, Substrate.SILICON_CARBIDE, 20.0), 20.0),
        (FilterFacts(None, Substrate.NOT_KNOWN, 40.0), 40.0),
        (FilterFacts(None, Substrate.SILICON_CARBIDE), None),
    ],
)
def test_burn_limit_by_rule(facts: FilterFacts, limit_g: float | None) -> None:
    """Fails where the own limit does not win, or a volume is made up."""
    assert burn_limit(facts).limit_g == limit_g


def test_burn_limit_of_an_override_is_told_as_published() -> None:
    """Fails where an organisation's own threshold is passed by."""
    own = DEFAULTS.overridden([Override("burn_most_unknown_g_per_l", 4.0, "own data sheet")])
    found = burn_limit(FilterFacts(3.0), own)
    assert found.limit_g == pytest.approx(12.0)
    assert found.basis is Basis.SOURCE


@pytest.mark.parametrize(
    ("soot_g", "volume_l", "status"),
    [
        (Range(10.0, 12.0, 15.0), 3.0, BurnStatus.WITHIN_LIMIT),
        (Range(10.0, 12.0, 15.1), 3.0, BurnStatus.OVER_LIMIT),
        (Range(1.0, 1.0, 1.0), None, BurnStatus.NOT_APPROVED),
        (None, 3.0, BurnStatus.NOT_APPROVED),
    ],
)
def test_burn_judged_by_the_most_there_may_be(
    soot_g: Range | None, volume_l: float | None, status: BurnStatus
) -> None:
    """Fails where the likely soot counts, or an unknown is let through."""
    assert burn_judged(soot_g, FilterFacts(volume_l)).status is status


@pytest.mark.parametrize("bad", [FilterFacts(0.0), FilterFacts(3.0, own_limit_g=-1.0)])
def test_burn_limit_refuses_impossible_facts(bad: FilterFacts) -> None:
    """Fails where a limit of nothing or less comes out."""
    with pytest.raises(ValueError, match="above 0"):
        burn_limit(bad)
