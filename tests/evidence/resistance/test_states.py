"""States that an index allows."""

import numpy as np
import pytest

from garage.evidence.resistance.model import (
    STANDARD_REFERENCE,
    IndexStatus,
    ResistanceIndex,
    resistance_index,
)
from garage.evidence.resistance.points import Zero
from garage.evidence.resistance.reference import FamilyReference, family_reference
from garage.evidence.resistance.states import (
    ASH_OR_SOOT,
    FilterKnown,
    FilterState,
    Layout,
    StatesStatus,
    state_ranges,
    states_allowed,
)
from garage.evidence.resistance.worked_model import Deposits
from tests.evidence.resistance.readings import shown_by

ZERO = Zero(0.0, 0.2)
FLOW_AT_3000_RPM = 256.0 * 3000.0 / 2500.0


def index_of(resistance: float, share: float = 0.03) -> ResistanceIndex:
    low, high = resistance * (1.0 - share), resistance * (1.0 + share)
    return ResistanceIndex(IndexStatus.OK, "", 2, STANDARD_REFERENCE, resistance, low, high)


TWO = Layout.TWO_HOSE


def family_about(middle: float) -> FamilyReference:
    values = middle * np.exp(np.random.default_rng(5).normal(0.0, 0.15, 40))
    return family_reference(values, list(range(40)))


def test_30_mbar_at_3000_rpm_is_at_the_edge() -> None:
    """Fails where it is graded without the family."""
    found = states_allowed(index_of(30.0 / FLOW_AT_3000_RPM), FilterKnown(3.0, TWO))
    assert (
        found.status is StatesStatus.AT_AN_EDGE
        or {
            FilterState.SOUND,
            FilterState.SOOT_LOADED,
        }
        <= found.allowed
    )
    assert FilterState.BROKEN_THROUGH not in found.allowed


def test_30_mbar_at_3000_rpm_is_low_or_usual_by_the_family() -> None:
    """One index, three families. Fails where the family does not decide."""
    index = index_of(30.0 / FLOW_AT_3000_RPM)
    usual = states_allowed(index, FilterKnown(layout=TWO), family=family_about(0.10))
    loaded = states_allowed(index, FilterKnown(layout=TWO), family=family_about(0.04))
    low = states_allowed(index, FilterKnown(layout=TWO), family=family_about(0.30))
    assert FilterState.SOUND in usual.allowed
    assert FilterState.SOUND not in loaded.allowed
    assert FilterState.SOOT_LOADED in loaded.allowed
    assert low.allowed == {FilterState.BROKEN_THROUGH}


def test_ash_with_soot_and_soot_alone_get_one_answer() -> None:
    """60 g ash with 4 g/L soot, and 6 g/L soot. Fails where pressure parts them."""
    ashed = states_allowed(
        resistance_index(shown_by(Deposits(12.0, 60.0)), ZERO), FilterKnown(3.0, TWO)
    )
    sooted = states_allowed(resistance_index(shown_by(Deposits(18.0)), ZERO), FilterKnown(3.0, TWO))
    assert ashed == sooted
    assert ashed.allowed == {FilterState.SOOT_LOADED, FilterState.ASH_LIMITED}
    assert ASH_OR_SOOT in ashed.reason


def test_completed_burn_parts_ash_from_soot() -> None:
    """Fails where soot is still allowed after it was burned."""
    index = resistance_index(shown_by(Deposits(0.0, 120.0)), ZERO)
    before = states_allowed(index, FilterKnown(3.0, TWO))
    after = states_allowed(index, FilterKnown(3.0, TWO, after_completed_burn=True))
    assert FilterState.SOOT_LOADED in before.allowed
    assert FilterState.SOOT_LOADED not in after.allowed
    assert FilterState.ASH_LIMITED in after.allowed
    assert ASH_OR_SOOT not in after.reason


def test_broken_through_below_the_plain_figure() -> None:
    """3 mbar at raised speed. Fails where less pressure counts as better."""
    found = states_allowed(index_of(3.0 / 256.0), FilterKnown(3.0, TWO))
    assert found.allowed == {FilterState.BROKEN_THROUGH}


def test_plain_figure_does_not_hold_for_a_large_filter() -> None:
    """4 mbar over 9 L is a clean filter's. Fails where 5 mbar holds for every filter."""
    found = states_allowed(index_of(4.0 / 256.0), FilterKnown(9.0, TWO))
    assert FilterState.SOUND in found.allowed
    assert FilterState.BROKEN_THROUGH not in found.allowed


def test_gap_between_broken_and_sound_of_a_family_is_told() -> None:
    """60 % of the family's middle. Fails where it passes for either."""
    found = states_allowed(index_of(0.06), FilterKnown(layout=TWO), family=family_about(0.10))
    assert found.status is StatesStatus.BELOW_USUAL
    assert not found.allowed
    assert "particle count" in found.reason


@pytest.mark.parametrize("layout", [Layout.ONE_HOSE, Layout.NOT_SAID])
def test_other_layouts_are_not_comparable(layout: Layout) -> None:
    """Fails where a silencer's pressure grades the filter."""
    found = states_allowed(index_of(0.18), FilterKnown(3.0, layout))
    assert found.status is StatesStatus.NOT_COMPARABLE
    assert not found.allowed


def test_layout_is_not_presumed() -> None:
    """Fails where an unsaid layout passes for two hoses."""
    assert states_allowed(index_of(0.18)).status is StatesStatus.NOT_COMPARABLE


def test_no_index_allows_no_state() -> None:
    """Fails where an unknown index is taken for a small one."""
    found = states_allowed(resistance_index(shown_by(Deposits()), None), FilterKnown(3.0, TWO))
    assert found.status is StatesStatus.NO_INDEX
    assert not found.allowed
    assert "zero" in found.reason


def test_family_of_few_vehicles_changes_nothing() -> None:
    """Fails where common practice passes for the family's own range."""
    few = family_reference([0.3] * 5, list(range(5)))
    assert state_ranges(3.0, few) == state_ranges(3.0)


def test_ranges_scale_with_volume() -> None:
    """Half the filter, twice the resistance. Fails where volume is left out."""
    whole, half = state_ranges(3.0), state_ranges(1.5)
    for one, other in zip(whole, half, strict=True):
        if one.state is not FilterState.BROKEN_THROUGH:
            assert other.least == pytest.approx(2.0 * one.least)


@pytest.mark.parametrize(
    ("held", "state"),
    [
        (Deposits(), FilterState.SOUND),
        (Deposits(18.0), FilterState.SOOT_LOADED),
        (Deposits(30.0), FilterState.SOOT_LOADED),
        (Deposits(0.0, 60.0), FilterState.ASH_LIMITED),
        (Deposits(0.0, 120.0), FilterState.ASH_LIMITED),
    ],
)
def test_true_state_of_the_worked_filter_is_allowed(held: Deposits, state: FilterState) -> None:
    """Fails where the truth is ruled out."""
    found = states_allowed(resistance_index(shown_by(held), ZERO), FilterKnown(3.0, TWO))
    assert state in found.allowed
