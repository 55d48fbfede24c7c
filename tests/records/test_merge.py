"""Two records become one and are parted again without loss."""

from datetime import UTC, date, datetime
from decimal import Decimal

import pytest
from django.core import serializers

from garage.records.errors import RuleBroken
from garage.records.models import (
    AuditEntry,
    Baseline,
    Call,
    CallList,
    ClusterReplacement,
    ComebackReview,
    Fitment,
    Job,
    Keeper,
    Merge,
    OdometerReading,
    Operation,
    PartKind,
    Reading,
    ReadingResolution,
    Recheck,
    RegistrationMark,
    Vehicle,
    Warranty,
)
from garage.records.services.merge import jobs_merge, merge_undo, vehicles_merge
from garage.records.services.merge_rows import DERIVED, HANGING
from garage.records.services.settle import vehicles_settle
from tests.records.factories import (
    JobFactory,
    OdometerReadingFactory,
    OperationFactory,
    RegistrationMarkFactory,
    VehicleFactory,
)
from tests.records.stories import job_of

pytestmark = pytest.mark.django_db

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
EVERYTHING = (
    Vehicle,
    RegistrationMark,
    Job,
    Operation,
    OdometerReading,
    ReadingResolution,
    ClusterReplacement,
    Keeper,
    Call,
    Warranty,
    Reading,
    Baseline,
    Recheck,
    ComebackReview,
)


def everything() -> list[str]:
    """Every row of the facts, as text."""
    return [
        serializers.serialize("json", model.objects.order_by("pk"))  # type: ignore[attr-defined]
        for model in EVERYTHING
    ]


def fitments() -> list[tuple]:
    return list(
        Fitment.objects.order_by("vehicle_id", "fitted_on", "removed_on").values_list(
            "vehicle_id", "part_kind_id", "fitted_on", "fitted_km", "removed_on", "removed_km"
        )
    )


@pytest.fixture
def pair() -> tuple[Vehicle, Vehicle]:
    """One vehicle written twice, each record with half of its past and with what clashes."""
    kept = VehicleFactory(vin="0ABTEST0000012345", duty="")
    gone = VehicleFactory(organisation=kept.organisation, vin="", duty="taxi", engine_family=None)
    job_of(kept, date(2020, 5, 6), 100_000)
    job_of(gone, date(2022, 5, 6), 150_000)
    for vehicle in (kept, gone):
        RegistrationMarkFactory(vehicle=vehicle, mark="QX 1")
        Keeper.objects.create(vehicle=vehicle, name=f"Keeper of {vehicle.ref}")
        OdometerReadingFactory(
            vehicle=vehicle, read_on=date(2021, 1, 1), typed=120_000, km=120_000, source="keeper"
        )
        ClusterReplacement.objects.create(
            vehicle=vehicle, done_on=date(2023, 1, 1), typed_offset=10, unit="km", offset_km=10
        )
    RegistrationMarkFactory(vehicle=gone, mark="QX 2", until_on=date(2021, 1, 1))
    doubted = gone.readings.get(job__isnull=True)
    ReadingResolution.objects.create(reading=doubted, resolved_as="stands", reason="seen", at=AT)
    call_list = CallList.objects.create(
        organisation=kept.organisation,
        drawn_on=date(2026, 1, 1),
        silent_since_days=365,
        part_kind=PartKind.objects.get(code="particulate_filter"),
        population=2,
        seed=1,
    )
    for order, vehicle in enumerate((kept, gone), start=1):
        Call.objects.create(call_list=call_list, vehicle=vehicle, order=order)
    vehicles_settle(vehicle_ids=[kept.pk, gone.pk])
    return kept, gone


def test_every_record_that_hangs_on_a_merged_one_is_classified() -> None:
    for model in (Vehicle, Job):
        known = {(each.model, each.link) for each in HANGING[model]} | set(DERIVED[model])
        hanging = {
            (relation.related_model, relation.field.name)
            for relation in model._meta.related_objects
        }
        assert hanging == known


def test_vehicles_merged_have_one_past(pair: tuple[Vehicle, Vehicle]) -> None:
    kept, gone = pair
    vehicles_merge(kept=kept, gone=gone, reason="one plate", at=AT)
    assert not Vehicle.objects.filter(pk=gone.pk).exists()
    assert kept.jobs.count() == 2
    kept.refresh_from_db()
    assert (kept.vin, kept.duty) == ("0ABTEST0000012345", "taxi")
    # The filter fitted at the first job is the one that failed at the second.
    lives = [(row[3], row[5]) for row in fitments()]
    assert (100_000, 150_000) in lives
    assert kept.marks.filter(until_on__isnull=True).count() == 1
    assert set(kept.marks.values_list("mark", flat=True)) == {"QX 1", "QX 2"}
    assert kept.keepers.filter(until_on__isnull=True).count() == 1
    assert kept.keepers.count() == 2
    assert AuditEntry.objects.filter(verb="merge").count() == 1


def test_vehicles_parted_again_are_as_they_were(pair: tuple[Vehicle, Vehicle]) -> None:
    kept, gone = pair
    before, lives = everything(), fitments()
    merge = vehicles_merge(kept=kept, gone=gone, reason="one plate", at=AT)
    assert everything() != before
    merge_undo(merge=merge, at=AT)
    assert everything() == before
    assert fitments() == lives
    with pytest.raises(RuleBroken, match="undone once"):
        merge_undo(merge=merge, at=AT)


