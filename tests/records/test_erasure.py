"""Personal data goes, and lives stay countable."""

import io
from datetime import UTC, date, datetime
from decimal import Decimal

import pytest
from django.core import serializers
from django.core.management import call_command

from garage.records.documents import Upload, document_storage
from garage.records.errors import RuleBroken
from garage.records.merged import merged_into
from garage.records.models import (
    AdviceGiven,
    AuditEntry,
    Document,
    Erasure,
    Fitment,
    Job,
    Keeper,
    Merge,
    OdometerReading,
    Operation,
    Vehicle,
)
from garage.records.services.documents import document_add
from garage.records.services.erasure import EraseRequest, personal_due, personal_erase
from garage.records.services.merge import merge_undo, vehicles_merge
from tests.records.factories import (
    OdometerReadingFactory,
    RegistrationMarkFactory,
    VehicleFactory,
)
from tests.records.stories import job_of

pytestmark = pytest.mark.django_db

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
SECRETS = ("SECRET", "QX 7", "0ABTEST0000012345")
JPEG = b"\xff\xd8\xff\xe0\x00\x10JFIF\x00" + b"\x00" * 100


@pytest.fixture
def vehicle() -> Vehicle:
    """A vehicle with something personal everywhere it may stand, and two filter jobs."""
    made = VehicleFactory(ref="SECRET ref", vin="0ABTEST0000012345")
    twin = VehicleFactory(organisation=made.organisation, ref="SECRET twin", engine_family=None)
    RegistrationMarkFactory(vehicle=made, mark="QX 7")
    Keeper.objects.create(vehicle=made, name="SECRET name", phone="SECRET", email="s@secret.test")
    for year, km in ((2020, 100_000), (2022, 150_000)):
        job = job_of(made, date(year, 5, 6), km)
        job.ref, job.complaint, job.findings = f"SECRET {year}", "SECRET", "SECRET"
        job.cause, job.cause_note = "injection", "SECRET"
        job.save()
        job.operations.update(note="SECRET", labour_cost=Decimal(90), currency="EUR")
        AdviceGiven.objects.create(
            job=job,
            line=1,
            text="SECRET",
            answer="declined",
            answered_at=AT,
            answered_by="SECRET",
        )
        upload = Upload("SECRET", "photo", io.BytesIO(JPEG), len(JPEG))
        document_add(belongs_to=job, upload=upload, at=AT)
    vehicles_merge(kept=made, gone=twin, reason="SECRET", at=AT)
    return made


def erase(vehicle: Vehicle, **changed) -> Erasure:
    said = {
        "organisation": vehicle.organisation,
        "vehicle_ids": [vehicle.pk],
        "because": "request",
    }
    return personal_erase(request=EraseRequest(**said | changed), at=AT)


def everything_said() -> str:
    """Every row of the records and of the trail, as text."""
    from django.apps import apps

    return "".join(
        serializers.serialize("json", model.objects.all())  # type: ignore[attr-defined]
        for model in apps.get_app_config("records").get_models()
        if model.__name__ not in ("Organisation", "EngineFamily", "PartKind")
    )


def test_nothing_personal_is_left_anywhere(
    vehicle: Vehicle, django_capture_on_commit_callbacks
) -> None:
    assert all(secret in everything_said() for secret in SECRETS)
    stored = list(Document.objects.values_list("stored_as", flat=True))
    with django_capture_on_commit_callbacks(execute=True):
        erase(vehicle)
    left = everything_said()
    assert [secret for secret in SECRETS if secret in left] == []
    assert not any(document_storage().exists(name) for name in stored)


def merged(kept: Vehicle, gone: Vehicle) -> Merge:
    return vehicles_merge(kept=kept, gone=gone, reason="SECRET", at=AT)


def test_merges_of_a_chain_go_and_their_references_mean_nothing_any_more(
    vehicle: Vehicle,
) -> None:
    last = VehicleFactory(organisation=vehicle.organisation, ref="SECRET last")
    merged(last, vehicle)
    erase(last)
    assert not Merge.objects.exists()
    asked = {"organisation": last.organisation, "thing": "vehicle", "refs": ["SECRET twin"]}
    assert merged_into(**asked) == {}


