"""How likely each reading is as a wrong one, between the readings around it that are true."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from garage.lifetimes.arrays import FloatArray, IntArray
from garage.records.odometers.faults import (
    ANY_VALUE_KM,
    ANY_VALUE_TOTAL,
    FAULT_SHARE,
    SAME_UNIT_AGAIN,
    Mend,
)
from garage.records.odometers.pace import (
    GRID,
    IMPOSSIBLE,
    UNREACHED,
    YEAR_LOG_SDS,
    between_log_density,
    step_log_density,
)

#: Nothing true on this side of a reading.
NONE = -1
#: Where a mend has no place: below any true distance.
_NOWHERE_KM = -1e9
_UNIT = 0  # the place of the other unit among a reading's mends


@dataclass(frozen=True)
class Course:
    """The readings of one vehicle in the order of day and km, with all that would mend each.

    `days` and `km` have shape (n,); `mend_km` and `mend_share` (n, c), padded with what cannot be;
    `bound` marks readings that a person said are right.
    """

    days: FloatArray
    km: FloatArray
    mend_km: FloatArray
    mend_share: FloatArray
    bound: np.ndarray
    first_used_day: int | None


def course_make(
    days: Sequence[int],
    km: Sequence[int],
    mends: Sequence[Sequence[Mend]],
    bound: Sequence[bool],
    first_used_day: int | None,
) -> Course:
    """Put the mends of every reading into arrays of one width."""
    width = max(len(each) for each in mends)
    mend_km = np.full((len(km), width), _NOWHERE_KM)
    share = np.zeros((len(km), width))
    for place, each in enumerate(mends):
        mend_km[place, : len(each)] = [mend.km for mend in each]
        share[place, : len(each)] = [mend.share for mend in each]
    return Course(
        np.asarray(days, np.float64),
        np.asarray(km, np.float64),
        mend_km,
        share,
        np.asarray(bound, bool),
        first_used_day,
    )


def other_log_share(km: FloatArray) -> FloatArray:
    """Log chance per km of a reading whose fault is none that mends it."""
    density = FAULT_SHARE["other"] / (ANY_VALUE_TOTAL * (ANY_VALUE_KM + np.maximum(km, 0)))
    return np.asarray(np.log(density))


def mend_likelihoods(
    course: Course, before: IntArray, after: IntArray, place: IntArray
) -> FloatArray:
    """Chance per km of each wrong reading by each mend: shape (m, c, g), or the spreads for g.

    Either all of `before` are NONE, or all of `after`, or neither.
    """
    mended, share = course.mend_km[place], course.mend_share[place][..., None]
    if np.all(after == NONE):
        days = (course.days[place] - course.days[before])[:, None]
        log = step_log_density(
            mended - course.km[before][:, None], np.broadcast_to(days, mended.shape)
        )
    elif np.all(before == NONE):
        days = (course.days[after] - course.days[place])[:, None]
        log = step_log_density(
            course.km[after][:, None] - mended, np.broadcast_to(days, mended.shape)
        )
        log = np.where(mended[..., None] < 0, IMPOSSIBLE, log)
    else:
        first = (course.days[place] - course.days[before])[:, None]
        second = (course.days[after] - course.days[place])[:, None]
        whole = (course.km[after] - course.km[before])[:, None]
        log = between_log_density(
            mended - course.km[before][:, None], whole + np.zeros_like(mended), (first, second)
        )
    return np.asarray(share * np.exp(log))


@dataclass(frozen=True)
class MendChances:
    """Chance per km of each reading as a wrong one that a mend puts right, seen from a true one.

    `ahead` (n, n, g): of the second, with the first the last true one; `back` (n, n, g): of the
    second, with the first the next true one; `between`: for every pair with others in between,
    (those others, s). The `_unit` fields are of the other unit alone.
    """

    ahead: FloatArray
    ahead_unit: FloatArray
    back: FloatArray
    back_unit: FloatArray
    between: dict[tuple[int, int], tuple[FloatArray, FloatArray]]
    furthest: int


def mend_chances(course: Course, furthest: int) -> MendChances:
    """Weigh every mend of every reading between all true ones at most `furthest` apart."""
    n, grid = len(course.km), len(GRID.log_prior)
    ahead, ahead_unit, back, back_unit = np.zeros((4, n, n, grid))
    first, second = np.triu_indices(n, 1)
    near = second - first <= furthest
    first, second = first[near], second[near]
    nothing = np.full(len(first), NONE)
    if len(first):
        found = mend_likelihoods(course, first, nothing, second)
        ahead[first, second], ahead_unit[first, second] = found.sum(axis=1), found[:, _UNIT]
        found = mend_likelihoods(course, nothing, second, first)
        back[second, first], back_unit[second, first] = found.sum(axis=1), found[:, _UNIT]
    between = {}
    for j in range(n - 2):
        pairs = [(k, i) for k in range(j + 2, min(n, j + 1 + furthest)) for i in range(j + 1, k)]
        if not pairs:
            continue
        after, place = np.array(pairs).T
        found = mend_likelihoods(course, np.full(len(after), j), after, place)
        for k in range(j + 2, min(n, j + 1 + furthest)):
            here = found[after == k]
            between[j, k] = (here.sum(axis=1), here[:, _UNIT])
    return MendChances(ahead, ahead_unit, back, back_unit, between, furthest)


@dataclass(frozen=True)
class Wrong:
    """Log chances of stretches of wrong readings, by what is true before and after them.

    `start` (n, g): all before this one are wrong; `end` (n, g): all after it; `between`
    (n, n, g): all between these two; `after_replaced` (n, n, g): the same, seen only from before.
    """

    start: FloatArray
    end: FloatArray
    between: FloatArray
    after_replaced: FloatArray


def wrong_stretches(course: Course, chances: MendChances, date_share: FloatArray) -> Wrong:
    """Log chance of every stretch of wrong readings; too long ones cannot be.

    `date_share` (n,) is each reading's chance by a wrong day. Wrong readings in a row count as
    independent, except that a wrong unit tends to come again.
    """
    n, grid, furthest = len(course.km), len(GRID.log_prior), chances.furthest
    otherwise = (np.exp(other_log_share(course.km)) + date_share)[:, None]
    bound = course.bound[:, None]

    def logs(mended: FloatArray, unit: FloatArray, places: slice) -> tuple[FloatArray, FloatArray]:
        whole = np.log(mended + otherwise[places])
        again = np.log(np.maximum(unit, np.exp(IMPOSSIBLE)))
        cannot = bound[places]
        return np.where(cannot, IMPOSSIBLE, whole), np.where(cannot, IMPOSSIBLE, again)

    end, start = np.zeros((2, n, grid))
    after_replaced = np.full((n, n, grid), UNREACHED)
    for j in range(n):
        later, earlier = slice(j + 1, n), slice(0, j)
        one = logs(chances.ahead[j, later], chances.ahead_unit[j, later], later)
        end[j] = _run(*one, furthest)
        start[j] = _run(
            *logs(chances.back[j, earlier], chances.back_unit[j, earlier], earlier), furthest
        )
        sums = np.concatenate([np.zeros((1, grid)), np.cumsum(one[0], axis=0)])
        last = min(n, j + 1 + furthest)
        after_replaced[j, j + 1 : last] = sums[: last - j - 1]

    between = np.full((n, n, grid), UNREACHED)
    between[np.arange(n - 1), np.arange(1, n)] = 0.0
    for (j, k), (mended, unit) in chances.between.items():
        between[j, k] = _run(*logs(mended, unit, slice(j + 1, k)), furthest)[SPREAD_OF]
    return Wrong(start, end, between, after_replaced)


#: Which of the spreads each point of the grid has.
SPREAD_OF = np.searchsorted(YEAR_LOG_SDS, GRID.log_sd)


def _run(value: FloatArray, unit: FloatArray, furthest: int) -> FloatArray:
    """Log chance of wrong readings in a row: each for itself, or all by the same wrong unit."""
    count = len(value)
    if count > furthest:
        return np.full(value.shape[1], UNREACHED)
    if count < 2:
        return np.asarray(value.sum(axis=0))
    again = (count - 1) * np.log(SAME_UNIT_AGAIN / FAULT_SHARE["unit"])
    return np.logaddexp(value.sum(axis=0), unit.sum(axis=0) + again)


def same_unit_share(course: Course, before: int, after: int, places: IntArray, grid: int) -> float:
    """Of a stretch of wrong readings, the chance that all are so by the same wrong unit."""
    if len(places) < 2:
        return 0.0
    many = np.ones(len(places), np.int64)
    by_mend = mend_likelihoods(course, before * many, after * many, places)
    column = grid if by_mend.shape[2] == len(GRID.log_prior) else _spread_column(grid)
    chances = by_mend[:, :, column]
    other = np.exp(other_log_share(course.km[places]))
    alone = float(np.log(chances.sum(axis=1) + other).sum())
    unit = np.maximum(chances[:, _UNIT], np.exp(IMPOSSIBLE))
    again = (len(places) - 1) * np.log(SAME_UNIT_AGAIN / FAULT_SHARE["unit"])
    same = float(np.log(unit).sum() + again)
    return float(np.exp(same - np.logaddexp(alone, same)))


def _spread_column(grid: int) -> int:
    return int(SPREAD_OF[grid])
