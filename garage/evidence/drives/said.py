"""What the logs of one visit say together, for the weighing of its evidence."""

from collections.abc import Sequence
from dataclasses import dataclass

from garage.evidence.drives.burns import BurnFound
from garage.evidence.drives.findings import burn_grades, interval_grade
from garage.evidence.drives.interval_series import intervals_seen, series_followed
from garage.evidence.drives.intervals import IntervalTrend
from garage.evidence.drives.limits import DEFAULTS
from garage.evidence.findings.grade import Grade
from garage.evidence.thresholds import Thresholds


@dataclass(frozen=True, slots=True)
class DrivesSay:
    """Findings that logs decide, and the heat of the burn that decided them.

    Attributes
    ----------
    grades : tuple of Grade
        At most one a finding.
    soot_fall_inlet_c : float or None
        Highest inlet temperature while soot fell; None also where the log leaves open what the
        fall was, for the temperature alone would then decide it.
    """

    grades: tuple[Grade, ...] = ()
    soot_fall_inlet_c: float | None = None


def drives_said(
    logs: Sequence[Sequence[BurnFound]],
    reckoned_km: Sequence[float] = (),
    limits: Thresholds = DEFAULTS,
) -> DrivesSay:
    """Answer what the burns of a visit's logs, and the distances between burns, say.

    Of several burns the last that tells something holds. Distances between burns that were seen
    go before those that the vehicle reckons, of which only a trend is told here.

    Parameters
    ----------
    logs : sequence of sequences of BurnFound
        In the order in which they were made.
    reckoned_km : sequence of float
        The vehicle's own mean distance between burns, one a visit, in order.
    limits : Thresholds

    Returns
    -------
    DrivesSay

    Examples
    --------
    >>> from garage.evidence.drives.burn import BurnJudged, BurnStatus
    >>> burned = BurnJudged(BurnStatus.COMPLETED, "16 g", 1, 16.0, soot_fall_inlet_c=610.0)
    >>> said = drives_said([[BurnFound(burned)]])
    >>> [(each.finding, each.state) for each in said.grades], said.soot_fall_inlet_c
    ([('soot_fall', 'burned'), ('burn_end', 'completed')], 610.0)
    """
    held: dict[str, Grade] = {}
    inlet_c: float | None = None
    for found in (each for log in logs for each in log):
        for grade in burn_grades(found.burn, limits):
            if grade.state is not None or grade.finding not in held:
                held[grade.finding] = grade
            if grade.state is not None and grade.finding == "soot_fall":
                inlet_c = found.burn.soot_fall_inlet_c
    interval = _interval(logs, reckoned_km, limits)
    grades = [*held.values(), *([] if interval is None else [interval])]
    return DrivesSay(tuple(grades), inlet_c)


def _interval(
    logs: Sequence[Sequence[BurnFound]], reckoned_km: Sequence[float], limits: Thresholds
) -> Grade | None:
    seen = series_followed([km for log in logs for km in intervals_seen(log)], limits)
    if seen is not None:
        return interval_grade(seen, limits)
    reckoned = series_followed(reckoned_km, limits)
    if reckoned is None or reckoned.trend is not IntervalTrend.FALLING:
        return None
    return interval_grade(reckoned, limits)