def test_merge_that_was_undone_goes_with_the_vehicle_it_once_took(vehicle: Vehicle) -> None:
    other = VehicleFactory(organisation=vehicle.organisation, ref="other")
    third = VehicleFactory(organisation=vehicle.organisation, ref="SECRET third")
    merge_undo(merge=merged(other, third), at=AT)
    erase(vehicle, vehicle_ids=[third.pk])
    assert not Merge.objects.filter(gone_id=third.pk).exists()
    # Merges of other vehicles stay.
    assert Merge.objects.filter(kept_id=vehicle.pk).exists()


def test_lives_stay_as_they_were(vehicle: Vehicle) -> None:
    def facts() -> tuple:
        return (
            list(Fitment.objects.order_by("pk").values()),
            list(OdometerReading.objects.order_by("pk").values()),
            list(Operation.objects.order_by("pk").values("kind", "labour_cost", "currency")),
            list(Job.objects.order_by("pk").values("opened_on", "closed_on", "cause", "planned")),
        )

    before = facts()
    erase(vehicle)
    assert facts() == before


def test_report_counts_what_went(vehicle: Vehicle) -> None:
    erasure = erase(vehicle)
    assert erasure.erased["keepers"] == 1
    assert erasure.erased["documents"] == 2
    assert erasure.erased["job references"] == 2
    assert erasure.erased["merges"] == 1
    assert AuditEntry.objects.filter(verb="erase").count() == 1
    vehicle.refresh_from_db()
    assert (vehicle.vin, vehicle.erased_on) == ("", AT.date())


def test_vehicle_erased_before_or_of_another_is_not_erased(vehicle: Vehicle) -> None:
    other = VehicleFactory(vin="0ABTEST0000099999")
    with pytest.raises(RuleBroken, match="not erased before"):
        erase(vehicle, vehicle_ids=[other.pk])
    erase(vehicle)
    with pytest.raises(RuleBroken, match="not erased before"):
        erase(vehicle)
    other.refresh_from_db()
    assert other.vin


def test_erasure_has_its_reason(vehicle: Vehicle) -> None:
    with pytest.raises(RuleBroken) as refused:
        erase(vehicle, because="whim")
    assert refused.value.column == "because"


def test_data_is_due_so_many_months_after_the_last_job(vehicle: Vehicle) -> None:
    organisation = vehicle.organisation
    assert personal_due(organisation=organisation, as_of=date(2040, 1, 1)) == []
    organisation.keep_personal_months = 24
    assert personal_due(organisation=organisation, as_of=date(2024, 5, 5)) == []
    assert personal_due(organisation=organisation, as_of=date(2024, 5, 6)) == [vehicle.pk]


def test_vehicle_with_readings_alone_is_due_after_the_last_of_them(vehicle: Vehicle) -> None:
    organisation = vehicle.organisation
    organisation.keep_personal_months = 24
    silent = VehicleFactory(organisation=organisation)
    for day in (date(2019, 3, 1), date(2021, 3, 1)):
        OdometerReadingFactory(vehicle=silent, read_on=day, typed=day.year, km=day.year)
    assert personal_due(organisation=organisation, as_of=date(2023, 2, 28)) == []
    assert personal_due(organisation=organisation, as_of=date(2023, 3, 1)) == [silent.pk]
    assert personal_due(organisation=organisation, as_of=date(2024, 5, 6)) == [
        vehicle.pk,
        silent.pk,
    ]


def test_reading_after_the_last_job_keeps_a_vehicle(vehicle: Vehicle) -> None:
    organisation = vehicle.organisation
    organisation.keep_personal_months = 24
    OdometerReadingFactory(vehicle=vehicle, read_on=date(2023, 1, 1), typed=160_000, km=160_000)
    assert personal_due(organisation=organisation, as_of=date(2024, 12, 31)) == []
    assert personal_due(organisation=organisation, as_of=date(2025, 1, 1)) == [vehicle.pk]


def test_command_erases_what_is_due_and_says_so_first(vehicle: Vehicle, capsys) -> None:
    organisation = vehicle.organisation
    organisation.keep_personal_months = 1
    organisation.save()
    call_command("erase_personal", "--dry-run")
    assert "1 vehicles are due" in capsys.readouterr().out
    assert Keeper.objects.exists()
    call_command("erase_personal")
    assert "1 keepers" in capsys.readouterr().out
    assert not Keeper.objects.exists()
    call_command("erase_personal")
    assert "nothing is due" in capsys.readouterr().out
