"""What the records say of ash and soot in a vehicle's filter."""

from datetime import date, timedelta

import pytest

from garage.evidence.jobs.deposits import deposits_known
from garage.evidence.resistance.soot import Duty
from garage.records.models import Job
from tests.records.evidence_factories import ReadingFactory
from tests.records.factories import FitmentFactory, JobFactory, OdometerReadingFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def job() -> Job:
    return JobFactory()


def test_nothing_on_record_is_not_known(job: Job) -> None:
    found = deposits_known(job=job)
    assert (found.volume_l, found.oil_l_per_1000_km, found.burn_interval_km) == (None, None, None)
    assert found.on_filter_km is None
    assert found.on_filter_words == "no filter in place is on record"


def test_newest_of_earlier_jobs_holds_but_not_a_later_one(job: Job) -> None:
    for days, litres in ((-400, "2.5"), (-30, "3"), (30, "4")):
        other = JobFactory(
            organisation=job.organisation,
            vehicle=job.vehicle,
            opened_on=job.opened_on + timedelta(days=days),
            closed_on=None,
        )
        ReadingFactory(job=other, quantity="filter_volume", unit="L", value=litres, condition="")
    assert deposits_known(job=job).volume_l == 3.0


def test_oil_is_told_in_litres_a_thousand_kilometres(job: Job) -> None:
    ReadingFactory(
        job=job, quantity="oil_consumption", unit="mL/1000 km", value="250", condition=""
    )
    assert deposits_known(job=job).oil_l_per_1000_km == pytest.approx(0.25)


@pytest.mark.parametrize(
    ("duty", "told"),
    [("town", Duty.COLD_URBAN), ("motorway", Duty.STEADY_MOTORWAY), ("haulage", None), ("", None)],
)
def test_duty_of_the_vehicle_is_that_of_its_soot(job: Job, duty: str, told: Duty | None) -> None:
    job.vehicle.duty = duty
    assert deposits_known(job=job).duty is told


def test_distance_between_burns_is_that_of_the_job(job: Job) -> None:
    other = JobFactory(
        organisation=job.organisation, vehicle=job.vehicle, opened_on=date(2000, 1, 1)
    )
    ReadingFactory(job=other, quantity="burn_interval", unit="km", value="300", condition="")
    assert deposits_known(job=job).burn_interval_km is None
    ReadingFactory(job=job, quantity="burn_interval", unit="km", value="150", condition="")
    assert deposits_known(job=job).burn_interval_km == 150.0


@pytest.mark.parametrize(
    ("fitted_km", "here_km", "doubt", "km", "words"),
    [
        (100_000, 130_000, "", 30_000, "by the odometer"),
        (None, 130_000, "", None, "when the filter was fitted is not known"),
        (100_000, None, "", None, "no odometer reading of this job stands"),
        (100_000, 130_000, "backwards", None, "no odometer reading of this job stands"),
        (140_000, 130_000, "", None, "fitted after this job"),
    ],
)
def test_distance_on_the_filter_or_why_it_is_not_known(
    job: Job, fitted_km: int | None, here_km: int | None, doubt: str, km: int | None, words: str
) -> None:
    FitmentFactory(vehicle=job.vehicle, fitted_km=fitted_km, fitted_at=job, start="fitted_here")
    if here_km is not None:
        OdometerReadingFactory(
            vehicle=job.vehicle, job=job, typed=here_km, doubt=doubt, doubt_reason=doubt
        )
    found = deposits_known(job=job)
    assert found.on_filter_km == km
    assert words in found.on_filter_words


def test_two_filters_in_place_are_not_taken_for_one(job: Job) -> None:
    for position in ("", "rear"):
        FitmentFactory(vehicle=job.vehicle, position=position, fitted_at=job)
    assert "several filters" in deposits_known(job=job).on_filter_words