def test_vehicles_parted_leave_what_came_since_with_the_one_kept(
    pair: tuple[Vehicle, Vehicle],
) -> None:
    kept, gone = pair
    merge = vehicles_merge(kept=kept, gone=gone, reason="one plate", at=AT)
    since = job_of(kept, date(2025, 5, 6), 200_000)
    Vehicle.objects.filter(pk=kept.pk).update(duty="haulage")
    merge_undo(merge=merge, at=AT)
    since.refresh_from_db()
    kept.refresh_from_db()
    assert since.vehicle_id == kept.pk
    assert kept.duty == "haulage"
    assert Vehicle.objects.get(pk=gone.pk).jobs.count() == 1


def test_merge_chain_is_undone_from_its_end(pair: tuple[Vehicle, Vehicle]) -> None:
    kept, gone = pair
    last = VehicleFactory(organisation=kept.organisation)
    first = vehicles_merge(kept=kept, gone=gone, reason="a", at=AT)
    second = vehicles_merge(kept=last, gone=kept, reason="both plates seen", at=AT)
    with pytest.raises(RuleBroken, match="must still be there"):
        merge_undo(merge=first, at=AT)
    merge_undo(merge=second, at=AT)
    merge_undo(merge=first, at=AT)
    assert Vehicle.objects.get(pk=gone.pk).jobs.count() == 1


def test_vehicles_of_two_organisations_are_not_merged() -> None:
    with pytest.raises(RuleBroken, match="one organisation"):
        vehicles_merge(kept=VehicleFactory(), gone=VehicleFactory(), reason="x", at=AT)


def test_vehicles_of_two_vins_are_merged_only_for_a_reason() -> None:
    kept = VehicleFactory(vin="0ABTEST0000012345")
    gone = VehicleFactory(organisation=kept.organisation, vin="0ABTEST0000012346")
    with pytest.raises(RuleBroken) as refused:
        vehicles_merge(kept=kept, gone=gone, reason=" ", at=AT)
    assert refused.value.column == "reason"
    vehicles_merge(kept=kept, gone=gone, reason="the plate says 5", at=AT)


def test_vehicle_is_not_merged_with_itself() -> None:
    vehicle = VehicleFactory()
    with pytest.raises(RuleBroken, match="with another"):
        vehicles_merge(kept=vehicle, gone=vehicle, reason="x", at=AT)


@pytest.fixture
def jobs() -> tuple[Job, Job]:
    """One visit written twice: an operation in common, one of its own, readings, a recheck."""
    vehicle = VehicleFactory()
    kept = job_of(vehicle, date(2024, 5, 6), 120_000)
    gone = job_of(vehicle, date(2024, 5, 6), 120_000)
    gone.cause, gone.complaint = "injection", "lamp on"
    gone.save()
    Job.objects.filter(pk=kept.pk).update(complaint="")
    kept.refresh_from_db()
    OperationFactory(job=gone, line=2, kind="clear_codes", labour_cost=Decimal(20), currency="EUR")
    common = gone.operations.get(line=1)
    Warranty.objects.create(operation=common, months=12, given_by="supplier")
    earlier = job_of(vehicle, date(2024, 1, 6), 110_000, kind="clean_off_vehicle")
    for job in (kept, gone):
        Recheck.objects.create(job=job, due_on=date(2024, 5, 13))
        ComebackReview.objects.create(job=job, index_job=earlier, at=AT)
    ComebackReview.objects.create(job=gone, index_job=kept, at=AT)
    taken = Reading.objects.create(job=gone, quantity="soot_mass", value=4, phase="after_work")
    Baseline.objects.create(reading=taken, because="new_part", kept_at=AT)
    vehicles_settle(vehicle_ids=[vehicle.pk])
    return kept, gone


def test_jobs_merged_are_one_visit(jobs: tuple[Job, Job]) -> None:
    kept, gone = jobs
    jobs_merge(kept=kept, gone=gone, reason="entered twice", at=AT)
    kept.refresh_from_db()
    assert (kept.cause, kept.complaint) == ("injection", "lamp on")
    assert list(kept.operations.values_list("line", "kind")) == [(1, "replace"), (2, "clear_codes")]
    assert kept.technical_readings.count() == 1
    assert Recheck.objects.filter(job=kept).count() == 1
    assert kept.comeback_reviews.count() == 1
    assert Job.objects.filter(vehicle=kept.vehicle).count() == 2


def test_jobs_parted_again_are_as_they_were(jobs: tuple[Job, Job]) -> None:
    kept, gone = jobs
    before, lives = everything(), fitments()
    merge = jobs_merge(kept=kept, gone=gone, reason="entered twice", at=AT)
    merge_undo(merge=merge, at=AT)
    assert everything() == before
    assert fitments() == lives


def test_jobs_of_two_vehicles_are_not_merged() -> None:
    with pytest.raises(RuleBroken, match="one vehicle"):
        jobs_merge(kept=JobFactory(), gone=JobFactory(), reason="x", at=AT)


def test_merge_keeps_the_reference_that_went(jobs: tuple[Job, Job]) -> None:
    kept, gone = jobs
    merge = jobs_merge(kept=kept, gone=gone, reason="entered twice", at=AT)
    assert Merge.objects.get(pk=merge.pk).gone_ref == gone.ref
