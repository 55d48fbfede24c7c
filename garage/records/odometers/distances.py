"""How far a vehicle had gone on any day, from the readings that stand, and how sure that is."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum

import numpy as np
from scipy.special import betaincinv

from garage.lifetimes.confidence import LEVEL, normal_deviate
from garage.lifetimes.status import Status
from garage.lifetimes.usage.annual_distance import YEAR_LOG_SD, AnnualDistances, annual_distance
from garage.lifetimes.usage.projection import ProjectedDistances, project_distance
from garage.lifetimes.usage.yearly_change import YearlyChange, judged_change, yearly_change

DAYS_PER_YEAR = 365.25
#: Unevenness of a vehicle of which nothing is known: years that scatter by YEAR_LOG_SD are what
#: this many days' distances come and go in one piece. Follows from it.
USUAL_LUMP_DAYS = YEAR_LOG_SD**2 * DAYS_PER_YEAR
#: The usual unevenness counts as so many stretches of the vehicle's own. Judgement, no source.
USUAL_LUMP_WEIGHT = 2.0


class Found(StrEnum):
    """How a distance was come by."""

    READ = "read"
    BETWEEN = "between"
    BEFORE_FIRST = "before_first"
    AFTER_LAST = "after_last"
    NOT_KNOWN = "not_known"


@dataclass(frozen=True, slots=True)
class Distance:
    """True distance on a day: the likeliest km, its standard error, and two-sided limits.

    All four are None where it cannot be said, and `reason` tells why. `n` is the number of
    readings it rests on. A status other than OK says what was judged for want of readings.
    """

    km: float | None
    standard_error: float | None
    lower: float | None
    upper: float | None
    found: Found
    n: int
    status: Status
    reason: str


@dataclass(frozen=True, slots=True)
class AnnualFigure:
    """A vehicle's long-run annual distance with two-sided limits, lent strength by its group."""

    km_per_year: float
    lower: float
    upper: float
    n: int
    status: Status
    reason: str


@dataclass(frozen=True, slots=True)
class Known:
    """A vehicle's readings that stand: days and true km, in the order of days, km never falling.

    Where the day of first use is known it counts as a reading of 0 km.
    """

    days: tuple[int, ...]
    km: tuple[float, ...]
    readings: int
    first_used_day: int | None

    @property
    def years(self) -> float:
        """Time from the first to the last, 0 where there are not two."""
        return (self.days[-1] - self.days[0]) / DAYS_PER_YEAR if self.days else 0.0

    @property
    def gone_km(self) -> float:
        return self.km[-1] - self.km[0] if self.km else 0.0


def known_make(points: Sequence[tuple[date, int]], first_used_on: date | None = None) -> Known:
    """Order the readings that stand; one a day, the highest; small steps back are levelled.

    Readings before the day of first use are not to be among them.
    """
    by_day: dict[int, float] = {}
    first_day = None if first_used_on is None else first_used_on.toordinal()
    if first_day is not None:
        by_day[first_day] = 0.0
    for day, km in points:
        at = day.toordinal()
        if first_day is not None and at < first_day:
            raise ValueError(f"readings stand from first use on, {first_used_on}; got {day}")
        by_day[at] = max(by_day.get(at, 0.0), float(km))
    days = sorted(by_day)
    levelled = np.maximum.accumulate([by_day[day] for day in days]) if days else np.array([])
    return Known(tuple(days), tuple(levelled.tolist()), len(points), first_day)


@dataclass(frozen=True, slots=True)
class Usage:
    """What is believed of the annual distances of vehicles, each in the place of its `Known`."""

    annual: AnnualDistances
    change: YearlyChange

    def of(self, place: int) -> AnnualDistances:
        """One vehicle alone."""
        annual = self.annual
        return replace(
            annual,
            km_per_year=annual.km_per_year[[place]],
            log_sd=annual.log_sd[[place]],
            n=1,
        )


def usage_of(vehicles: Sequence[Known], groups: Sequence[str]) -> Usage:
    """Annual distances of all vehicles, lent strength by their groups, and how they change."""
    owner = np.repeat(np.arange(len(vehicles)), [len(each.days) for each in vehicles])
    days = np.array([day for each in vehicles for day in each.days], np.float64)
    km = np.array([at for each in vehicles for at in each.km], np.float64)
    change = yearly_change(owner, days / DAYS_PER_YEAR, km) if len(km) else judged_change()
    annual = annual_distance(
        [each.gone_km for each in vehicles],
        [each.years for each in vehicles],
        groups,
        year_log_sd=change.year_log_sd,
    )
    return Usage(annual, change)


