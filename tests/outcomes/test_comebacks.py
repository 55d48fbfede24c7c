"""Index jobs and what came after them: a comeback, another end, or nothing yet."""

from datetime import date, datetime
from itertools import pairwise

import pytest

from garage.outcomes.comebacks import COMEBACK, OTHER_END, WITHDRAWN, IndexJob
from garage.records.models import ComebackReview
from tests.outcomes.histories import EXHAUST, History, Op, cleaned, done, index_jobs, replaced
from tests.records.factories import PartKindFactory

pytestmark = pytest.mark.django_db

#: From the strongest to the weakest, as the design lists them.
STRENGTH = [
    "replace",
    "clean_off_vehicle",
    "clean_on_vehicle",
    "regenerate_stationary",
    "regenerate_driving",
    "clear_codes",
]


def index_of(history: History, **how: object) -> IndexJob:
    """The first index job of this vehicle."""
    return min(
        (each for each in index_jobs(**how) if each.vehicle_id == history.vehicle.pk),
        key=lambda each: each.closed_on,
    )


def van_repaired(*ops: Op, **said: object) -> History:
    """Repaired on the first day of 2018 at 80 000 km."""
    van = History(**said)
    van.job("2018-01-01", 80_000, ops=ops or [done("clear_codes")])
    return van


# --- which jobs are an index, and of what ---


@pytest.mark.parametrize("kind", STRENGTH)
def test_each_operation_of_the_list_makes_an_index(kind: str) -> None:
    assert index_of(van_repaired(done(kind))).operation == kind


@pytest.mark.parametrize("kind", ["inspect", "repair", "adjust", "software_update", "other"])
def test_an_operation_that_is_not_of_the_list_makes_none(kind: str) -> None:
    van_repaired(done(kind))
    assert index_jobs() == []


@pytest.mark.parametrize(("stronger", "weaker"), list(pairwise(STRENGTH)))
def test_one_job_is_one_index_under_its_strongest_operation(stronger: str, weaker: str) -> None:
    van_repaired(done(weaker), done(stronger))
    assert [each.operation for each in index_jobs()] == [stronger]


def test_clearing_codes_after_a_replacement_is_no_index_of_clearing() -> None:
    van_repaired(replaced("failed"), done("clear_codes"))
    assert [each.operation for each in index_jobs()] == ["replace"]


def test_a_planned_job_is_no_index() -> None:
    van = History()
    van.job("2018-01-01", 80_000, ops=[done("clear_codes")], planned=True)
    assert index_jobs() == []


def test_an_operation_on_another_system_is_no_index() -> None:
    van_repaired(done("replace", system="brakes"))
    assert index_jobs() == []


def test_an_open_job_is_no_index_yet() -> None:
    van = History()
    van.job("2018-01-01", 80_000, ops=[done("clear_codes")], closed_on=None)
    assert index_jobs() == []


def test_a_job_is_an_index_from_the_day_it_closed() -> None:
    van = History()
    van.job("2018-01-01", 80_000, ops=[done("clear_codes")], closed_on="2018-01-11")
    assert index_jobs(as_of="2018-01-10") == []
    assert index_of(van, as_of="2018-01-11").closed_on == date(2018, 1, 11)


def test_a_job_without_a_closing_day_was_closed_once_the_vehicle_came_back() -> None:
    van = History()
    van.job("2018-01-01", 80_000, ops=[done("clear_codes")], closed_on=None)
    van.service("2018-06-01", 90_000)
    assert index_of(van).closed_on == date(2018, 1, 1)


def test_the_system_is_that_of_the_part_kind() -> None:
    turbocharger = PartKindFactory(code="turbocharger", system="air")
    van = van_repaired(done("clear_codes"), done("replace", system="air"))
    assert index_of(van, part_kind=turbocharger).operation == "replace"
    assert index_of(van).operation == "clear_codes"


# --- a comeback: a later unplanned job on the same system ---


