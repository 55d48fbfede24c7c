"""Which states of the filter a resistance index allows."""

from dataclasses import dataclass
from enum import StrEnum

from garage.evidence.resistance.gas import number_checked
from garage.evidence.resistance.limits import DEFAULTS
from garage.evidence.resistance.model import STANDARD_REFERENCE, ResistanceIndex
from garage.evidence.resistance.reference import FamilyReference, ReferenceStatus
from garage.evidence.resistance.worked_model import (
    WORKED_FILTER,
    Deposits,
    worked_resistance_mbar_per_m3_per_h,
)
from garage.evidence.thresholds import Thresholds


class FilterState(StrEnum):
    """States that pressure can speak of; several may hold at once."""

    SOUND = "sound"
    SOOT_LOADED = "soot_loaded"
    ASH_LIMITED = "ash_limited"
    BROKEN_THROUGH = "broken_through"


class Layout(StrEnum):
    """How the pressure sensor is connected."""

    TWO_HOSE = "two_hose"
    ONE_HOSE = "one_hose"
    NOT_SAID = "not_said"


class StatesStatus(StrEnum):
    """Whether the index grades."""

    OK = "ok"
    AT_AN_EDGE = "at_an_edge"
    """Near a limit: the family, or the filter's volume, decides."""
    BELOW_USUAL = "below_usual"
    """Less than the family's sound filters, more than broken through."""
    NOT_COMPARABLE = "not_comparable"
    NO_INDEX = "no_index"


ASH_OR_SOOT = "ash and soot of the same pressure are told apart only by a completed burn"


@dataclass(frozen=True, slots=True)
class StateRange:
    """Where a state's index lies, mbar per m³/h; `most` None where it has no top."""

    state: FilterState
    least: float
    most: float | None
    rests_on: str

    def meets(self, low: float, high: float) -> bool:
        """Whether any of low to high lies in the range."""
        return high >= self.least and (self.most is None or low <= self.most)


@dataclass(frozen=True, slots=True)
class FilterKnown:
    """What is known beside the index.

    Attributes
    ----------
    volume_l : float or None
    layout : Layout
    after_completed_burn : bool
        Read just after a burn that was proven completed, so that soot is not the cause.
    """

    volume_l: float | None = None
    layout: Layout = Layout.NOT_SAID
    after_completed_burn: bool = False


@dataclass(frozen=True, slots=True)
class StatesAllowed:
    """The states that an index allows, in no order of chance, and the ranges it was held to."""

    status: StatesStatus
    reason: str
    allowed: frozenset[FilterState]
    ranges: tuple[StateRange, ...]


_UNKNOWN_FILTER = FilterKnown()


def state_ranges(
    volume_l: float | None = None,
    family: FamilyReference | None = None,
    limits: Thresholds = DEFAULTS,
) -> tuple[StateRange, ...]:
    """Where does the index of each state lie?

    Parameters
    ----------
    volume_l : float or None
        Of the filter; None: the ranges of a 3 L filter.
    family : FamilyReference or None
        Of the family's sound filters; one that fell back on common practice counts as none.
    limits : Thresholds

    Returns
    -------
    tuple of StateRange
        Without a family: the worked model, wide by half each way, together with common practice
        for cars and light vans, both scaled by volume. With one: its own quantiles.

    Raises
    ------
    ValueError
        For a volume that is not above zero.

    Examples
    --------
    >>> [(each.state.value, round(each.least, 3)) for each in state_ranges()]
    [('sound', 0.016), ('soot_loaded', 0.066), ('ash_limited', 0.03), ('broken_through', 0.0)]
    """
    if volume_l is not None:
        number_checked("volume_l", volume_l, above=0.0)
    own = _family_ranges(family, limits)
    return _default_ranges(volume_l, limits) if own is None else own


def states_allowed(
    index: ResistanceIndex,
    known: FilterKnown = _UNKNOWN_FILTER,
    family: FamilyReference | None = None,
    limits: Thresholds = DEFAULTS,
) -> StatesAllowed:
    """Which states of the filter does this index allow?

    Parameters
    ----------
    index : ResistanceIndex
        Its whole interval counts: a state is allowed that any of it meets.
    known : FilterKnown
    family : FamilyReference or None
        Of the family's sound filters, told at the same reference.
    limits : Thresholds

    Returns
    -------
    StatesAllowed
        ``NOT_COMPARABLE`` unless the sensor has two hoses; one hose reads the silencer too.

    Raises
    ------
    ValueError
        As `state_ranges`.

    Examples
    --------
    >>> from garage.evidence.resistance.model import IndexStatus
    >>> found = ResistanceIndex(IndexStatus.OK, "", 2, STANDARD_REFERENCE, 0.18, 0.17, 0.19)
    >>> sorted(states_allowed(found, FilterKnown(layout=Layout.TWO_HOSE)).allowed)
    [<FilterState.ASH_LIMITED: 'ash_limited'>, <FilterState.SOOT_LOADED: 'soot_loaded'>]
    """
    ranges = state_ranges(known.volume_l, family, limits)
    if known.layout is not Layout.TWO_HOSE:
        said = (
            "one hose reads the silencer and any catalyst behind the filter as well"
            if known.layout is Layout.ONE_HOSE
            else "how the sensor is connected is not said"
        )
        return StatesAllowed(StatesStatus.NOT_COMPARABLE, said, frozenset(), ranges)
    if index.low is None or index.high is None:
        return StatesAllowed(StatesStatus.NO_INDEX, index.reason, frozenset(), ranges)
    met = {each.state for each in ranges if each.meets(index.low, index.high)}
    if known.after_completed_burn:
        met.discard(FilterState.SOOT_LOADED)
    if not met:
        return StatesAllowed(
            StatesStatus.BELOW_USUAL, _gap_words(index.high, ranges), frozenset(), ranges
        )
    at_edge = _at_edge(index, ranges, limits)
    words = [_words(known, family)]
    if at_edge:
        words.append(_edge_words(family))
    if FilterState.ASH_LIMITED in met and not known.after_completed_burn:
        words.append(ASH_OR_SOOT)
    if FilterState.BROKEN_THROUGH in met:
        words.append("sensor and hoses first, then particle count and a look inside")
    status = StatesStatus.AT_AN_EDGE if at_edge else StatesStatus.OK
    return StatesAllowed(status, "; ".join(words), frozenset(met), ranges)


