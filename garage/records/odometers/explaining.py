"""What may be behind a reading in doubt: everything that would mend it, the likeliest first."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date

import numpy as np

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.wording import spoken
from garage.records.choices import DistanceUnit, Doubt
from garage.records.odometers.evidence import (
    NONE,
    Course,
    mend_likelihoods,
    other_log_share,
    same_unit_share,
)
from garage.records.odometers.faults import Mend
from garage.records.odometers.pace import GRID, YEAR_LOG_SDS
from garage.records.odometers.path import Paths
from garage.records.odometers.readings import Explanation, Reading

#: An explanation with less weight is not worth a technician's reading; its weight goes to
#: "something else". Judgement, no source.
LEAST_WEIGHT = 0.02
MOST_EXPLANATIONS = 6
#: Neighbours on a path so rare that they explain nothing. Judgement, for speed alone.
_LEAST_CHANCE = 1e-3


@dataclass(frozen=True)
class DateChance:
    """One mended day of a reading, and its chance as a wrong day."""

    read_on: date
    chance: float


@dataclass(frozen=True)
class Case:
    """One vehicle's readings with all that was found of them."""

    course: Course
    paths: Paths
    readings: list[Reading]
    mends: list[list[Mend]]
    dates: list[list[DateChance]]


def explanations_rank(case: Case, place: int, unexplained: Doubt) -> tuple[Explanation, ...]:
    """Everything that would mend the reading at `place`; weights add to 1.

    `unexplained` names what is left where nothing mends it.
    """
    paths, reading = case.paths, case.readings[place]
    by_mend, by_date, other = _wrong_shares(case, place)
    left = float(other)
    found = []
    for mend, weight in zip(case.mends[place], by_mend.tolist(), strict=False):
        if weight >= LEAST_WEIGHT and mend.doubt != Doubt.BACKWARDS:
            found.append(_of_mend(reading, mend, weight))
        else:
            left += weight
    for mended, weight in zip(case.dates[place], by_date.tolist(), strict=True):
        if weight >= LEAST_WEIGHT:
            words = f"read on {mended.read_on}, not on {reading.read_on}"
            km = round(case.course.km[place])
            found.append(Explanation(Doubt.WRONG_DATE, weight, words, km, read_on=mended.read_on))
        else:
            left += weight
    replaced = float(paths.after_replaced[place])
    if replaced >= LEAST_WEIGHT:
        found.append(_of_replaced(case, place, replaced))
    else:
        left += replaced
    true = float(paths.true[place])
    if true >= LEAST_WEIGHT:
        words = "right as read; another reading is wrong"
        found.append(Explanation(None, true, words, round(case.course.km[place])))
    else:
        left += true
    found.sort(key=lambda each: -each.weight)
    left += sum(each.weight for each in found[MOST_EXPLANATIONS:])
    found = found[:MOST_EXPLANATIONS]
    found.append(Explanation(unexplained, left, "something else; the right value is not known"))
    total = sum(each.weight for each in found)
    found = [_with_weight(each, each.weight / total) for each in found]
    return tuple(sorted(found, key=lambda each: -each.weight))


def likeliest_kind(case: Case, place: int, unexplained: Doubt) -> Doubt:
    """The kind of fault with the most weight, all its mended values together."""
    by_mend, by_date, other = _wrong_shares(case, place)
    weight: dict[Doubt, float] = defaultdict(float)
    for mend, share in zip(case.mends[place], by_mend.tolist(), strict=False):
        # Off by a little, with nothing that mends it.
        weight[unexplained if mend.doubt == Doubt.BACKWARDS else mend.doubt] += share
    weight[Doubt.WRONG_DATE] += float(by_date.sum())
    weight[unexplained] += float(other)
    replaced = float(case.paths.after_replaced[place])
    # One lower reading alone does not show an instrument that goes on from there.
    goes_on = int((case.paths.after_replaced > LEAST_WEIGHT).sum()) > 1
    weight[Doubt.CLUSTER_REPLACED if goes_on else unexplained] += replaced
    return max(weight, key=lambda kind: weight[kind])


