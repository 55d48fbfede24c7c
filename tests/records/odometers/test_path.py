"""The sum over all paths against a slow second implementation, which writes out every path."""

from itertools import combinations, pairwise, product

import numpy as np
import pytest

from garage.records.odometers.evidence import (
    Course,
    Wrong,
    course_make,
    mend_chances,
    wrong_stretches,
)
from garage.records.odometers.faults import value_mends
from garage.records.odometers.pace import GRID, step_log_density
from garage.records.odometers.path import FIRST_READING_KM, _change, paths_sum

CASES = {
    "a fall": ([0, 300, 700], [30_000, 12_000, 27_000]),
    "one too high": ([0, 300, 700, 900], [30_000, 420_000, 61_000, 70_000]),
    "a fall that goes on": ([0, 300, 500, 700, 950], [80_000, 95_000, 4_000, 14_000, 26_000]),
}


def every_path(course: Course, wrong: Wrong) -> tuple[np.ndarray, np.ndarray]:
    """Chances that each reading is true, and that it is so on a later instrument."""
    n = len(course.km)
    days = course.days[None, :] - course.days[:, None]
    change = _change(course, days, wrong)
    true, replaced, total = np.zeros(n), np.zeros(n), 0.0
    for size in range(1, n + 1):
        for places in combinations(range(n), size):
            for changes in product((False, True), repeat=size - 1):
                log = wrong.start[places[0]] - course.km[places[0]] / FIRST_READING_KM
                log = log - np.log(FIRST_READING_KM)
                for (j, k), changed in zip(pairwise(places), changes, strict=True):
                    step = np.array(course.km[k] - course.km[j])
                    go = step_log_density(step, np.array(days[j, k])) + wrong.between[j, k]
                    log = log + (change[j, k] if changed else go)
                weight = float(np.exp(log + wrong.end[places[-1]] + GRID.log_prior).sum())
                total += weight
                after = np.cumsum([False, *changes]) > 0
                for place, is_after in zip(places, after, strict=True):
                    (replaced if is_after else true)[place] += weight
    return true / total, replaced / total


@pytest.mark.parametrize("name", CASES)
def test_all_paths_summed_equal_all_paths_written_out(name: str) -> None:
    days, km = CASES[name]
    mends = [value_mends(each, "km", 0) for each in km]
    course = course_make(days, km, mends, [False] * len(km), None)
    wrong = wrong_stretches(course, mend_chances(course, len(km)), np.zeros(len(km)))
    paths = paths_sum(course, wrong)
    true, replaced = every_path(course, wrong)
    assert paths.true == pytest.approx(true, abs=1e-9)
    assert paths.after_replaced == pytest.approx(replaced, abs=1e-9)
    assert np.all(paths.true + paths.after_replaced <= 1 + 1e-9)


@pytest.mark.parametrize("name", CASES)
def test_every_reading_is_on_the_path_or_passed_over(name: str) -> None:
    days, km = CASES[name]
    mends = [value_mends(each, "km", 0) for each in km]
    course = course_make(days, km, mends, [False] * len(km), None)
    wrong = wrong_stretches(course, mend_chances(course, len(km)), np.zeros(len(km)))
    paths = paths_sum(course, wrong)
    n = len(km)
    for place in range(n):
        befores, afters = [*range(place), n], [*range(place + 1, n), n]
        passed = paths.between[np.ix_(befores, afters)].sum()
        passed += paths.replaced[:place, place + 1 :].sum()
        on = paths.true[place] + paths.after_replaced[place]
        assert on + passed == pytest.approx(1.0, abs=1e-9)


def test_a_reading_a_person_vouched_for_is_true() -> None:
    days, km = CASES["one too high"]
    mends = [value_mends(each, "km", 0) for each in km]
    for bound in (False, True):
        course = course_make(days, km, mends, [False, bound, False, False], None)
        wrong = wrong_stretches(course, mend_chances(course, len(km)), np.zeros(len(km)))
        true = paths_sum(course, wrong).true
        assert bool(true[1] > 0.5) is bound
