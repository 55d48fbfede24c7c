"""Whether fault memory was reset before a visit, or between two, by what the vehicle counts."""

from dataclasses import dataclass
from enum import StrEnum

from garage.evidence.thresholds import Basis, Threshold, Thresholds

#: Said before anything is asked: each resets fault memory without anyone hiding a thing.
INNOCENT = (
    "a repair with codes cleared after it",
    "a flat or disconnected battery",
    "a software update",
    "a changed controller",
)
#: Where the counter of kilometres since a clear stops (SAE J1979, from memory).
HOLDS_AT_KM = 65_535

DEFAULTS = Thresholds(
    [
        Threshold(
            "recent_clear_km", 200.0, "km", "distance since a clear that is short", Basis.PRACTICE
        ),
        Threshold(
            "recent_warm_ups", 20.0, "", "warm-ups since a clear that are few", Basis.PRACTICE
        ),
        Threshold(
            "reset_slack_km", 5.0, "km", "odometer beyond the counter, by rounding", Basis.PRACTICE
        ),
        Threshold(
            "reset_slack_share",
            0.015,
            "",
            "odometer beyond the counter, by tyres, as a share of the distance driven",
            Basis.PRACTICE,
            most=0.2,
        ),
    ]
)


class Sign(StrEnum):
    """Whether a rule found something."""

    SHOWN = "shown"
    NOT_SHOWN = "not_shown"
    CANNOT_BE_TOLD = "cannot_be_told"


@dataclass(frozen=True, slots=True)
class VisitCounts:
    """What was read at a visit; None is what was not read."""

    odometer_km: float | None = None
    odometer_trusted: bool = False
    since_clear_km: float | None = None
    warm_ups: int | None = None
    monitors_incomplete: bool | None = None


@dataclass(frozen=True, slots=True)
class ResetSign:
    """What one rule says; innocent causes come first, and what to ask next comes last."""

    rule: str
    sign: Sign
    words: str
    innocent: tuple[str, ...] = ()
    ask_next: str = ""


def recently_cleared(visit: VisitCounts, limits: Thresholds = DEFAULTS) -> ResetSign:
    """Was fault memory reset a short while before this visit?

    Distance in km, warm-ups as a count. Common practice, no source.

    Examples
    --------
    >>> recently_cleared(VisitCounts(since_clear_km=40, warm_ups=3, monitors_incomplete=True)).words
    'fault memory was reset 40 km and 3 warm-ups ago, and self-tests have not all run'
    """
    rule = "recently_cleared"
    km, warm_ups, incomplete = visit.since_clear_km, visit.warm_ups, visit.monitors_incomplete
    if km is None or warm_ups is None or incomplete is None:
        return ResetSign(
            rule,
            Sign.CANNOT_BE_TOLD,
            "needs the distance and the warm-ups since codes were cleared, and the self-tests",
        )
    short = km < limits["recent_clear_km"] and warm_ups < limits["recent_warm_ups"]
    if not (short and incomplete):
        return ResetSign(rule, Sign.NOT_SHOWN, "no sign of a reset a short while ago")
    return ResetSign(
        rule,
        Sign.SHOWN,
        f"fault memory was reset {km:g} km and {warm_ups} warm-ups ago, and self-tests have not "
        "all run",
        INNOCENT,
        "Ask why it was reset, and read again when the self-tests have run.",
    )


def reset_between(
    earlier: VisitCounts, later: VisitCounts, recorded: bool, limits: Thresholds = DEFAULTS
) -> ResetSign:
    """Was fault memory reset between two visits?

    Shown where the odometer rose by more than the distance since a clear, with slack. `recorded`
    says that a clear, software, battery or controller work, or a repair stands on record in
    between. Distances in km. Common practice, no source.

    Examples
    --------
    >>> earlier = VisitCounts(odometer_km=100_000, odometer_trusted=True)
    >>> later = VisitCounts(odometer_km=110_000, odometer_trusted=True, since_clear_km=800)
    >>> reset_between(earlier, later, recorded=False).words
    'unexplained reset: 10000 km driven between the visits, 800 km since codes were cleared'
    """
    rule = "reset_between"
    before, now, since = earlier.odometer_km, later.odometer_km, later.since_clear_km
    why = ""
    if before is None or now is None or since is None:
        why = "needs both odometers and the distance since codes were cleared"
    elif not (earlier.odometer_trusted and later.odometer_trusted):
        why = "needs two odometer readings that are trusted"
    elif now < before:
        why = "the odometer fell between the visits; settle that first"
    elif since >= HOLDS_AT_KM:
        why = f"the counter stands at its end: at least {HOLDS_AT_KM} km, how far is not known"
    if why or before is None or now is None or since is None:
        return ResetSign(rule, Sign.CANNOT_BE_TOLD, why)
    driven = now - before
    most = since + limits["reset_slack_km"] + limits["reset_slack_share"] * driven
    figures = f"{driven:.0f} km driven between the visits, {since:.0f} km since codes were cleared"
    if driven <= most:
        return ResetSign(rule, Sign.NOT_SHOWN, f"no sign of a reset: {figures}")
    if recorded:
        return ResetSign(rule, Sign.SHOWN, f"reset, as work on record explains: {figures}")
    return ResetSign(
        rule,
        Sign.SHOWN,
        f"unexplained reset: {figures}",
        INNOCENT,
        "Ask what was done between the visits.",
    )
