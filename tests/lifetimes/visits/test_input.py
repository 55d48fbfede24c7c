"""Sums over visits against counts by hand."""

import numpy as np
import pytest

from garage.lifetimes.visits.input import VisitHistories


def test_visits_are_summed_in_any_order() -> None:
    at = [100, 130, 220, 50, 400, 410]
    vehicle = [0, 0, 0, 1, 2, 2]
    turned = [5, 3, 0, 4, 2, 1]
    for order in (range(6), turned):
        known = VisitHistories.from_visits(
            [vehicle[each] for each in order], [at[each] for each in order], [500, 500, 450]
        )
        assert known.repeats.tolist() == [2, 0, 1]
        assert known.last_visit.tolist() == [120, 0, 10]
        assert known.watched_until.tolist() == [400, 450, 50]
        assert known.silence.tolist() == [280, 450, 40]
        np.testing.assert_allclose(known.log_gaps, [np.log(30 * 90), 0, np.log(10)])


def test_visits_of_one_day_are_one() -> None:
    twice = VisitHistories.from_visits([0, 0, 0], [100, 100, 130], [200])
    assert twice.repeats.tolist() == [1]
    assert twice.log_gaps.tolist() == pytest.approx([np.log(30)])


def test_each_vehicle_has_a_visit() -> None:
    with pytest.raises(ValueError, match="each has a visit"):
        VisitHistories.from_visits([0, 2], [1, 1], [9, 9, 9])
    with pytest.raises(ValueError, match="each has a visit"):
        VisitHistories.from_visits([0, 1], [1, 1], [9])
    with pytest.raises(ValueError, match="a vehicle and a time"):
        VisitHistories.from_visits([0, 0], [1], [9])


@pytest.mark.parametrize(
    ("place", "wrong", "rule"),
    [
        (0, -1, "`repeats` is a whole number"),
        (0, 1.5, "`repeats` is a whole number"),
        (0, 0, "`last_visit` is above 0 where a vehicle came again"),
        (1, 0, "`last_visit` is above 0 where a vehicle came again"),
        (1, -3, "`last_visit` is above 0"),
        (1, 9.5, "no earlier than the last visit"),
        (2, float("nan"), "a finite number; got nan at index 0"),
        (3, float("inf"), "`log_gaps` is a finite number"),
        (4, -0.5, "`weight` is 0 or more; got -0.5 at index 0"),
    ],
)
def test_sums_that_cannot_be_are_refused(place: int, wrong: float, rule: str) -> None:
    sums = [2.0, 5.0, 9.0, 1.2, 1.0]
    VisitHistories.from_sums(*sums)
    sums[place] = wrong
    with pytest.raises(ValueError, match=rule):
        VisitHistories.from_sums(*sums)


def test_unequal_lengths_are_refused() -> None:
    with pytest.raises(ValueError, match="one value a vehicle"):
        VisitHistories.from_sums([1, 1], [2], [3, 3])


def test_groups_keep_visits_time_and_weight() -> None:
    rng = np.random.default_rng(3)
    repeats = rng.integers(0, 4, 500)
    last = np.where(repeats > 0, rng.uniform(1, 400, 500), 0)
    known = VisitHistories.from_sums(
        repeats,
        last,
        last + rng.uniform(0, 900, 500),
        np.where(repeats > 0, rng.normal(4, 1, 500), 0),
        rng.integers(0, 3, 500),
    )
    alike = known.grouped(50)
    assert alike.repeats.size < known.repeats.size
    for name in ("repeats", "last_visit", "watched_until", "log_gaps"):
        assert alike.weight @ getattr(alike, name) == pytest.approx(
            known.weight @ getattr(known, name)
        ), name
    assert alike.weight.sum() == known.weight.sum()
    assert np.all(alike.weight > 0)
    with pytest.raises(ValueError, match="a step is above 0; got 0"):
        known.grouped(0)


def test_vehicles_of_no_weight_are_not_counted() -> None:
    known = VisitHistories.from_sums([1, 2], [3, 4], [5, 6])
    assert known.n == 2
    assert known.weighted([0, 3]).n == 1