def _default_ranges(volume_l: float | None, limits: Thresholds) -> tuple[StateRange, ...]:
    scale = 1.0 if volume_l is None else WORKED_FILTER.volume_l / volume_l
    flow = STANDARD_REFERENCE.flow_m3_per_h
    spread = limits["worked_model_spread_share"]
    clean = worked_resistance_mbar_per_m3_per_h()
    soot_g = limits["loaded_from_g_per_l"] * WORKED_FILTER.volume_l
    ash_g = limits["ash_full_likely_g_per_l"] * WORKED_FILTER.volume_l
    loaded = worked_resistance_mbar_per_m3_per_h(Deposits(soot_g=soot_g))
    ashed = worked_resistance_mbar_per_m3_per_h(Deposits(ash_g=ash_g))
    least_field = limits["raised_sound_least_mbar"] / flow
    most_field = limits["raised_usual_most_mbar"] / flow
    both = "worked model and common practice"
    if volume_l is None or volume_l <= limits["plain_low_most_l"]:
        # A plain figure of practice: a smaller filter's higher pressure is already in it.
        broken, said = limits["raised_very_low_mbar"] / flow, "common practice, filters up to 3 L"
    else:
        broken = limits["clean_share_least"] * clean * scale
        said = "share of the worked model's clean value"
    worked = "worked model"
    return (
        StateRange(
            FilterState.SOUND,
            min(clean * (1.0 - spread), least_field) * scale,
            max(clean * (1.0 + spread), most_field) * scale,
            both,
        ),
        StateRange(FilterState.SOOT_LOADED, loaded * (1.0 - spread) * scale, None, worked),
        StateRange(FilterState.ASH_LIMITED, ashed * (1.0 - spread) * scale, None, worked),
        StateRange(FilterState.BROKEN_THROUGH, 0.0, broken, said),
    )


def _family_ranges(
    family: FamilyReference | None, limits: Thresholds
) -> tuple[StateRange, ...] | None:
    """The family's own ranges; None without a family that can carry them.

    With too few vehicles for its 5 and 95 %, its 10 and 90 % stand for them.
    """
    if family is None or family.status is not ReferenceStatus.OK:
        return None
    middle, upper = family.at(0.5).value, family.at(0.9).value
    low = family.at(0.05).value if family.at(0.05).value is not None else family.at(0.1).value
    high = family.at(0.95).value if family.at(0.95).value is not None else upper
    if middle is None or upper is None or low is None or high is None:
        return None
    said = f"the family's own readings, {family.reason}"
    return (
        StateRange(FilterState.SOUND, low, high, said),
        StateRange(FilterState.SOOT_LOADED, upper, None, said),
        StateRange(FilterState.ASH_LIMITED, upper, None, said),
        StateRange(FilterState.BROKEN_THROUGH, 0.0, limits["clean_share_least"] * middle, said),
    )


def _gap_words(high: float, ranges: tuple[StateRange, ...]) -> str:
    sound = next(each for each in ranges if each.state is FilterState.SOUND)
    if high < sound.least:
        return (
            "less than sound filters read, and more than a filter that is broken through: "
            "read again, sensor and hoses first, then particle count"
        )
    return "between the ranges of all states: read again"


def _at_edge(index: ResistanceIndex, ranges: tuple[StateRange, ...], limits: Thresholds) -> bool:
    """Whether the index, or its interval, comes near the top of the sound range."""
    top = next(each.most for each in ranges if each.state is FilterState.SOUND)
    middle = index.resistance_mbar_per_m3_per_h
    if top is None or middle is None:
        return False
    return abs(middle - top) <= limits["edge_share"] * top


def _words(known: FilterKnown, family: FamilyReference | None) -> str:
    if family is not None and family.status is ReferenceStatus.OK:
        return f"held to the family's own range, {family.reason}"
    volume = "a 3 L filter, volume not known" if known.volume_l is None else f"{known.volume_l:g} L"
    return f"held to the worked model and common practice for {volume}"


def _edge_words(family: FamilyReference | None) -> str:
    if family is not None and family.status is ReferenceStatus.OK:
        return "at the edge of the family's sound range: read again under the same conditions"
    return "at the edge of the sound range: low or usual depends on the engine family"
