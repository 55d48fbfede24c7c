"""Whether fault memory was reset before a visit, or between two, by what the vehicle counts."""

from garage.evidence.codes.reset_distances import burns_closer, mean_speed, odometers_differ
from garage.evidence.codes.reset_limits import DEFAULTS, HOLDS_AT_KM
from garage.evidence.codes.reset_signs import (
    INNOCENT,
    NOTHING_RECORDED,
    RESETS_MEMORY,
    Number,
    Recorded,
    ResetSign,
    Sign,
    VisitCounts,
    Work,
)
from garage.evidence.codes.reset_traces import (
    filter_test_not_run,
    lamp_lit_earlier,
    permanent_without_stored,
)
from garage.evidence.thresholds import Thresholds
from garage.lifetimes.wording import spoken

__all__ = [
    "DEFAULTS",
    "HOLDS_AT_KM",
    "INNOCENT",
    "Number",
    "Recorded",
    "ResetSign",
    "Sign",
    "VisitCounts",
    "Work",
    "recently_cleared",
    "reset_between",
    "resets_told",
]


def resets_told(
    earlier: VisitCounts | None,
    later: VisitCounts,
    recorded: Recorded = NOTHING_RECORDED,
    limits: Thresholds = DEFAULTS,
) -> tuple[ResetSign, ...]:
    """What do all rules say of a visit, and of the one before it?

    Parameters
    ----------
    earlier : VisitCounts or None
        None for a first visit: what needs two cannot then be told.
    later : VisitCounts
    recorded : frozenset of Work
        What stands on record between the two.
    limits : Thresholds

    Returns
    -------
    tuple of ResetSign
        One for each rule, the strongest in front. A sign is a reason to ask, never a proof.

    Examples
    --------
    >>> later = VisitCounts(permanent_codes=1, stored_codes=0)
    >>> [each.rule for each in resets_told(None, later) if each.sign is Sign.SHOWN]
    ['permanent_without_stored']
    """
    return (
        reset_between(earlier, later, recorded, limits),
        recently_cleared(later, limits, recorded),
        permanent_without_stored(later),
        lamp_lit_earlier(later, limits),
        filter_test_not_run(later),
        odometers_differ(earlier, later, limits),
        mean_speed(later, limits),
        burns_closer(earlier, later, recorded, limits),
    )


def recently_cleared(
    visit: VisitCounts, limits: Thresholds = DEFAULTS, recorded: Recorded = NOTHING_RECORDED
) -> ResetSign:
    """Was fault memory reset a short while before this visit?

    Shown where distance, warm-ups and self-tests all say so; one that does not settles it.
    Distance in km, warm-ups as a count. Common practice, no source.

    Examples
    --------
    >>> recently_cleared(VisitCounts(since_clear_km=40, warm_ups=3, monitors_incomplete=True)).words
    'fault memory was reset 40 km and 3 warm-ups ago, and self-tests have not all run'
    """
    rule = "recently_cleared"
    km, warm_ups, incomplete = visit.since_clear_km, visit.warm_ups, visit.monitors_incomplete
    far = km is not None and km >= limits["recent_clear_km"]
    often = warm_ups is not None and warm_ups >= limits["recent_warm_ups"]
    if far or often or incomplete is False:
        return ResetSign(rule, Sign.NOT_SHOWN, "no sign of a reset a short while ago")
    if km is None or warm_ups is None or incomplete is None:
        return ResetSign(
            rule,
            Sign.CANNOT_BE_TOLD,
            "needs the distance and the warm-ups since codes were cleared, and the self-tests",
        )
    known = bool(recorded & RESETS_MEMORY)
    return ResetSign(
        rule,
        Sign.SHOWN,
        f"fault memory was reset {km:.0f} km and {warm_ups} warm-ups ago, and self-tests have not "
        "all run",
        INNOCENT,
        ("Work on record may be why. " if known else "Ask why it was reset. ")
        + "Read again when the self-tests have run.",
        (
            Number("distance since codes were cleared", km, "km"),
            Number("warm-ups since codes were cleared", warm_ups, "times"),
        ),
    )


def reset_between(
    earlier: VisitCounts | None,
    later: VisitCounts,
    recorded: Recorded = NOTHING_RECORDED,
    limits: Thresholds = DEFAULTS,
) -> ResetSign:
    """Was fault memory reset between two visits?

    Shown where the odometer rose by more than the distance since a clear, with slack. `recorded`
    is what stands on record in between: a clear, software, battery or controller work explains a
    reset, and a repair does likely. A counter at its end is that distance or more. Distances in km.
    Common practice, no source.

    Examples
    --------
    >>> earlier = VisitCounts(odometer_km=100_000, odometer_trusted=True)
    >>> later = VisitCounts(odometer_km=110_000, odometer_trusted=True, since_clear_km=800)
    >>> reset_between(earlier, later).words
    'unexplained reset: 10 000 km driven between the visits, 800 km since codes were cleared'
    """
    rule = "reset_between"
    before = None if earlier is None else earlier.odometer_km
    now, since = later.odometer_km, later.since_clear_km
    why = ""
    if earlier is None or before is None or now is None or since is None:
        why = "needs both odometers and the distance since codes were cleared"
    elif not (earlier.odometer_trusted and later.odometer_trusted):
        why = "needs two odometer readings that are trusted"
    elif now < before:
        why = "the odometer fell between the visits; settle that first"
    elif since >= HOLDS_AT_KM and now - before > HOLDS_AT_KM:
        why = f"the counter stands at its end: at least {HOLDS_AT_KM} km, how far is not known"
    if why or before is None or now is None or since is None:
        return ResetSign(rule, Sign.CANNOT_BE_TOLD, why)
    driven = now - before
    slack = limits["reset_slack_km"] + limits["reset_slack_share"] * driven
    counted = f"{'at least ' if since >= HOLDS_AT_KM else ''}{spoken(round(since), 'km')}"
    between = spoken(round(driven), "km")
    figures = f"{between} driven between the visits, {counted} since codes were cleared"
    numbers = (
        Number("driven between the visits", driven, "km"),
        Number("distance since codes were cleared", since, "km"),
        Number("slack for rounding and tyres", slack, "km"),
    )
    if driven <= since + slack:
        return ResetSign(rule, Sign.NOT_SHOWN, f"no sign of a reset: {figures}", numbers=numbers)
    if recorded & RESETS_MEMORY:
        words, ask = f"reset, as work on record explains: {figures}", ""
    elif Work.REPAIR in recorded:
        words = f"reset, likely after the repair on record: {figures}"
        ask = "Ask whether codes were cleared after the repair, and put that on record."
    else:
        words, ask = f"unexplained reset: {figures}", "Ask what was done between the visits."
    return ResetSign(rule, Sign.SHOWN, words, INNOCENT, ask, numbers)
