"""Find the pairs of an organisation that may be one, leaving out those a person has decided."""

from collections import defaultdict
from datetime import date

from django.http import Http404

from garage.records.choices import MergedThing
from garage.records.duplicates.candidates import Candidate
from garage.records.duplicates.jobs import JobToCompare, job_candidates
from garage.records.duplicates.vehicles import MarkHeld, VehicleToCompare, vehicle_candidates
from garage.records.models import (
    Job,
    Merge,
    NotDuplicate,
    OdometerReading,
    Operation,
    Organisation,
    RegistrationMark,
    Vehicle,
)
from garage.records.permissions import Scope, access


def vehicles_possibly_one(*, organisation: Organisation) -> list[Candidate]:
    """Pairs of vehicles of this organisation that may be one, the likeliest first."""
    marks: dict[int, list[MarkHeld]] = defaultdict(list)
    for vehicle_id, key, from_on, until_on in RegistrationMark.objects.filter(
        vehicle__organisation=organisation
    ).values_list("vehicle_id", "mark_key", "from_on", "until_on"):
        marks[vehicle_id].append(MarkHeld(key, from_on, until_on))
    vehicles = [
        VehicleToCompare(*row, marks=tuple(marks[row[0]]), readings=())
        for row in Vehicle.objects.filter(organisation=organisation, erased_on__isnull=True)
        .order_by("pk")
        .values_list("pk", "vin", "engine_family_id", "first_used_on")
    ]
    # Readings are asked for only of those that have a partner at all.
    partnered = {
        each for pair in vehicle_candidates(vehicles) for each in (pair.one_id, pair.other_id)
    }
    readings: dict[int, list[tuple[date, int]]] = defaultdict(list)
    for vehicle_id, read_on, km in (
        OdometerReading.objects.filter(vehicle_id__in=partnered, doubt="")
        .order_by("read_on", "km")
        .values_list("vehicle_id", "read_on", "km")
    ):
        readings[vehicle_id].append((read_on, km))
    compared = [
        VehicleToCompare(
            each.id,
            each.vin,
            each.family_id,
            each.first_used_on,
            each.marks,
            tuple(readings[each.id]),
        )
        for each in vehicles
        if each.id in partnered
    ]
    return _undecided(organisation, MergedThing.VEHICLE, vehicle_candidates(compared))


def jobs_possibly_one(*, organisation: Organisation) -> list[Candidate]:
    """Pairs of jobs of this organisation that may be one, the likeliest first."""
    work: dict[int, set[tuple[str, str]]] = defaultdict(set)
    for job_id, kind, code, named, system in Operation.objects.filter(
        job__organisation=organisation
    ).values_list("job_id", "kind", "part_kind__code", "part_named", "system"):
        work[job_id].add((kind, code or named or system))
    jobs = [
        JobToCompare(*row, work=frozenset(work[row[0]]))
        for row in Job.objects.filter(organisation=organisation)
        .order_by("pk")
        .values_list("pk", "vehicle_id", "opened_on", "reading__km", "complaint")
    ]
    return _undecided(organisation, MergedThing.JOB, job_candidates(jobs))


def _undecided(
    organisation: Organisation, thing: str, candidates: list[Candidate]
) -> list[Candidate]:
    decided = set(
        NotDuplicate.objects.filter(organisation=organisation, thing=thing).values_list(
            "one_id", "other_id"
        )
    )
    return [each for each in candidates if (each.one_id, each.other_id) not in decided]


def access_pair(
    *, scope: Scope, thing: str, ids: tuple[int, int]
) -> tuple[Vehicle | Job, Vehicle | Job]:
    """Two records of one organisation that may be one, for who may see them; Http404 else."""
    if thing not in MergedThing.values or ids[0] == ids[1]:
        raise Http404("no such pair")
    one, other = (_access_one(scope, thing, pk) for pk in ids)
    if one.organisation_id != other.organisation_id:
        raise Http404("no such pair")
    return one, other


def access_merge(*, scope: Scope, merge_id: int) -> Merge:
    """The merge, for who may see it; Http404 else."""
    return access(Merge.objects.all(), scope=scope, pk=merge_id)


def _access_one(scope: Scope, thing: str, pk: int) -> Vehicle | Job:
    if thing == MergedThing.VEHICLE:
        vehicles = Vehicle.objects.select_related("engine_family")
        return access(vehicles.prefetch_related("marks", "jobs"), scope=scope, pk=pk)
    jobs = Job.objects.select_related("vehicle", "reading")
    return access(jobs.prefetch_related("operations__part_kind"), scope=scope, pk=pk)
