"""Operations of a job written by hand: by the rules of the import."""

from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal

import pytest

from garage.records.errors import RuleBroken
from garage.records.models import AuditEntry, Fitment, Job, Operation, PartKind, Warranty
from garage.records.services.operations import (
    OperationFacts,
    operation_add,
    operation_change,
    operation_remove,
)
from tests.records.factories import JobFactory, OdometerReadingFactory

pytestmark = pytest.mark.django_db

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)


@pytest.fixture
def job() -> Job:
    job = JobFactory(opened_on=date(2026, 3, 2))
    OdometerReadingFactory(
        vehicle=job.vehicle, job=job, read_on=job.opened_on, typed=Decimal(90_000), km=90_000
    )
    return job


@pytest.fixture
def replaced() -> OperationFacts:
    part_kind = PartKind.objects.get(code="particulate_filter")
    return OperationFacts("replace", part_kind=part_kind, removed_because="failed")


def test_operations_are_numbered_and_their_part_is_followed(
    job: Job, replaced: OperationFacts
) -> None:
    first = operation_add(job=job, facts=OperationFacts("clear_codes"), at=AT)
    second = operation_add(job=job, facts=replaced, at=AT)
    assert [(first.line, first.system), (second.line, second.system)] == [
        (1, "exhaust_aftertreatment"),
        (2, "exhaust_aftertreatment"),
    ]
    assert Fitment.objects.get(removed_at=job).removed_because == "failed"
    assert AuditEntry.objects.filter(thing="operation", verb="add").count() == 2


def test_everything_said_is_kept(job: Job, replaced: OperationFacts) -> None:
    facts = replace(
        replaced,
        position=" Bank  1",
        part_origin="new_aftermarket",
        part_brand="Q",
        part_mark="P  17",
        last_sound_odometer=Decimal(50_000),
        unit="mi",
        labour_cost=Decimal("120.50"),
        parts_cost=Decimal(900),
        tax_cost=Decimal("204.10"),
        currency="eur",
        note="two clamps",
    )
    kept = operation_add(job=job, facts=facts, at=AT)
    kept.refresh_from_db()
    assert (kept.position, kept.part_mark, kept.last_sound_km) == ("bank 1", "P 17", 80_467)
    assert (kept.labour_cost, kept.tax_cost, kept.currency) == (
        Decimal("120.50"),
        Decimal("204.10"),
        "EUR",
    )


def test_a_part_outside_the_catalogue_keeps_its_name(job: Job) -> None:
    facts = OperationFacts("replace", part_named="exhaust  bracket")
    kept = operation_add(job=job, facts=facts, at=AT)
    assert (kept.part_named, kept.part_kind) == ("exhaust bracket", None)


@pytest.mark.parametrize(
    ("changed", "column"),
    [
        ({"operation": "polish", "removed_because": ""}, "operation"),
        ({"operation": "clear_codes"}, "removed_because"),
        ({"part_origin": "factory"}, "part_origin"),
        ({"removed_because": "bored"}, "removed_because"),
        ({"labour_cost": Decimal(5)}, "currency"),
        ({"labour_cost": Decimal("5.123"), "currency": "EUR"}, "labour_cost"),
        ({"tax_cost": Decimal(5)}, "currency"),
        ({"part_named": "filter"}, "part_named"),
        ({"last_sound_odometer": Decimal(80_000)}, "unit"),
        ({"last_sound_odometer": Decimal(90_001), "unit": "km"}, "last_sound_odometer"),
        ({"note": "x" * 501}, "note"),
        ({"part_kind": None, "found_in_place": "same"}, "found_in_place"),
    ],
)
def test_what_cannot_be_is_refused(
    job: Job, replaced: OperationFacts, changed: dict, column: str
) -> None:
    with pytest.raises(RuleBroken) as refused:
        operation_add(job=job, facts=replace(replaced, **changed), at=AT)
    assert [each.column for each in refused.value.broken] == [column]
    assert not Operation.objects.exists()


def test_one_part_comes_out_once(job: Job, replaced: OperationFacts) -> None:
    operation_add(job=job, facts=replaced, at=AT)
    with pytest.raises(RuleBroken, match="once by replace"):
        operation_add(job=job, facts=replace(replaced, note="again"), at=AT)
    with pytest.raises(RuleBroken, match="once by replace"):
        operation_add(job=job, facts=replaced, at=AT)
    operation_add(job=job, facts=replace(replaced, position="bank 2"), at=AT)


def test_a_change_writes_what_changed_and_follows_the_part(
    job: Job, replaced: OperationFacts
) -> None:
    kept = operation_add(job=job, facts=replaced, at=AT)
    changed = replace(replaced, removed_because="planned", part_mark="P 17")
    operation_change(operation=kept, facts=changed, at=AT)
    assert Fitment.objects.get(removed_at=job).removed_because == "planned"
    assert Fitment.objects.get(fitted_at=job, removed_at=None).mark == "P 17"
    assert set(AuditEntry.objects.latest("serial").changes) == {"removed_because", "part_mark"}
    before = AuditEntry.objects.count()
    operation_change(operation=kept, facts=changed, at=AT)
    assert AuditEntry.objects.count() == before


def test_an_operation_removed_takes_its_part_along(job: Job, replaced: OperationFacts) -> None:
    kept = operation_add(job=job, facts=replaced, at=AT)
    operation_remove(operation=kept, at=AT)
    assert not Operation.objects.exists()
    assert not Fitment.objects.filter(removed_at=job).exists()


def test_an_operation_under_warranty_stays(job: Job, replaced: OperationFacts) -> None:
    kept = operation_add(job=job, facts=replaced, at=AT)
    Warranty.objects.create(operation=kept, months=24, given_by="supplier")
    with pytest.raises(RuleBroken, match="warranty stays"):
        operation_remove(operation=kept, at=AT)


def test_the_operations_of_a_closed_job_stand(job: Job, replaced: OperationFacts) -> None:
    kept = operation_add(job=job, facts=replaced, at=AT)
    Job.objects.filter(pk=job.pk).update(closed_on=job.opened_on)
    with pytest.raises(RuleBroken, match="open job"):
        operation_change(operation=kept, facts=replace(replaced, note="x"), at=AT)
    with pytest.raises(RuleBroken, match="open job"):
        operation_remove(operation=kept, at=AT)
