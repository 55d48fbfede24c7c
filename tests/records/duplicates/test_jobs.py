"""Which jobs may be one."""

from dataclasses import replace
from datetime import date

from garage.records.duplicates.jobs import JobToCompare, job_candidates

WORK = frozenset({("replace", "particulate_filter"), ("clear_codes", "exhaust_aftertreatment")})
ONE = JobToCompare(1, 7, date(2024, 5, 6), 120_000, "lamp on, no power", WORK)


def likelihood(one: JobToCompare, **changed) -> float:
    found = job_candidates([one, replace(one, **({"id": 2} | changed))])
    return found[0].likelihood if found else 0.0


def test_jobs_of_one_day_with_one_odometer_and_one_work_may_be_one() -> None:
    assert likelihood(ONE) > 0.95


def test_jobs_of_two_vehicles_are_two() -> None:
    assert likelihood(ONE, vehicle_id=8) == 0


def test_jobs_two_days_apart_are_two() -> None:
    assert likelihood(ONE, opened_on=date(2024, 5, 7)) > 0
    assert likelihood(ONE, opened_on=date(2024, 5, 8)) == 0


def test_jobs_with_different_odometers_are_two() -> None:
    assert likelihood(ONE, km=120_005) > 0
    assert likelihood(ONE, km=120_006) == 0


def test_jobs_of_one_day_with_different_work_are_two_unless_all_else_agrees() -> None:
    other = frozenset({("adjust", "brakes")})
    assert likelihood(replace(ONE, km=None, complaint=""), work=other) == 0
    assert likelihood(ONE, work=other) < likelihood(ONE)


def test_jobs_of_which_little_is_known_are_not_proposed() -> None:
    assert likelihood(replace(ONE, km=None, complaint="", work=frozenset())) == 0
