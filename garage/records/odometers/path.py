"""How likely each reading is to be true, over every way in which some could be true together.

A path goes through the readings that are true. All paths are summed, not only the best one, so
that what cannot be told is not told.
"""

from dataclasses import dataclass

import numpy as np

from garage.lifetimes.arrays import FloatArray
from garage.records.odometers.evidence import Course, Wrong
from garage.records.odometers.faults import REPLACED_SHARE
from garage.records.odometers.pace import (
    GRID,
    IMPOSSIBLE,
    SHORT_STRETCH_KM,
    UNREACHED,
    step_log_density,
)
from garage.records.odometers.trace import HARD_PACE_KM_PER_DAY

#: A first reading may be anything, the more the rarer: its mean. Judgement, no source.
FIRST_READING_KM = 300_000.0
#: Share of days of first use that are right and on which the odometer was near 0. Judgement.
FIRST_USE_SHARE = 0.9
#: Share of undocumented changes that are to a new instrument; the others show any lower value.
#: Judgement, no source.
NEW_INSTRUMENT_SHARE = 0.5
#: A new instrument has gone up to so many times the usual distance of the days. Judgement.
NEW_INSTRUMENT_ROOM = 1.5
#: A change of the instrument falls by at least so much, and by this share of what it showed; less
#: is an inexact note. Judgement, no source.
LEAST_FALL_KM, LEAST_FALL_SHARE = 2_000.0, 0.03


@dataclass(frozen=True)
class Paths:
    """What all paths together say; chances, the first axis a reading.

    `true` and `after_replaced` (n,): as read and on the first instrument, or on a later one that
    no document names. `between` (n + 1, n + 1): that these two are neighbours on the path, the
    last row and column standing for nothing before, nothing after. `replaced` (n, n): that the
    instrument changed between these two. `grid` is the likeliest pace.
    """

    true: FloatArray
    after_replaced: FloatArray
    between: FloatArray
    replaced: FloatArray
    grid: int


def paths_sum(course: Course, wrong: Wrong) -> Paths:
    """Sum over all paths, forwards and backwards, at every pace of the grid."""
    n = len(course.km)
    later, earlier = np.arange(n)[:, None], np.arange(n)[None, :]
    days = course.days[None, :] - course.days[:, None]
    step = step_log_density(course.km[None, :] - course.km[:, None], np.maximum(days, 0.0))
    go = np.where((later < earlier)[..., None], step + wrong.between, UNREACHED)
    change = _change(course, days, wrong)
    begin = _begin(course) + wrong.start

    ahead = np.full((2, n, len(GRID.log_prior)), UNREACHED)  # by whether the instrument changed
    ahead[0, 0] = begin[0]
    for k in range(1, n):
        ahead[0, k] = _sum([begin[k][None], ahead[0, :k] + go[:k, k]])
        by_change = (ahead[0, :k] + change[:k, k], ahead[1, :k] + change[:k, k])
        ahead[1, k] = _sum([*by_change, ahead[1, :k] + go[:k, k]])
    back = np.full_like(ahead, UNREACHED)
    for j in reversed(range(n)):
        on = slice(j + 1, n)
        for level in (0, 1):
            by_change_after = change[j, on] + back[1, on]
            back[level, j] = _sum(
                [wrong.end[j][None], go[j, on] + back[level, on], by_change_after]
            )

    whole = _sum(list(ahead + wrong.end)) + GRID.log_prior
    most = float(whole.max())
    total = most + float(np.log(np.exp(whole - most).sum()))

    def chance(log: FloatArray) -> FloatArray:
        return np.asarray(np.exp(log + GRID.log_prior - total).sum(axis=-1))

    between = np.zeros((n + 1, n + 1))
    between[:n, :n] = sum(
        chance(ahead[level][:, None] + go + back[level][None]) for level in (0, 1)
    )
    between[:n, n] = chance(np.logaddexp(ahead[0], ahead[1]) + wrong.end)
    between[n, :n] = chance(begin + back[0])
    replaced = sum(chance(ahead[level][:, None] + change + back[1][None]) for level in (0, 1))
    return Paths(
        true=chance(ahead[0] + back[0]),
        after_replaced=chance(ahead[1] + back[1]),
        between=between,
        replaced=np.asarray(replaced),
        grid=int(np.argmax(whole)),
    )


def _sum(logs: list[FloatArray]) -> FloatArray:
    """Logarithm of the sum over the first axis of all of them."""
    every = np.concatenate(logs)
    most = every.max(axis=0)
    return np.asarray(most + np.log(np.exp(every - most).sum(axis=0)))


def _begin(course: Course) -> FloatArray:
    """Log density of each reading as the first true one."""
    rarity = -course.km / FIRST_READING_KM - np.log(FIRST_READING_KM)
    anywhere = np.repeat(rarity[:, None], len(GRID.log_prior), axis=1)
    if course.first_used_day is None:
        return anywhere
    age = course.days - course.first_used_day
    since_new = step_log_density(course.km, np.maximum(age, 0.0))
    density = np.logaddexp(
        np.log(FIRST_USE_SHARE) + since_new, np.log(1 - FIRST_USE_SHARE) + anywhere
    )
    too_far = course.km > HARD_PACE_KM_PER_DAY * (age + 1)
    return np.where(too_far[:, None], IMPOSSIBLE, density)


def _change(course: Course, days: FloatArray, wrong: Wrong) -> FloatArray:
    """Log chance that the instrument changed between two readings and then showed the second."""
    usual = GRID.km_per_day * np.maximum(days, 0.0)[..., None] + SHORT_STRETCH_KM
    shown = course.km[None, :, None]
    room = NEW_INSTRUMENT_ROOM * usual
    new = np.where(shown <= room, NEW_INSTRUMENT_SHARE / room, 0.0)
    lower = (1 - NEW_INSTRUMENT_SHARE) / np.maximum(course.km, 1.0)[:, None, None]
    density = np.log(REPLACED_SHARE * (new + lower))
    least = np.maximum(LEAST_FALL_KM, LEAST_FALL_SHARE * course.km)[:, None]
    fell = course.km[None, :] < course.km[:, None] - least
    order = np.arange(len(course.km))
    later = order[None, :] > order[:, None]
    return np.where((fell & later)[..., None], density + wrong.after_replaced, UNREACHED)