def annual_figure(usage: Usage, place: int, known: Known, *, level: float = LEVEL) -> AnnualFigure:
    """The vehicle's annual distance, with the limits of what is believed of it."""
    annual = usage.of(place)
    middle, reach = float(annual.km_per_year[0]), normal_deviate(level) * float(annual.log_sd[0])
    return AnnualFigure(
        middle,
        middle * float(np.exp(-reach)),
        middle * float(np.exp(reach)),
        known.readings,
        annual.status,
        annual.reason,
    )


def distance_on(
    known: Known, day: date, usage: Usage, place: int, *, level: float = LEVEL
) -> Distance:
    """True distance on a day, between readings, before the first or after the last.

    Notes
    -----
    Between two readings the share gone is Beta-distributed about the share of days: a gamma
    process held at both ends, which never falls and otherwise is like a Brownian bridge. Its
    unevenness is the vehicle's own (`lump_days`). Beyond the readings the distance is projected by
    garage.lifetimes.usage; backwards the steady change is taken the other way round.
    """
    at = day.toordinal()
    if known.first_used_day is not None and at < known.first_used_day:
        return _not_known(known, "the vehicle was not in use yet on that day")
    if not known.days:
        return _not_known(known, "no odometer reading of the vehicle stands")
    if at > known.days[-1]:
        return _after_last(known, _projected(known, at - known.days[-1], usage, place, level))
    if at < known.days[0]:
        back = replace(usage, change=replace(usage.change, drift=-usage.change.drift))
        gone = _projected(known, known.days[0] - at, back, place, level)
        return _before_first(known, at, gone)
    later = int(np.searchsorted(known.days, at))
    if known.days[later] == at:
        km = known.km[later]
        return Distance(km, 0.0, km, km, Found.READ, known.readings, Status.OK, "")
    return _between(known, at, later, level)


def lump_days(known: Known) -> float:
    """The vehicle's unevenness: of how many days the distance comes and goes in one piece.

    The variance of the distance of a stretch is that of its days times this, at the vehicle's mean
    pace squared. The usual value weighs like USUAL_LUMP_WEIGHT stretches.
    """
    lengths = np.diff(known.days)
    weighed, count = USUAL_LUMP_WEIGHT * USUAL_LUMP_DAYS, USUAL_LUMP_WEIGHT
    if len(lengths) > 1 and known.gone_km > 0:
        pace = known.gone_km / float(lengths.sum())
        away = (np.diff(known.km) - pace * lengths) ** 2 / (pace**2 * lengths)
        weighed, count = weighed + float(away.sum()), count + len(lengths) - 1
    return weighed / count


def _between(known: Known, at: int, later: int, level: float) -> Distance:
    (first, last), (low, high) = known.days[later - 1 : later + 1], known.km[later - 1 : later + 1]
    lump = lump_days(known)
    before, after = (at - first) / lump, (last - at) / lump
    share = before / (before + after)
    error = (high - low) * float(np.sqrt(share * (1 - share) / (before + after + 1)))
    tail = (1 - level) / 2
    lower, upper = (
        low + (high - low) * float(betaincinv(before, after, each)) for each in (tail, 1 - tail)
    )
    middle = low + (high - low) * share
    # A day beside a reading is so lopsided that the mean may lie outside: it is held in.
    lower, upper = min(lower, middle), max(upper, middle)
    return Distance(middle, error, lower, upper, Found.BETWEEN, known.readings, Status.OK, "")


def _projected(
    known: Known, days: int, usage: Usage, place: int, level: float
) -> ProjectedDistances:
    return project_distance(
        usage.of(place), [days / DAYS_PER_YEAR], [known.years], usage.change, level=level
    )


def _log_normal_error(gone: ProjectedDistances) -> float:
    variance = float(gone.log_sd[0]) ** 2
    return float(gone.km[0]) * float(np.sqrt(np.exp(variance) * np.expm1(variance)))


def _after_last(known: Known, gone: ProjectedDistances) -> Distance:
    last = known.km[-1]
    return Distance(
        last + float(gone.km[0]),
        _log_normal_error(gone),
        last + float(gone.lower[0]),
        last + float(gone.upper[0]),
        Found.AFTER_LAST,
        known.readings,
        gone.status,
        gone.reason,
    )


def _before_first(known: Known, at: int, gone: ProjectedDistances) -> Distance:
    first = known.km[0]
    if gone.km[0] > first:
        return _not_known(
            known,
            f"at its own pace it would have had less than 0 km on {date.fromordinal(at)}: it was "
            "new later, or went less far then",
        )
    return Distance(
        first - float(gone.km[0]),
        _log_normal_error(gone),
        max(0.0, first - float(gone.upper[0])),
        first - float(gone.lower[0]),
        Found.BEFORE_FIRST,
        known.readings,
        gone.status,
        gone.reason,
    )


def _not_known(known: Known, reason: str) -> Distance:
    return Distance(
        None, None, None, None, Found.NOT_KNOWN, known.readings, Status.NO_LIVES, reason
    )