def test_a_later_unplanned_job_on_the_same_system_is_a_comeback() -> None:
    van = van_repaired()
    van.job("2018-01-31", 82_500)
    index = index_of(van)
    assert (index.outcome, index.came_back) == (COMEBACK, True)
    assert (index.after_days, index.after_km) == (30, 2_500)


def refuse(van: History, index: int, later: int, on: str = "2018-02-01") -> None:
    """A person holds the later of two jobs, by their place, to be another trouble."""
    jobs = list(van.vehicle.jobs.order_by("opened_on"))
    ComebackReview.objects.create(
        job=jobs[later],
        index_job=jobs[index],
        state="refused",
        reason="a sensor hose",
        at=datetime.fromisoformat(f"{on}T09:00:00+00:00"),
    )


def test_a_job_that_a_person_refused_is_no_comeback_of_that_index_job() -> None:
    van = van_repaired()
    van.job("2018-01-31", 82_500)
    van.service("2018-06-01", 90_000)
    assert index_of(van).outcome == COMEBACK
    refuse(van, 0, 1)
    assert index_of(van).outcome == WITHDRAWN
    # As of a day before the refusal it still was one.
    assert index_of(van, as_of="2018-01-31").outcome == COMEBACK


def test_a_job_after_a_refused_one_may_be_the_comeback() -> None:
    van = van_repaired()
    van.job("2018-01-31", 82_500)
    van.job("2018-03-02", 84_000)
    refuse(van, 0, 1)
    index = index_of(van)
    assert (index.outcome, index.after_days) == (COMEBACK, 60)


def test_a_confirmed_comeback_stays_one() -> None:
    van = van_repaired()
    van.job("2018-01-31", 82_500)
    refuse(van, 0, 1)
    ComebackReview.objects.update(state="confirmed")
    assert index_of(van).outcome == COMEBACK


def test_a_planned_job_is_no_comeback() -> None:
    van = van_repaired()
    van.job("2018-01-31", 82_500, planned=True)
    assert index_of(van).outcome == WITHDRAWN


def test_a_job_on_another_system_is_no_comeback() -> None:
    van = van_repaired()
    van.job("2018-01-31", 82_500, system="brakes")
    assert index_of(van).outcome == WITHDRAWN


@pytest.mark.parametrize(("kind", "outcome"), [("clear_codes", COMEBACK), ("inspect", WITHDRAWN)])
def test_work_on_the_system_at_another_unplanned_job_is_a_comeback_a_look_is_not(
    kind: str, outcome: int
) -> None:
    van = van_repaired()
    van.job("2018-01-31", 82_500, system="brakes", ops=[done(kind)])
    assert index_of(van).outcome == outcome


def test_another_vehicle_is_no_comeback_of_this_one() -> None:
    van = van_repaired()
    van_repaired().job("2018-01-31", 82_500)
    assert index_of(van).outcome == WITHDRAWN


def test_the_first_comeback_counts_and_is_an_index_itself() -> None:
    van = van_repaired()
    van.job("2018-01-31", 82_500, ops=[cleaned("failed")])
    van.job("2018-03-02", 85_000)
    first, second = sorted(index_jobs(), key=lambda each: each.closed_on)
    assert (first.operation, first.after_days) == ("clear_codes", 30)
    assert (second.operation, second.outcome, second.after_days) == (
        "clean_off_vehicle",
        COMEBACK,
        30,
    )


def test_days_run_from_the_closing_of_the_job() -> None:
    van = History()
    van.job("2018-01-01", 80_000, ops=[done("clear_codes")], closed_on="2018-01-11")
    van.job("2018-01-31", 82_500)
    assert index_of(van).after_days == 20


def test_a_comeback_on_the_closing_day_still_comes_after_it() -> None:
    van = van_repaired()
    van.job("2018-01-01", 80_000)
    index = index_of(van)
    assert (index.outcome, index.after_days, index.after_km) == (COMEBACK, 1, 1)


