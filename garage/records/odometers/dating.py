"""How well a reading fits on another day, between the other readings that are true."""

import numpy as np

from garage.records.odometers.evidence import Course
from garage.records.odometers.explaining import DateChance
from garage.records.odometers.faults import FAULT_SHARE, date_mends
from garage.records.odometers.pace import (
    GRID,
    YEAR_LOG_SDS,
    PaceGrid,
    between_log_density,
    step_log_density,
)
from garage.records.odometers.path import Paths
from garage.records.odometers.readings import Reading

#: A mended day lies no later than this after the vehicle's last one: readings are recorded on
#: their day, and the newest is at most a year's slip older than it says. Judgement.
LATEST_AFTER_LAST_DAYS = 366
#: Chance per km of a reading by a wrong day, before it is known which others are true: one of
#: three days that are looked at, a year's distance spread over 30 000 km. Judgement.
USUAL_DATE_CHANCE = FAULT_SHARE["date"] / 3 / 30_000


def date_chances(course: Course, paths: Paths, place: int, reading: Reading) -> list[DateChance]:
    """Every day that one slip in the date may have stood for, with its chance per km.

    The others are taken as true where the first look at them found them so.
    """
    # Where the instrument seems to have been replaced, the longer of the two parts.
    parts = [np.flatnonzero(part >= 0.5) for part in (paths.true, paths.after_replaced)]
    others = [int(i) for i in max(parts, key=len) if i != place]
    if not others or course.bound[place]:
        return []
    return [
        DateChance(mend.read_on, mend.share * float(np.exp(_fit(course, paths, others, at))))
        for mend, at in (
            (mend, (mend.read_on.toordinal(), float(course.km[place])))
            for mend in date_mends(reading.read_on)
        )
        if at[0] <= float(course.days[-1]) + LATEST_AFTER_LAST_DAYS
        and (course.first_used_day is None or at[0] >= course.first_used_day)
    ]


def _fit(course: Course, paths: Paths, others: list[int], at: tuple[int, float]) -> float:
    day, km = at
    days = course.days[others]
    cut = int(np.searchsorted(days, day))
    grid = PaceGrid(
        *(each[[paths.grid]] for each in (GRID.km_per_day, GRID.log_sd, GRID.log_prior))
    )
    before = others[cut - 1] if cut else None
    after = others[cut] if cut < len(others) else None
    if before is None:
        assert after is not None
        step, gap = course.km[after] - km, course.days[after] - day
        return float(step_log_density(np.array(step), np.array(gap), grid)[0])
    if after is None:
        step, gap = km - course.km[before], day - course.days[before]
        return float(step_log_density(np.array(step), np.array(gap), grid)[0])
    spread = int(np.searchsorted(YEAR_LOG_SDS, GRID.log_sd[paths.grid]))
    found = between_log_density(
        np.array(km - course.km[before]),
        np.array(course.km[after] - course.km[before]),
        (np.array(day - course.days[before]), np.array(course.days[after] - day)),
    )
    return float(found[spread])
