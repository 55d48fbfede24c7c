"""A report of an earlier day is the report of records that lack the later ones."""

from collections.abc import Callable
from dataclasses import astuple, fields, replace
from datetime import date
from typing import Any

import pytest
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext

from garage.outcomes.capture import capture_of_comebacks, capture_of_failures
from garage.outcomes.comebacks import index_jobs_follow
from garage.outcomes.lives import Life, lives_follow
from garage.outcomes.read_facts import facts_read, newest_record_on
from garage.outcomes.report import report_make
from garage.outcomes.usage import Odometers
from garage.outcomes.wire import Wire, report_to_wire
from garage.records.models import Job, OdometerReading, Organisation, Vehicle
from tests.outcomes.histories import (
    EXHAUST,
    History,
    cleaned,
    done,
    facts,
    filter_kind,
    inspected,
    replaced,
    settle,
)
from tests.records.factories import EngineFamilyFactory, OrganisationFactory

pytestmark = pytest.mark.django_db

DAYS = ["2015-01-05", "2016-06-30", "2017-01-05", "2018-03-01", "2019-06-01", "2021-01-01"]


def tell() -> None:
    """Six vehicles with something of everything."""
    workshop = OrganisationFactory(code="alder")
    fleet = OrganisationFactory(code="fleet", sees_all_repairs=True)
    family = EngineFamilyFactory(name="Alder 16")
    said = {"engine_family": family, "first_used_on": "2012-01-01"}

    one = History(workshop, **said)
    one.service("2015-01-05", 45_000, ops=[inspected("factory")])
    one.job("2016-06-30", 70_000, ops=[replaced("failed"), done("clear_codes")])
    one.job("2016-08-30", 72_000, ops=[cleaned("failed")], repaired_elsewhere=[])
    one.service("2018-03-01", 100_000, ops=[inspected(found="same")])
    one.job("2019-06-01", 120_000, ops=[replaced("unknown")])

    two = History(workshop, **said)
    two.job("2015-03-05", 40_000, ops=[replaced("failed")])
    two.service("2017-01-05", 80_000, ops=[inspected(found="same")])
    two.service("2019-06-02", 120_000, ops=[inspected(found="another")])

    three = History(workshop, **said, ended_on="2018-02-01", ended_because="sold")
    three.service("2015-06-05", 50_000)
    three.job("2017-06-05", 90_000, ops=[done("regenerate_stationary")])

    four = History(workshop, engine_family=family)
    four.job("2016-01-05", 60_000, ops=[inspected()], complaint="no power")
    four.job("2016-02-05", 61_000, ops=[cleaned("failed")])
    four.reading("2017-02-05", 82_000)
    four.job("2018-02-05", 99_000, system="brakes", repaired_elsewhere=[EXHAUST])

    five = History(fleet, **said, watched_from_new=True)
    five.service("2015-02-05", 60_000)
    five.job("2018-02-05", 120_000, ops=[replaced("failed", last_sound_km=110_000)])

    # What it had from new is said only at its third job; before, it was merely in place.
    six = History(workshop, **said)
    six.service("2015-01-05", 50_000)
    six.service("2016-06-30", 72_000, ops=[inspected(found="same")])
    six.service("2018-03-01", 99_000, ops=[inspected("factory")])
    six.job("2019-06-01", 120_000, ops=[replaced("failed")])


def without_later_records(day: date) -> None:
    """Take away what was recorded after the day."""
    OdometerReading.objects.filter(read_on__gt=day).delete()
    Job.objects.filter(opened_on__gt=day).delete()
    Vehicle.objects.filter(ended_on__gt=day).update(ended_on=None, ended_because="")
    settle()


def lives_on(day: date) -> list[tuple[Any, ...]]:
    """The lives of that day, apart from the ids of their rows."""
    read = facts(as_of=day)
    found = [replace(each, fitment_id=0) for each in lives_follow(read, Odometers(read))]
    names = [each.name for each in fields(Life)]
    return sorted(
        (astuple(each) for each in found),
        key=lambda told: repr(dict(zip(names, told, strict=True))),
    )


def comebacks_on(day: date) -> list[tuple[Any, ...]]:
    read = facts(as_of=day)
    return [astuple(each) for each in index_jobs_follow(read, Odometers(read))]


def captures_on(day: date) -> list[Any]:
    read = facts(as_of=day)
    odometers = Odometers(read)
    return [
        capture_of_failures(read, lives_follow(read, odometers)),
        capture_of_comebacks(read, index_jobs_follow(read, odometers)),
    ]


@pytest.mark.parametrize("day", DAYS)
@pytest.mark.parametrize("read", [lives_on, comebacks_on, captures_on])
def test_an_earlier_day_equals_records_that_lack_the_later(
    day: str, read: Callable[[date], list[Any]]
) -> None:
    tell()
    as_of = date.fromisoformat(day)
    with_later = read(as_of)
    assert with_later or day == DAYS[0]
    with transaction.atomic():
        without_later_records(as_of)
        assert read(as_of) == with_later
        transaction.set_rollback(True)


def test_the_whole_report_of_an_earlier_day_equals_one_of_records_that_lack_the_later() -> None:
    tell()
    settle()
    with_later = wire_of(date(2018, 3, 1))
    without_later_records(date(2018, 3, 1))
    assert wire_of(date(2018, 3, 1)) == with_later
    assert wire_of(date(2018, 3, 2)) != with_later


def wire_of(day: date) -> Wire:
    return report_to_wire(
        report_make(
            organisations=list(Organisation.objects.all()), part_kind=filter_kind(), as_of=day
        )
    )


