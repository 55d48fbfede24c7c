"""What the database refuses of jobs and their operations."""

from datetime import date
from decimal import Decimal

import pytest

from garage.records.choices import OperationKind
from tests.records.constraints import refused_by
from tests.records.factories import (
    JobFactory,
    OperationFactory,
    PartKindFactory,
    VehicleFactory,
)

pytestmark = pytest.mark.django_db

OPENED = date(2024, 5, 6)
DAY_BEFORE = date(2024, 5, 5)


def test_job_ref_once_per_organisation() -> None:
    vehicle = VehicleFactory()
    JobFactory(vehicle=vehicle, ref="J1")
    JobFactory(ref="J1")
    with refused_by("job_ref_once_per_organisation"):
        JobFactory(vehicle=vehicle, ref="J1")


def test_job_ref_given() -> None:
    JobFactory(ref="J")
    with refused_by("job_ref_given"):
        JobFactory(ref="")


@pytest.mark.parametrize("closed_on", [None, OPENED, date(2024, 5, 9)])
def test_job_closed_not_before_opened(closed_on: date | None) -> None:
    JobFactory(opened_on=OPENED, closed_on=closed_on)
    with refused_by("job_closed_not_before_opened"):
        JobFactory(opened_on=OPENED, closed_on=DAY_BEFORE)


def test_job_system_known() -> None:
    JobFactory(system="brakes")
    with refused_by("job_system_known"):
        JobFactory(system="gearbox")


def test_operation_line_once_per_job() -> None:
    job = JobFactory()
    OperationFactory(job=job, line=1)
    OperationFactory(job=job, line=2)
    OperationFactory(job=JobFactory(), line=1)
    with refused_by("operation_line_once_per_job"):
        OperationFactory(job=job, line=1)


@pytest.mark.parametrize("kind", OperationKind.values)
def test_operation_kind_known(kind: str) -> None:
    OperationFactory(kind=kind)
    with refused_by("operation_kind_known"):
        OperationFactory(kind="")


def test_operation_system_known() -> None:
    OperationFactory(system="air")
    with refused_by("operation_system_known"):
        OperationFactory(system="gearbox")


def test_operation_part_named_only_outside_catalogue() -> None:
    part = PartKindFactory()
    OperationFactory(part_kind=None, part_named="mirror")
    OperationFactory(part_kind=part, part_named="")
    with refused_by("operation_part_named_only_outside_catalogue"):
        OperationFactory(part_kind=part, part_named="mirror")


@pytest.mark.parametrize("cost", ["labour_cost", "parts_cost"])
def test_operation_cost_has_currency(cost: str) -> None:
    OperationFactory(**{cost: Decimal("12.50")}, currency="EUR")
    OperationFactory(**{cost: None}, currency="")
    with refused_by("operation_cost_has_currency"):
        OperationFactory(**{cost: Decimal("12.50")}, currency="")


@pytest.mark.parametrize("cost", ["labour_cost", "parts_cost"])
def test_operation_cost_not_negative(cost: str) -> None:
    OperationFactory(**{cost: Decimal(0)}, currency="EUR")
    with refused_by("operation_cost_not_negative"):
        OperationFactory(**{cost: Decimal("-0.01")}, currency="EUR")


def test_job_cause_known() -> None:
    JobFactory(cause="not_found")
    with refused_by("job_cause_known"):
        JobFactory(cause="gremlins")


def test_operation_tax_has_currency_and_is_not_negative() -> None:
    OperationFactory(tax_cost=Decimal(0), currency="EUR")
    with refused_by("operation_cost_has_currency"):
        OperationFactory(tax_cost=Decimal(1))
    with refused_by("operation_cost_not_negative"):
        OperationFactory(tax_cost=Decimal(-1), currency="EUR")
