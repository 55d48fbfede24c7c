"""How far a vehicle goes in a year, and where that would put it on a given day."""

from dataclasses import dataclass
from datetime import date
from itertools import accumulate

import numpy as np

from garage.lifetimes.usage.annual_distance import annual_distance
from garage.lifetimes.usage.projection import ProjectedDistances, project_distance
from garage.lifetimes.usage.yearly_change import judged_change
from garage.outcomes.facts import Facts, VehicleFacts

DAYS_PER_YEAR = 365.25


@dataclass(frozen=True)
class SinceRead:
    """How far vehicles have gone from their last readings to the end of their watch.

    `row` and `read_km` (the last reading) are by vehicle: of those that were read before that end.
    """

    distances: ProjectedDistances
    row: dict[int, int]
    read_km: dict[int, int]


class Odometers:
    """Projected distances of the vehicles of one reading of the records.

    Each vehicle's annual distance is its own, shrunk to its family's, so that a vehicle read
    only once goes its family's way.
    """

    def __init__(self, facts: Facts) -> None:
        self._known: dict[int, tuple[list[int], list[int]]] = {}
        self._km_per_day: dict[int, float] = {}
        spans = [_known_points(vehicle) for vehicle in facts.vehicles]
        measured = np.array([_span(km) for _, km in spans], dtype=float)
        years = np.array([_span(days) for days, _ in spans], dtype=float) / DAYS_PER_YEAR
        families = sorted({vehicle.family for vehicle in facts.vehicles})
        codes = {family: code for code, family in enumerate(families)}
        groups = np.array([codes[vehicle.family] for vehicle in facts.vehicles], dtype=np.int64)
        # No steady change is taken on, so that the likeliest distance is that of `km_on`.
        change = judged_change()
        annual = annual_distance(measured, years, groups, year_log_sd=change.year_log_sd)
        for vehicle, points, km_per_year in zip(
            facts.vehicles, spans, annual.km_per_year.tolist(), strict=True
        ):
            self._known[vehicle.vehicle_id] = points
            self._km_per_day[vehicle.vehicle_id] = km_per_year / DAYS_PER_YEAR
        ahead = np.array(
            [
                _unread_days(facts, vehicle, days)
                for vehicle, (days, _) in zip(facts.vehicles, spans, strict=True)
            ],
            dtype=float,
        )
        unread = [
            (row, vehicle.vehicle_id) for row, vehicle in enumerate(facts.vehicles) if ahead[row]
        ]
        #: Its medians are the projections of `km_on`, to the day until which a vehicle is watched.
        self.since_read = SinceRead(
            project_distance(annual, ahead / DAYS_PER_YEAR, years, change),
            {vehicle_id: row for row, vehicle_id in unread},
            {vehicle_id: self._known[vehicle_id][1][-1] for _, vehicle_id in unread},
        )

    def km_on(self, vehicle_id: int, day: date) -> int | None:
        """True distance on a day: between readings interpolated, after the last projected.

        None where nothing was read on or before that day.
        """
        days, km = self._known[vehicle_id]
        at = day.toordinal()
        if not days or at < days[0]:
            return None
        if at <= days[-1]:
            return round(float(np.interp(at, days, km)))
        return km[-1] + round(self._km_per_day[vehicle_id] * (at - days[-1]))


def watched_until(facts: Facts, vehicle: VehicleFacts) -> date:
    """Today, or the day it is known to have left."""
    return min(facts.as_of, vehicle.ended_on or facts.as_of)


def _unread_days(facts: Facts, vehicle: VehicleFacts, read_days: list[int]) -> int:
    """From the last reading to the end of the watch; 0 where never read, or read later."""
    if not read_days:
        return 0
    return max(0, watched_until(facts, vehicle).toordinal() - read_days[-1])


def _known_points(vehicle: VehicleFacts) -> tuple[list[int], list[int]]:
    """Days and distances that stand, the first use at 0 km among them."""
    points: dict[int, int] = {}
    if vehicle.first_used_on is not None:
        points[vehicle.first_used_on.toordinal()] = 0
    for day, km in vehicle.readings:
        points[day.toordinal()] = km
    # Readings that stand may still run back by the small slack they are allowed.
    return list(points), list(accumulate(points.values(), max))


def _span(points: list[int]) -> int:
    """From the first to the last; 0 where nothing was ever read."""
    return points[-1] - points[0] if points else 0