# --- other ends compete ---


@pytest.mark.parametrize("kind", ["replace", "clean_off_vehicle"])
def test_a_planned_removal_competes(kind: str) -> None:
    van = van_repaired()
    van.job("2018-01-31", 82_500, planned=True, ops=[done(kind)])
    van.job("2018-03-01", 85_000)
    index = index_of(van)
    assert (index.outcome, index.after_days, index.after_km) == (OTHER_END, 30, 2_500)


def test_a_planned_removal_on_another_system_does_not() -> None:
    van = van_repaired()
    van.job("2018-01-31", 82_500, planned=True, ops=[done("replace", system="brakes")])
    van.job("2018-03-02", 85_000)
    assert (index_of(van).outcome, index_of(van).after_days) == (COMEBACK, 60)


@pytest.mark.parametrize(
    ("because", "outcome"),
    [("sold", OTHER_END), ("scrapped", OTHER_END), ("left", WITHDRAWN), ("", WITHDRAWN)],
)
def test_sold_and_scrapped_compete_a_customer_who_left_is_withdrawn(
    because: str, outcome: int
) -> None:
    van = van_repaired(ended_on="2018-03-02", ended_because=because)
    index = index_of(van, as_of="2019-01-01")
    assert (index.outcome, index.after_days) == (outcome, 60)


def test_a_comeback_before_the_sale_is_a_comeback() -> None:
    van = van_repaired(ended_on="2018-03-02", ended_because="sold")
    van.job("2018-01-31", 82_500)
    assert index_of(van, as_of="2019-01-01").outcome == COMEBACK


def test_a_job_after_the_sale_is_no_comeback() -> None:
    van = van_repaired(ended_on="2018-03-02", ended_because="sold")
    van.job("2018-04-01", 86_500)
    assert index_of(van, as_of="2019-01-01").outcome == OTHER_END


def test_a_sale_after_the_day_of_the_report_is_not_known_yet() -> None:
    van = van_repaired(ended_on="2018-03-02", ended_because="sold")
    index = index_of(van, as_of="2018-03-01")
    assert (index.outcome, index.after_days) == (WITHDRAWN, 59)


# --- silence: at risk to the day of the report ---


def test_the_silent_stay_at_risk_to_the_day_of_the_report_on_both_clocks() -> None:
    van = History(first_used_on="2014-01-01")
    van.job("2018-01-01", 80_000, ops=[done("clear_codes")])
    index = index_of(van, as_of="2019-01-01")
    assert (index.outcome, index.after_days) == (WITHDRAWN, 365)
    assert index.after_km == pytest.approx(20_000, rel=0.01)


def test_without_an_odometer_that_stands_there_is_no_clock_of_km() -> None:
    van = History()
    van.job("2018-01-01", None, ops=[done("clear_codes")])
    van.job("2018-01-31", 82_500)
    index = index_of(van)
    assert (index.outcome, index.after_days, index.after_km) == (COMEBACK, 30, None)


def test_a_comeback_without_an_odometer_takes_it_from_the_readings_around() -> None:
    van = van_repaired()
    van.job("2018-01-31", None)
    van.reading("2018-03-02", 85_000)
    assert index_of(van).after_km == 2_500


def test_a_day_before_the_job_knows_of_none() -> None:
    van_repaired()
    assert index_jobs(as_of="2017-12-31") == []


def test_a_comeback_after_the_day_of_the_report_has_not_come_yet() -> None:
    van = van_repaired()
    van.job("2018-01-31", 82_500)
    assert index_of(van, as_of="2018-01-30").outcome == WITHDRAWN
    assert index_of(van, as_of="2018-01-31").outcome == COMEBACK


def test_the_index_system_is_the_filters() -> None:
    van = van_repaired()
    van.job("2018-01-31", 82_500, system=EXHAUST)
    assert index_of(van).came_back
