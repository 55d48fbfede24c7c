"""What the database refuses of fitments."""

from datetime import date

import pytest
from django.db import IntegrityError, transaction

from garage.records.choices import FitmentStart, RemovedBecause
from garage.records.models import Job
from tests.records.constraints import refused_by
from tests.records.factories import (
    FitmentFactory,
    JobFactory,
    PartKindFactory,
    VehicleFactory,
)

pytestmark = pytest.mark.django_db

DAY = date(2024, 5, 6)
DAY_BEFORE = date(2024, 5, 5)


@pytest.fixture
def job() -> Job:
    return JobFactory()


def test_fitment_one_open_per_position(job: Job) -> None:
    same = {
        "vehicle": job.vehicle,
        "part_kind": PartKindFactory(),
        "position": "bank 1",
        "removed_at": None,
    }
    FitmentFactory(**same)
    FitmentFactory(**same | {"vehicle": VehicleFactory()})
    FitmentFactory(**same | {"part_kind": PartKindFactory()})
    FitmentFactory(**same | {"position": "bank 2"})
    FitmentFactory(**same | {"position": ""})
    FitmentFactory(**same | {"removed_at": job})
    FitmentFactory(**same | {"removed_at": job})
    with refused_by("fitment_one_open_per_position"):
        FitmentFactory(**same)


def test_fitment_one_open_where_the_part_has_no_position(job: Job) -> None:
    same = {"vehicle": job.vehicle, "part_kind": PartKindFactory(), "position": ""}
    FitmentFactory(**same, removed_at=job)
    FitmentFactory(**same)
    with refused_by("fitment_one_open_per_position"):
        FitmentFactory(**same)


@pytest.mark.parametrize(
    ("fitted_on", "removed_on"), [(DAY, DAY), (None, DAY_BEFORE), (DAY, None), (None, None)]
)
def test_fitment_removed_not_before_fitted(
    job: Job, fitted_on: date | None, removed_on: date | None
) -> None:
    FitmentFactory(removed_at=job, fitted_on=fitted_on, removed_on=removed_on)
    with refused_by("fitment_removed_not_before_fitted"):
        FitmentFactory(removed_at=job, fitted_on=DAY, removed_on=DAY_BEFORE)


@pytest.mark.parametrize(
    ("fitted_km", "removed_km"), [(0, 0), (90_000, 90_000), (None, 0), (90_000, None)]
)
def test_fitment_life_km_not_negative(
    job: Job, fitted_km: int | None, removed_km: int | None
) -> None:
    here = {"start": FitmentStart.FITTED_HERE, "fitted_at": job, "removed_at": job}
    FitmentFactory(**here, fitted_km=fitted_km, removed_km=removed_km)
    with refused_by("fitment_life_km_not_negative"):
        FitmentFactory(**here, fitted_km=90_000, removed_km=89_999)


@pytest.mark.parametrize("name", ["fitted_km", "removed_km", "last_sound_km"])
def test_fitment_km_are_not_negative(job: Job, name: str) -> None:
    here = {"start": FitmentStart.FITTED_HERE, "fitted_at": job, "removed_at": job}
    FitmentFactory(**here, **{name: 0})
    with pytest.raises(IntegrityError, match=name), transaction.atomic():
        FitmentFactory(**here, **{name: -1})


@pytest.mark.parametrize(
    "fault",
    [{"removed_on": DAY}, {"removed_km": 90_000}, {"removed_because": RemovedBecause.FAILED}],
)
def test_fitment_open_has_no_removal(job: Job, fault: dict[str, object]) -> None:
    FitmentFactory(removed_at=job, **fault)
    FitmentFactory(removed_at=None)
    with refused_by("fitment_open_has_no_removal"):
        FitmentFactory(removed_at=None, **fault)


@pytest.mark.parametrize("start", [FitmentStart.FITTED_HERE, FitmentStart.FACTORY])
def test_fitment_unknown_start_has_no_km(job: Job, start: str) -> None:
    FitmentFactory(start=start, fitted_at=job, fitted_km=0)
    FitmentFactory(start=FitmentStart.UNKNOWN, fitted_at=job, fitted_km=None)
    with refused_by("fitment_unknown_start_has_no_km"):
        FitmentFactory(start=FitmentStart.UNKNOWN, fitted_at=job, fitted_km=0)


def test_fitment_fitted_here_names_its_job(job: Job) -> None:
    FitmentFactory(start=FitmentStart.FITTED_HERE, fitted_at=job)
    FitmentFactory(start=FitmentStart.FACTORY, fitted_at=None)
    with refused_by("fitment_fitted_here_names_its_job"):
        FitmentFactory(start=FitmentStart.FITTED_HERE, fitted_at=None)


@pytest.mark.parametrize(
    ("last_sound_km", "removed_km"), [(90_000, 90_000), (None, 90_000), (90_001, None)]
)
def test_fitment_last_sound_not_after_removal(
    job: Job, last_sound_km: int | None, removed_km: int | None
) -> None:
    FitmentFactory(removed_at=job, last_sound_km=last_sound_km, removed_km=removed_km)
    with refused_by("fitment_last_sound_not_after_removal"):
        FitmentFactory(removed_at=job, last_sound_km=90_001, removed_km=90_000)


def test_a_part_is_cleaned_into_one_next_life(job: Job) -> None:
    dirty, other = FitmentFactory.create_batch(2, removed_at=job)
    FitmentFactory(cleaned_from=dirty)
    FitmentFactory(cleaned_from=other)
    with pytest.raises(IntegrityError, match="cleaned_from"), transaction.atomic():
        FitmentFactory(cleaned_from=other)