def _wrong_shares(case: Case, place: int) -> tuple[FloatArray, FloatArray, float]:
    """Chance of each mended value, of each mended day, and of another fault."""
    course, n = case.course, len(case.course.km)
    by_mend = np.zeros(course.mend_km.shape[1])
    dates = np.array([each.chance for each in case.dates[place]])
    by_date, other = np.zeros(len(dates)), 0.0
    other_share = float(np.exp(other_log_share(course.km[place])))
    chances = case.paths.between.copy()
    # An instrument that changed meanwhile tells nothing of a reading from after it.
    chances[:n, n] += np.triu(case.paths.replaced, place + 1).sum(axis=1) * (np.arange(n) < place)
    befores, afters = [*range(place), n], [*range(place + 1, n), n]
    for before in befores:
        for after in afters:
            chance = float(chances[before, after])
            if chance < _LEAST_CHANCE:
                continue
            first = NONE if before == n else before
            last = NONE if after == n else after
            here = np.array([place])
            found = mend_likelihoods(course, np.array([first]), np.array([last]), here)[0]
            column = _column(found, case.paths.grid)
            total = float(found[:, column].sum()) + other_share + float(dates.sum())
            places = np.arange(first + 1, n if last == NONE else last)
            same = same_unit_share(course, first, last, places, case.paths.grid)
            by_mend += chance * (1 - same) * found[:, column] / total
            by_mend[0] += chance * same
            by_date += chance * (1 - same) * dates / total
            other += chance * (1 - same) * other_share / total
    return by_mend, by_date, other


def _column(chances: FloatArray, grid: int) -> int:
    if chances.shape[1] == len(GRID.log_prior):
        return grid
    return int(np.searchsorted(YEAR_LOG_SDS, GRID.log_sd[grid]))


def _with_weight(each: Explanation, weight: float) -> Explanation:
    return Explanation(each.kind, weight, each.words, each.km, each.typed, each.unit, each.read_on)


def unit_word(unit: str) -> str:
    """The unit as it stands behind a figure."""
    return "mi" if unit == DistanceUnit.MILES else "km"


def _of_mend(reading: Reading, mend: Mend, weight: float) -> Explanation:
    km = round(mend.km)
    typed = spoken(float(reading.typed))
    if mend.doubt == Doubt.WRONG_UNIT:
        words = (
            f"{typed} {unit_word(mend.unit)} typed as {unit_word(reading.unit)}"
            if mend.unit != reading.unit
            else f"{spoken(mend.typed)} {unit_word(mend.unit)}, turned into the other by mistake"
        )
    elif mend.doubt == Doubt.TENTHS:
        words = (
            "the last figure is tenths"
            if mend.typed < reading.typed
            else "the last figure is missing"
        )
    else:
        words = f"{typed} typed for {spoken(mend.typed)}"
    if mend.doubt != Doubt.WRONG_DIGIT or mend.unit == DistanceUnit.MILES:
        words += f": {spoken(km, 'km')}"
    return Explanation(mend.doubt, weight, words, km, mend.typed, mend.unit)


def _of_replaced(case: Case, place: int, weight: float) -> Explanation:
    """The instrument replaced or set before this reading: how far the vehicle had then gone."""
    course = case.course
    jumps = case.paths.replaced[:, : place + 1]
    before, after = np.unravel_index(int(np.argmax(jumps)), jumps.shape)
    pace = float(GRID.km_per_day[case.paths.grid])
    gone = pace * float(course.days[after] - course.days[before])
    km = round(course.km[before] + gone + course.km[place] - course.km[after])
    words = (
        f"the instrument was replaced, or set to another value, after "
        f"{case.readings[before].read_on}: about {spoken(km, 'km')}"
    )
    return Explanation(Doubt.CLUSTER_REPLACED, weight, words, km)