def test_a_doubt_is_hindsight_later_readings_say_which_of_two_was_wrong() -> None:
    # The one exception: what is known now of a reading is used for the earlier day too.
    van = History(watched_from_new=True)
    van.service("2015-01-05", 20_000)
    van.service("2016-01-05", 90_000)
    van.service("2017-01-05", 60_000)
    for year, km in ((2018, 80_000), (2019, 100_000)):
        van.service(f"{year}-01-05", km)
    day = date(2017, 1, 5)
    assert lives_told(day) == [60_000]
    without_later_records(day)
    # One of the last two is wrong: the part is followed to the last good reading.
    assert lives_told(day) == [20_000]


def lives_told(day: date) -> list[int]:
    read = facts(as_of=day)
    return [each.seen_km for each in lives_follow(read, Odometers(read))]


# --- the day itself ---


def test_the_newest_record_is_the_default_day() -> None:
    van = History()
    assert newest_record_on([van.vehicle.organisation_id]) is None
    van.service("2016-01-05", 50_000)
    assert newest_record_on([van.vehicle.organisation_id]) == date(2016, 1, 5)
    van.reading("2017-01-05", 60_000)
    assert newest_record_on([van.vehicle.organisation_id]) == date(2017, 1, 5)
    van.job("2016-12-05", 59_000, closed_on="2017-02-01")
    assert newest_record_on([van.vehicle.organisation_id]) == date(2017, 2, 1)


def test_another_organisations_records_set_no_day() -> None:
    mine, other = History(), History()
    mine.service("2016-01-05", 50_000)
    other.service("2018-01-05", 50_000)
    assert newest_record_on([mine.vehicle.organisation_id]) == date(2016, 1, 5)


def test_a_day_before_every_record_makes_an_empty_report() -> None:
    tell()
    settle()
    wire = wire_of(date(2011, 1, 1))
    assert (wire["account"]["closes"], wire["account"]["fitments"]) == (True, 0)
    assert (wire["part_life"], wire["comebacks"]) == ([], [])
    assert wire["early_failures"]["flags"] == []


# --- order of import, views, cost ---


def test_order_of_import_does_not_matter() -> None:
    def tell_two(*order: int) -> Wire:
        workshop = OrganisationFactory(code="workshop")
        family = EngineFamilyFactory(name="Alder 16")
        van = History(workshop, ref="van", engine_family=family, first_used_on="2012-01-01")
        steps: list[Callable[[], object]] = [
            lambda: van.service("2015-01-05", 45_000, ops=[inspected("factory")]),
            lambda: van.job("2016-06-30", 70_000, ops=[replaced("failed"), done("clear_codes")]),
            lambda: van.job("2016-08-30", 72_000, ops=[cleaned("failed")]),
            lambda: van.service("2018-03-01", 100_000, ops=[inspected(found="same")]),
            lambda: van.reading("2018-09-01", 110_000),
        ]
        for step in order:
            steps[step]()
            settle()
        return wire_of(date(2019, 1, 1))

    with transaction.atomic():
        forward = tell_two(0, 1, 2, 3, 4)
        transaction.set_rollback(True)
    assert forward["account"]["classes"]["used"] == 3
    for order in ((4, 3, 2, 1, 0), (2, 0, 4, 1, 3)):
        with transaction.atomic():
            assert _without_ids(tell_two(*order)) == _without_ids(forward)
            transaction.set_rollback(True)


def _rounded(value: Any) -> Any:
    """Figures to nine digits: sums in another order differ in the sixteenth."""
    if isinstance(value, dict):
        return {key: _rounded(each) for key, each in value.items()}
    if isinstance(value, list):
        return [_rounded(each) for each in value]
    return float(f"{value:.9g}") if isinstance(value, float) else value


def _without_ids(wire: Wire) -> Wire:
    flags = [
        {**flag, "vehicle": 0, "early": [{**each, "fitment": 0} for each in flag["early"]]}
        for flag in wire["early_failures"]["flags"]
    ]
    return _rounded({**wire, "early_failures": {**wire["early_failures"], "flags": flags}})


def test_a_view_tells_of_its_own_vehicles_alone() -> None:
    tell()
    settle()
    fleet = Organisation.objects.get(code="fleet")
    wire = report_to_wire(
        report_make(organisations=[fleet], part_kind=filter_kind(), as_of=date(2021, 1, 1))
    )
    assert (wire["vehicles"], wire["organisations"]) == (1, ["fleet"])
    assert wire["account"]["fitments"] == 2
    assert [each["organisation"] for each in wire["capture"]] == ["fleet"]


def test_the_same_records_give_the_same_figures_to_the_last_digit() -> None:
    tell()
    settle()
    assert wire_of(date(2020, 1, 1)) == wire_of(date(2020, 1, 1))


def test_reading_the_facts_takes_the_same_queries_for_few_vehicles_and_many() -> None:
    def queries() -> int:
        settle()
        with CaptureQueriesContext(connection) as captured:
            facts_read(
                vehicles_in_view=Vehicle.objects.all(),
                part_kind=filter_kind(),
                as_of=date(2021, 1, 1),
            )
        return len(captured)

    def one() -> None:
        van = History(watched_from_new=True)
        van.job("2016-01-05", 60_000, ops=[replaced("failed"), inspected(found="same")])

    for _ in range(3):
        one()
    few = queries()
    for _ in range(27):
        one()
    assert queries() == few


def test_progress_is_told_from_the_first_step_to_the_last() -> None:
    tell()
    settle()
    told: list[tuple[str, int, int]] = []
    report_make(
        organisations=list(Organisation.objects.all()),
        part_kind=filter_kind(),
        as_of=date(2021, 1, 1),
        progress=lambda *step: told.append(step),
    )
    assert told[0] == ("reading the records", 0, 1)
    assert told[-1] == ("done", 1, 1)
    assert all(0 <= done_ <= of for _, done_, of in told)
