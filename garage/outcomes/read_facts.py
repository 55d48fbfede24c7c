"""One reading of the records: the facts, as of a day.

Jobs, readings and ends after that day are left out, so that a report of an earlier day can be
made again.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from django.db.models import Max, QuerySet

from garage.outcomes.facts import NO_FAMILY, Facts, FitmentFact, JobFact, Look, VehicleFacts
from garage.records.choices import ComebackState, FitmentStart, FoundInPlace, OperationKind, Origin
from garage.records.models import (
    ComebackReview,
    Fitment,
    Job,
    OdometerReading,
    Operation,
    PartKind,
    Vehicle,
)
from garage.records.unplanned import was_unplanned

VehicleIds = QuerySet[Vehicle, Any]


def newest_record_on(organisation_ids: Sequence[int]) -> date | None:
    """The day of the newest job or reading: the default `as_of`."""
    of_jobs = Job.objects.filter(organisation_id__in=organisation_ids).aggregate(
        opened=Max("opened_on"), closed=Max("closed_on")
    )
    of_readings = OdometerReading.objects.filter(
        vehicle__organisation_id__in=organisation_ids
    ).aggregate(read=Max("read_on"))
    days = [day for day in (*of_jobs.values(), *of_readings.values()) if day is not None]
    return max(days, default=None)


def facts_read(*, vehicles_in_view: QuerySet[Vehicle], part_kind: PartKind, as_of: date) -> Facts:
    """Read the records of these vehicles once, in a constant number of queries."""
    vehicles: dict[int, VehicleFacts] = {}
    sees_all = set()
    for row in vehicles_in_view.select_related("engine_family", "organisation").order_by("id"):
        ended_on = row.ended_on if row.ended_on is not None and row.ended_on <= as_of else None
        if row.organisation.sees_all_repairs:
            sees_all.add(row.organisation_id)
        vehicles[row.pk] = VehicleFacts(
            vehicle_id=row.pk,
            organisation_id=row.organisation_id,
            family=NO_FAMILY if row.engine_family is None else row.engine_family.name,
            first_used_on=row.first_used_on,
            watched_from_new=bool(row.watched_from_new),
            ended_on=ended_on,
            ended_because=row.ended_because if ended_on is not None else "",
        )
    ids = vehicles_in_view.order_by().values("pk")
    read_at = _read_readings(vehicles, ids, as_of)
    known_jobs = _read_jobs(vehicles, ids, as_of, read_at)
    _read_looks(vehicles, ids, part_kind, known_jobs)
    _read_fitments(vehicles, ids, part_kind, known_jobs, as_of)
    return Facts(
        as_of,
        part_kind,
        frozenset(sees_all),
        list(vehicles.values()),
        _refused_comebacks(ids, as_of),
    )


def _refused_comebacks(ids: VehicleIds, as_of: date) -> frozenset[tuple[int, int]]:
    return frozenset(
        ComebackReview.objects.filter(
            job__vehicle_id__in=ids, state=ComebackState.REFUSED, at__date__lte=as_of
        ).values_list("index_job_id", "job_id")
    )


def _read_readings(
    vehicles: dict[int, VehicleFacts], ids: VehicleIds, as_of: date
) -> dict[int, tuple[int, bool]]:
    """Fill in the readings that stand; km and doubt of each job's reading come back."""
    at_job: dict[int, tuple[int, bool]] = {}
    rows = (
        OdometerReading.objects.filter(vehicle_id__in=ids, read_on__lte=as_of)
        .order_by("read_on", "km")
        .values_list("vehicle_id", "job_id", "read_on", "km", "doubt")
    )
    for vehicle_id, job_id, read_on, km, doubt in rows.iterator(chunk_size=10_000):
        if job_id is not None:
            at_job[job_id] = (km, doubt != "")
        if doubt == "":
            vehicles[vehicle_id].readings.append((read_on, km))
    return at_job


