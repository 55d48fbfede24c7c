"""A job's codes: words, status, what comes first, and the same groups at earlier visits."""

from datetime import date
from typing import Any

import pytest

from garage.evidence.findings.measured import CODE_GROUPS
from garage.evidence.jobs.codes import JobCodes, job_codes
from garage.evidence.jobs.visits_before import visits_before
from garage.records.models import Job, Vehicle
from tests.records.evidence_factories import (
    FindingSeenFactory,
    OwnCodeWordingFactory,
    TroubleCodeReadFactory,
)
from tests.records.factories import (
    EngineFamilyFactory,
    JobFactory,
    OdometerReadingFactory,
    OrganisationFactory,
    VehicleFactory,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def vehicle() -> Vehicle:
    return VehicleFactory(engine_family=EngineFamilyFactory(name="Alder 16"))


def visit(vehicle: Vehicle, on: date, km: int | None = None, **more: Any) -> Job:
    job = JobFactory(vehicle=vehicle, opened_on=on, **{"trouble_codes": "", **more})
    if km is not None:
        OdometerReadingFactory(vehicle=vehicle, job=job, read_on=on, typed=km)
    return Job.objects.select_related("organisation", "vehicle").get(pk=job.pk)


@pytest.fixture
def job(vehicle: Vehicle) -> Job:
    return visit(vehicle, date(2024, 5, 6), 141_200)


def codes_of(job: Job) -> JobCodes:
    return job_codes(job=job, before=visits_before(job=job, organisation_ids=[job.organisation_id]))


def test_codes_stand_by_phase_with_words_and_what_comes_first(job: Job) -> None:
    TroubleCodeReadFactory(job=job, code="P0401", phase="recheck")
    TroubleCodeReadFactory(job=job, code="P2463")
    TroubleCodeReadFactory(job=job, code="P2453", failure_type=0x92)
    arrival, recheck = codes_of(job).phases
    assert [each.told.printed for each in arrival.codes] == ["P2463", "P2453-92"]
    assert arrival.codes[1].told.failure_words == "performance or wrong operation"
    assert (arrival.order.first, arrival.order.consequence) == (("sensor",), ("loading",))
    assert (recheck.order.first, recheck.order.consequence) == (("recirculation",), ())


def test_heavy_vehicles_code_is_told(job: Job) -> None:
    TroubleCodeReadFactory(job=job, scheme="spn_fmi", code="3251/0")
    (code,) = codes_of(job).codes
    assert (code.told.group, code.told.failure_words) == ("loading", "above normal, most severe")


@pytest.mark.parametrize(
    ("status_byte", "first"), [(None, ("sensor",)), (0x2F, ("sensor",)), (0x50, ()), (0x00, ())]
)
def test_code_whose_status_speaks_against_it_comes_not_first(
    job: Job, status_byte: int | None, first: tuple[str, ...]
) -> None:
    TroubleCodeReadFactory(job=job, code="P2453", status_byte=status_byte)
    (arrival,) = codes_of(job).phases
    assert arrival.order.first == first


def test_own_words_of_the_vehicles_family_hold(job: Job, vehicle: Vehicle) -> None:
    OwnCodeWordingFactory(
        organisation=job.organisation,
        engine_family=vehicle.engine_family,
        code="P1999",
        words="own words",
        group="air",
    )
    TroubleCodeReadFactory(job=job, code="P1999")
    (code,) = codes_of(job).codes
    assert (code.told.words, code.told.group) == ("own words", "air")


def test_memory_found_empty_is_told_only_where_every_group_is(job: Job) -> None:
    for group in CODE_GROUPS[1:]:
        FindingSeenFactory(job=job, phase="recheck", finding=f"codes_{group}", state="absent")
    assert codes_of(job).phases == ()
    FindingSeenFactory(job=job, phase="recheck", finding=f"codes_{CODE_GROUPS[0]}", state="absent")
    (recheck,) = codes_of(job).phases
    assert (recheck.phase, recheck.none_stored, recheck.codes) == ("recheck", True, ())


def test_codes_of_the_jobs_own_line_are_told_until_they_are_kept(job: Job) -> None:
    job.trouble_codes = "P2463, P0401, lamp"
    TroubleCodeReadFactory(job=job, code="P2463")
    told = codes_of(job)
    assert [each.code for each in told.on_line] == ["P0401"]
    assert [each.written for each in told.line_unread] == ["lamp"]


def test_earlier_visits_with_codes_of_the_same_group_are_told(job: Job, vehicle: Vehicle) -> None:
    near = visit(vehicle, date(2024, 3, 6), 137_000, trouble_codes="P2463-11 P0401")
    far = visit(vehicle, date(2023, 3, 6))
    TroubleCodeReadFactory(job=far, code="P242F")
    visit(vehicle, date(2023, 9, 6), 120_000, trouble_codes="P0299")
    TroubleCodeReadFactory(job=job, code="P244B")
    told = codes_of(job).same_group
    assert [each.job.pk for each in told] == [near.pk, far.pk]
    assert [each.codes for each in told] == [("P2463",), ("P242F",)]
    assert [(each.days_ago, each.km_ago) for each in told] == [(61, 4_200), (427, None)]
    assert told[0].group_title == "loading of the filter"


def test_distance_is_not_known_where_an_odometer_stands_in_doubt(
    job: Job, vehicle: Vehicle
) -> None:
    earlier = visit(vehicle, date(2024, 3, 6), 137_000, trouble_codes="P2463")
    TroubleCodeReadFactory(job=job, code="P2463")
    assert codes_of(job).same_group[0].km_ago == 4_200
    earlier.reading.doubt = "backwards"
    earlier.reading.doubt_reason = "set back"
    earlier.reading.save()
    assert codes_of(job).same_group[0].km_ago is None


def test_later_jobs_other_vehicles_and_other_organisations_are_not_looked_at(
    job: Job, vehicle: Vehicle
) -> None:
    TroubleCodeReadFactory(job=job, code="P2463")
    visit(vehicle, date(2024, 6, 6), trouble_codes="P2463")
    visit(VehicleFactory(), date(2024, 3, 6), trouble_codes="P2463")
    visit(vehicle, date(2024, 3, 6), trouble_codes="P2463", organisation=OrganisationFactory())
    assert codes_of(job).same_group == ()


def test_of_two_jobs_of_one_day_the_first_is_before(vehicle: Vehicle) -> None:
    first, second = (visit(vehicle, date(2024, 5, 6)) for _ in range(2))
    ids = [first.organisation_id]
    assert visits_before(job=second, organisation_ids=ids) == [first]
    assert visits_before(job=first, organisation_ids=ids) == []
