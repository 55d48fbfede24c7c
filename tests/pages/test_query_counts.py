"""A page asks the database as often for thirty rows as for three."""

import copy
from datetime import date, timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from garage.outcomes.models import ReportSnapshot
from garage.records.choices import OperationKind, System
from garage.records.models import Vehicle
from garage.records.services.settle import vehicles_settle
from tests.api.scene import Scene, visit
from tests.records.factories import RegistrationMarkFactory, VehicleFactory

#: Baselines; a higher number needs a reason, a lower one belongs here.
HISTORY = 23
FOUND = 6
EARLY_FAILURES = 8
JOBS = 8
JOB = 19


def queries_of(client: Client, page: str) -> int:
    with CaptureQueriesContext(
        connection,
    ) as asked:
        assert client.get(page).status_code == 200
    return len(asked)


@pytest.mark.parametrize("jobs", [3, 30])
def test_history(scene: Scene, alder: Client, jobs: int) -> None:
    vehicle: Vehicle = VehicleFactory(organisation=scene.cast.alder, engine_family=scene.family)
    service = {"kind": OperationKind.INSPECT, "system": System.SERVICE}
    for number in range(jobs):
        on = date(2015, 1, 1) + timedelta(days=60 * number)
        visit(vehicle, on, 10_000 + 2_000 * number, service, service, planned=True)
    vehicles_settle(vehicle_ids=[vehicle.pk])
    alder.get("/")  # makes the report
    assert queries_of(alder, f"/vehicles/{vehicle.pk}/") == HISTORY


@pytest.mark.parametrize("vehicles", [3, 30])
def test_found(scene: Scene, alder: Client, vehicles: int) -> None:
    for number in range(vehicles):
        vehicle = VehicleFactory(
            organisation=scene.cast.alder, ref=f"Lorry {number}", engine_family=scene.family
        )
        RegistrationMarkFactory(vehicle=vehicle)
    assert queries_of(alder, "/?q=lorry") == FOUND


@pytest.mark.parametrize("flags", [3, 30])
def test_early_failures(scene: Scene, alder: Client, flags: int) -> None:
    alder.get("/")  # makes the report
    snapshot = ReportSnapshot.objects.get()
    early = snapshot.report["early_failures"]
    flag = early["flags"][0]
    vehicles = [
        VehicleFactory(organisation=scene.cast.alder, engine_family=scene.family)
        for _ in range(flags)
    ]
    for vehicle in vehicles:
        RegistrationMarkFactory(vehicle=vehicle)
    early["flags"] = [copy.deepcopy(flag) | {"vehicle": each.pk} for each in vehicles]
    snapshot.save()
    assert queries_of(alder, "/early-failures/") == EARLY_FAILURES


@pytest.mark.parametrize("jobs", [3, 30])
def test_jobs(scene: Scene, alder: Client, jobs: int) -> None:
    service = {"kind": OperationKind.INSPECT, "system": System.SERVICE}
    for number in range(jobs):
        vehicle = VehicleFactory(organisation=scene.cast.alder, engine_family=scene.family)
        RegistrationMarkFactory(vehicle=vehicle)
        visit(vehicle, date(2015, 1, 1) + timedelta(days=number), 10_000, service, service)
    assert queries_of(alder, "/jobs/?state=all") == JOBS


@pytest.mark.parametrize("lines", [3, 30])
def test_job(scene: Scene, alder: Client, lines: int) -> None:
    service = {"kind": OperationKind.INSPECT, "system": System.SERVICE}
    job = visit(scene.van, date(2025, 1, 1), 200_000, *([service] * lines))
    assert queries_of(alder, f"/jobs/{job.pk}/") == JOB