def _read_jobs(
    vehicles: dict[int, VehicleFacts],
    ids: VehicleIds,
    as_of: date,
    read_at: dict[int, tuple[int, bool]],
) -> dict[int, int]:
    """Fill in the jobs, in order; the vehicle of each job comes back."""
    operations: dict[int, list[tuple[str, str]]] = defaultdict(list)
    for job_id, kind, system in (
        Operation.objects.filter(job__vehicle_id__in=ids, job__opened_on__lte=as_of)
        .order_by("job_id", "line")
        .values_list("job_id", "kind", "system")
        .iterator(chunk_size=10_000)
    ):
        operations[job_id].append((kind, system))
    vehicle_of: dict[int, int] = {}
    rows = Job.objects.filter(vehicle_id__in=ids, opened_on__lte=as_of).values_list(
        "vehicle_id",
        "id",
        "opened_on",
        "closed_on",
        "planned",
        "system",
        "complaint",
        "trouble_codes",
        "repaired_elsewhere",
    )
    for row in rows.iterator(chunk_size=10_000):
        vehicle_id, job_id, opened_on, closed_on, planned, system, complaint, codes, elsewhere = row
        km, in_doubt = read_at.get(job_id, (None, False))
        vehicle_of[job_id] = vehicle_id
        vehicles[vehicle_id].jobs.append(
            JobFact(
                job_id=job_id,
                opened_on=opened_on,
                closed_on=closed_on if closed_on is not None and closed_on <= as_of else None,
                unplanned=was_unplanned(planned, complaint=complaint, trouble_codes=codes),
                system=system,
                km=None if in_doubt else km,
                km_in_doubt=in_doubt,
                repaired_elsewhere=None if elsewhere is None else tuple(elsewhere),
                operations=tuple(operations.get(job_id, ())),
            )
        )
    for vehicle in vehicles.values():
        vehicle.jobs.sort(key=lambda job: (job.opened_on, job.km or 0, job.job_id))
    return vehicle_of


def _read_looks(
    vehicles: dict[int, VehicleFacts],
    ids: VehicleIds,
    part_kind: PartKind,
    known_jobs: dict[int, int],
) -> None:
    rows = (
        Operation.objects.filter(job__vehicle_id__in=ids, part_kind=part_kind)
        .exclude(found_in_place="")
        .order_by("job__opened_on", "job_id", "line")
        .values_list("job_id", "position", "found_in_place")
    )
    for job_id, position, found in rows:
        if job_id in known_jobs:
            vehicles[known_jobs[job_id]].looks.append(Look(job_id, position, found))


def _read_fitments(
    vehicles: dict[int, VehicleFacts],
    ids: VehicleIds,
    part_kind: PartKind,
    known_jobs: dict[int, int],
    as_of: date,
) -> None:
    rows = (
        Fitment.objects.filter(vehicle_id__in=ids, part_kind=part_kind)
        .order_by("vehicle_id", "id")
        .values_list(
            "vehicle_id",
            "id",
            "position",
            "origin",
            "start",
            "fitted_on",
            "fitted_km",
            "fitted_at_id",
            "removed_on",
            "removed_km",
            "removed_at_id",
            "removed_because",
            "last_sound_km",
        )
    )
    seen = _seen_in_place(vehicles, ids, part_kind, known_jobs)
    stated: list[Any]
    for vehicle_id, *stated in rows.iterator(chunk_size=10_000):
        fact = FitmentFact(*stated)
        if fact.fitted_on is not None and fact.fitted_on > as_of:
            continue  # the factory part of a vehicle not yet in use
        if fact.fitted_at_id is not None and fact.fitted_at_id not in known_jobs:
            if fact.start != FitmentStart.FACTORY or (vehicle_id, fact.position) not in seen:
                continue
            # In place already, but that it is the factory's was said only later.
            fact = replace(
                fact,
                start=FitmentStart.UNKNOWN,
                origin=Origin.UNKNOWN,
                fitted_on=None,
                fitted_km=None,
                fitted_at_id=None,
            )
        if fact.removed_at_id is not None and fact.removed_at_id not in known_jobs:
            fact = replace(
                fact,
                removed_on=None,
                removed_km=None,
                removed_at_id=None,
                removed_because="",
                last_sound_km=None,
            )
        vehicles[vehicle_id].fitments.append(fact)


def _seen_in_place(
    vehicles: dict[int, VehicleFacts],
    ids: VehicleIds,
    part_kind: PartKind,
    known_jobs: dict[int, int],
) -> set[tuple[int, str]]:
    """Vehicles and positions of which a look so far told that a part is in place."""
    seen = {
        (vehicle.vehicle_id, look.position)
        for vehicle in vehicles.values()
        for look in vehicle.looks
        if look.found == FoundInPlace.SAME
    }
    rows = (
        Operation.objects.filter(
            job__vehicle_id__in=ids, part_kind=part_kind, kind=OperationKind.INSPECT
        )
        .exclude(part_origin="")
        .values_list("job_id", "position")
    )
    seen.update(
        (known_jobs[job_id], position)
        for job_id, position in rows.iterator(chunk_size=10_000)
        if job_id in known_jobs
    )
    return seen
