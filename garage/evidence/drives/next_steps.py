"""What to do next after one log, in the order in which it is done."""

from garage.evidence.drives.burn import BurnJudged, BurnStatus
from garage.evidence.drives.judged import DriveJudged
from garage.evidence.drives.rate_band import RateBand
from garage.evidence.drives.soot_rate import RateStatus

_AFTER_BURN = {
    BurnStatus.COMPLETED: (
        "Read the pressure across the filter at raised speed soon, before soot builds up again: "
        "after a completed burn it is the vehicle's own reference."
    ),
    BurnStatus.BROKEN_OFF: (
        "Read the oil level, for a burn that is broken off may leave fuel in the oil, and find "
        "what ended it: a stop, the vehicle's own conditions, or a fault."
    ),
    BurnStatus.RESET_WITHOUT_BURN: (
        "Ask what was done: with a new or cleaned filter the value is rightly set back. Otherwise "
        "trust the pressure at raised speed, not the reckoned soot, until a burn has been seen."
    ),
}
_LOG_ALL = (
    "Log the next burn from before it begins until it is cool: time, soot and inlet temperature, "
    "a row every few seconds."
)
_UPSTREAM = (
    "Look upstream before another burn or filter: air path, recirculation, fuelling, and how it "
    "is driven."
)


def drive_next(judged: DriveJudged) -> tuple[str, ...]:
    """Answer what a technician does next after this log, in words.

    Examples
    --------
    >>> from garage.evidence.drives.judged import drive_judged
    >>> from garage.evidence.drives.log import Drive
    >>> from garage.evidence.drives.targets import FilterSaid, targets_of
    >>> log = Drive(2, time_s=(0.0, 60.0), soot_g=(26.0, 26.1))
    >>> drive_next(drive_judged(log, targets_of(FilterSaid(limit_g=24.0))))[0][:20]
    'No burn: 26.1 g is o'
    """
    steps = (_over_limit, _of_burn, _of_rate, _of_start, _of_limit)
    return tuple(words for words in (step(judged) for step in steps) if words)


def _over_limit(judged: DriveJudged) -> str:
    limit, now_g = judged.targets.limit, judged.soot_now_g
    if limit is None or now_g is None or now_g <= limit.most_g:
        return ""
    return (
        f"No burn: {now_g:g} g is over the limit of {limit.most_g:g} g. Take the filter off cold, "
        "and clean it or replace it."
    )


def _of_burn(judged: DriveJudged) -> str:
    if not judged.burns:
        return "" if judged.rate.status is not RateStatus.TOO_SHORT else _LOG_ALL
    last: BurnJudged = judged.burns[-1].burn
    if last.status is BurnStatus.CANNOT_BE_TOLD:
        return _LOG_ALL
    return _AFTER_BURN[last.status]


def _of_rate(judged: DriveJudged) -> str:
    rate = judged.rate
    if judged.band.band in (RateBand.HIGH, RateBand.FAULT):
        return _UPSTREAM
    if judged.band.band is RateBand.TOWN:
        return "Ask how it is driven: short and cold trips give so much soot without a fault."
    if rate.needed_km is not None:
        return (
            f"For soot per km log about {rate.needed_km:.0f} km without a burn, distance and soot "
            "in each row."
        )
    if rate.status is RateStatus.TOO_SHORT:
        return "For soot per km log distance and soot together, for some tens of km without a burn."
    return ""


def _of_start(judged: DriveJudged) -> str:
    """A burn that began above where burns are said to begin: the figures are not this vehicle's."""
    most_g = judged.targets.trigger.most_g
    begun_g = [
        each.burn.end_g + each.burn.fall_g
        for each in judged.burns
        if each.burn.status in (BurnStatus.COMPLETED, BurnStatus.BROKEN_OFF)
        and each.burn.end_g is not None
        and each.burn.fall_g is not None
    ]
    if not begun_g or max(begun_g) <= most_g:
        return ""
    return (
        f"A burn here began at {max(begun_g):.1f} g, above the {most_g:g} g reckoned for it: "
        "write down the vehicle's own soot limit, or the substrate, and judge again."
    )


def _of_limit(judged: DriveJudged) -> str:
    if judged.targets.limit is not None:
        return ""
    return "Write down the filter's litres or the vehicle's own soot limit, to tell the limit."
