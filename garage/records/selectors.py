"""Reads of the records, each within the scope of its reader."""

from dataclasses import dataclass
from datetime import date

from django.db.models import (
    Case,
    Count,
    Exists,
    IntegerField,
    OuterRef,
    Prefetch,
    Q,
    QuerySet,
    Subquery,
    Value,
    When,
)
from django.http import Http404

from garage.records.choices import FitmentStart
from garage.records.importing.cells import mark_key
from garage.records.models import (
    ClusterReplacement,
    Document,
    EngineFamily,
    Fitment,
    Job,
    OdometerReading,
    Operation,
    ReadingResolution,
    RegistrationMark,
    Vehicle,
)
from garage.records.permissions import Scope, access

MOST_FOUND = 50
#: Shorter pieces of a mark or VIN fit half the register. Judgement.
LEAST_SEARCHED = 3


@dataclass(frozen=True)
class JobEntry:
    """A job with what was read and done at it; `reading` is None where nothing was read."""

    job: Job
    reading: OdometerReading | None
    operations: list[Operation]


@dataclass(frozen=True)
class VehicleHistory:
    """Everything recorded of one vehicle: jobs newest first, all else oldest first."""

    vehicle: Vehicle
    jobs: list[JobEntry]
    marks: list[RegistrationMark]
    readings: list[OdometerReading]
    fitments: list[Fitment]
    cluster_replacements: list[ClusterReplacement]


def vehicles_in_scope(*, scope: Scope) -> QuerySet[Vehicle]:
    return Vehicle.objects.filter(organisation_id__in=scope.organisation_ids)


def vehicles_listed(*, scope: Scope) -> QuerySet[Vehicle]:
    """All vehicles in scope with what a list shows of them, by organisation and own name."""
    return (
        vehicles_in_scope(scope=scope)
        .select_related("organisation", "engine_family")
        .prefetch_related("marks")
        .order_by("organisation__code", "ref", "pk")
    )


def access_vehicle(*, scope: Scope, vehicle_id: int) -> Vehicle:
    """The vehicle, for who may see it; Http404 else."""
    vehicles = Vehicle.objects.select_related("organisation", "engine_family")
    return access(vehicles, scope=scope, pk=vehicle_id)


def access_job(*, scope: Scope, job_id: int) -> Job:
    """The job, for who may see it; Http404 else."""
    return access(Job.objects.select_related("organisation", "vehicle"), scope=scope, pk=job_id)


def access_reading(*, scope: Scope, reading_id: int) -> OdometerReading:
    """The odometer reading, for who may see it; Http404 else."""
    readings = OdometerReading.objects.select_related("vehicle__organisation")
    return access(readings, scope=scope, pk=reading_id, owner="vehicle__organisation_id")


def vehicles_in_doubt(*, scope: Scope) -> QuerySet[Vehicle]:
    """Vehicles with odometer readings in doubt that nobody has decided on, those with most first;
    `in_doubt` is their number."""
    decided = ReadingResolution.objects.filter(reading_id=OuterRef("pk"), withdrawn_at__isnull=True)
    undecided = OdometerReading.objects.exclude(doubt="").filter(~Exists(decided)).order_by()
    of_vehicle = undecided.filter(vehicle_id=OuterRef("pk")).values("vehicle_id")
    return (
        vehicles_listed(scope=scope)
        .filter(pk__in=undecided.values("vehicle_id"))
        .annotate(in_doubt=Subquery(of_vehicle.annotate(rows=Count("pk")).values("rows")))
        .order_by("-in_doubt", "organisation__code", "ref", "pk")
    )


def vehicles_find(*, scope: Scope, text: str) -> QuerySet[Vehicle]:
    """Vehicles by registration mark (present or former), VIN or own name; at most 50.

    Blanks, signs and case of marks and VINs do not count. Exact matches come first, then those
    that begin with the text, then those that contain it; pieces have at least 3 characters.
    """
    key, ref = mark_key(text), text.strip()
    exact = beginning = containing = Q(pk__in=[])
    if key:
        exact = Q(vin=key) | _has_mark(mark_key=key)
    if ref:
        exact |= Q(ref__iexact=ref)
    if len(key) >= LEAST_SEARCHED:
        beginning |= Q(vin__startswith=key) | _has_mark(mark_key__startswith=key)
        containing |= Q(vin__contains=key) | _has_mark(mark_key__contains=key)
    if len(ref) >= LEAST_SEARCHED:
        beginning |= Q(ref__istartswith=ref)
        containing |= Q(ref__icontains=ref)
    return (
        vehicles_in_scope(scope=scope)
        .filter(exact | containing)
        .annotate(
            nearness=Case(
                When(exact, then=Value(0)),
                When(beginning, then=Value(1)),
                default=Value(2),
                output_field=IntegerField(),
            )
        )
        .select_related("organisation", "engine_family")
        .prefetch_related("marks")
        .order_by("nearness", "ref", "pk")[:MOST_FOUND]
    )


def _has_mark(**wanted: str) -> Q:
    return Q(Exists(RegistrationMark.objects.filter(vehicle_id=OuterRef("pk"), **wanted)))


def vehicle_history(*, vehicle: Vehicle) -> VehicleHistory:
    """The history of a vehicle that the reader may see (`access_vehicle`)."""
    jobs = (
        # Another organisation's work on it is shown only with the keeper's consent.
        Job.objects.filter(vehicle=vehicle, organisation_id=vehicle.organisation_id)
        .select_related("reading")
        .prefetch_related(
            Prefetch("operations", Operation.objects.select_related("part_kind").order_by("line")),
            Prefetch("documents", Document.objects.order_by("pk")),
        )
        .order_by("-opened_on", "-pk")
    )
    return VehicleHistory(
        vehicle=vehicle,
        jobs=[
            JobEntry(job, getattr(job, "reading", None), list(job.operations.all())) for job in jobs
        ],
        marks=list(vehicle.marks.order_by("pk")),
        readings=list(vehicle.readings.order_by("read_on", "km", "pk")),
        fitments=sorted(
            vehicle.fitments.select_related(
                "part_kind", "fitted_at", "removed_at", "last_seen_same_at", "cleaned_from"
            ),
            key=_place_in_story,
        ),
        cluster_replacements=list(vehicle.cluster_replacements.order_by("done_on")),
    )


def _place_in_story(fitment: Fitment) -> tuple[str, str, date, date, bool, int]:
    """Sorts fitments by part and position, then in the order in which they were in place."""
    begun_on = fitment.fitted_on
    if begun_on is None and fitment.fitted_at is not None:
        begun_on = fitment.fitted_at.opened_on
    return (
        fitment.part_kind.code,
        fitment.position,
        begun_on or date.min,
        date.max if fitment.removed_at is None else fitment.removed_at.opened_on,
        fitment.start != FitmentStart.UNKNOWN,
        fitment.pk,
    )


def families_in_scope(*, scope: Scope) -> QuerySet[EngineFamily]:
    """The engine families of vehicles in scope, each with their number, `vehicle_count`."""
    return (
        EngineFamily.objects.annotate(
            vehicle_count=Count(
                "vehicles", filter=Q(vehicles__organisation_id__in=scope.organisation_ids)
            )
        )
        .filter(vehicle_count__gt=0)
        .order_by("name")
    )


def access_family(*, scope: Scope, family_id: int) -> EngineFamily:
    """The engine family, or Http404: the same where no vehicle in scope is of it."""
    family = families_in_scope(scope=scope).filter(pk=family_id).first()
    if family is None:
        raise Http404("no such engine family")
    return family
