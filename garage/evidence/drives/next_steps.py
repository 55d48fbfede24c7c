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
        "Read the oil level before another burn, and find what ended this one: a stop, the "
        "vehicle's own conditions, or a fault of the burn."
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
    >>> drive_next(drive_judged(log, targets_of(FilterSaid(own_limit_g=24.0))))[0][:20]
    'No burn: 26.1 g is o'
    """
    return tuple(
        each
        for each in (_over_limit(judged), _of_burn(judged), _of_rate(judged), _of_limit(judged))
        if each
    )


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


def _of_limit(judged: DriveJudged) -> str:
    if judged.targets.limit is not None:
        return ""
    return "Write down the filter's litres or the vehicle's own soot limit, to tell the limit."
