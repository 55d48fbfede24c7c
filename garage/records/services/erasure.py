"""Erase personal data: names, contact, registration marks, VINs, and what free text may hold.

Lives and comebacks stay countable: distances, days, operations and parts are no personal data
once nothing says whose they were.
"""

from collections import Counter
from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.contrib.auth.models import AbstractBaseUser
from django.db import models, transaction
from django.db.models import Max

from garage.records.choices import AuditVerb, ErasureBecause, MergedThing
from garage.records.errors import RuleBroken
from garage.records.models import (
    AdviceGiven,
    Call,
    Claim,
    ClusterReplacement,
    ComebackReview,
    Document,
    DriveLogged,
    Erasure,
    FindingSeen,
    Job,
    Keeper,
    Merge,
    Operation,
    Organisation,
    Reading,
    ReadingResolution,
    Recheck,
    RegistrationMark,
    Vehicle,
)
from garage.records.services.audit import Change, audit_record
from garage.records.services.documents import documents_delete
from garage.records.services.job_lines import lines_forget
from garage.records.services.settle import vehicles_changed
from garage.records.warranty import months_after

#: Free text that may name somebody: model, the way to its vehicle, and the fields to blank.
FREE_TEXTS: tuple[tuple[type[models.Model], str, dict[str, str]], ...] = (
    (Job, "vehicle_id", {"complaint": "", "findings": "", "cause_note": ""}),
    (Operation, "job__vehicle_id", {"note": ""}),
    (Reading, "job__vehicle_id", {"note": ""}),
    (FindingSeen, "job__vehicle_id", {"note": ""}),
    (DriveLogged, "job__vehicle_id", {"title": "erased"}),
    (AdviceGiven, "job__vehicle_id", {"text": "erased"}),
    (Recheck, "job__vehicle_id", {"reason": "erased"}),
    (ComebackReview, "job__vehicle_id", {"reason": "erased"}),
    (Claim, "failed_at__vehicle_id", {"note": "", "reason": "erased"}),
    (Call, "vehicle_id", {"note": ""}),
    (ClusterReplacement, "vehicle_id", {"document": "erased"}),
    (ReadingResolution, "reading__vehicle_id", {"reason": "erased"}),
)


@dataclass(frozen=True)
class EraseRequest:
    """Whose personal data goes, and why."""

    organisation: Organisation
    vehicle_ids: Collection[int]
    because: str


def personal_erase(
    *, request: EraseRequest, at: datetime, by: AbstractBaseUser | None = None
) -> Erasure:
    """Erase the personal data of these vehicles; the report counts what went, by kind.

    References are replaced too, for many a workshop's own reference is the registration mark: a
    file that still names an erased vehicle makes a new one.
    """
    if request.because not in ErasureBecause.values:
        raise RuleBroken(
            f"data is erased because {' or '.join(ErasureBecause.values)}",
            got=request.because,
            do="Say which.",
            column="because",
        )
    with transaction.atomic():
        vehicles = list(
            Vehicle.objects.select_for_update()
            .filter(
                organisation=request.organisation,
                pk__in=request.vehicle_ids,
                erased_on__isnull=True,
            )
            .order_by("pk")
        )
        ids = [vehicle.pk for vehicle in vehicles]
        if not ids:
            raise RuleBroken(
                "an erasure has vehicles of the organisation that were not erased before",
                got="none",
                do="Choose the vehicles whose keeper asked.",
                column="vehicle_ids",
            )
        erased = _erase(vehicles, at)
        # What is derived does not change by it; the version of the records does.
        vehicles_changed(vehicle_ids=ids, at=at)
        erasure = Erasure.objects.create(
            organisation=request.organisation,
            because=request.because,
            at=at,
            by_id=None if by is None else by.pk,
            vehicle_ids=ids,
            erased=dict(erased),
        )
        audit_record(
            organisation=request.organisation,
            change=Change(AuditVerb.ERASE, erasure, {"vehicles": [None, len(ids)]}),
            by=by,
            at=at,
        )
    return erasure


def personal_due(*, organisation: Organisation, as_of: date) -> list[int]:
    """Vehicles whose last job or odometer reading is longer ago than the organisation's own term.

    None without a term, and no vehicle of which no day is known.
    """
    months = organisation.keep_personal_months
    if months is None:
        return []
    vehicles = Vehicle.objects.filter(organisation=organisation, erased_on__isnull=True)
    last_on: dict[int, date] = {}
    for way in ("jobs__opened_on", "readings__read_on"):
        rows = vehicles.order_by().annotate(last_on=Max(way)).values_list("pk", "last_on")
        for pk, day in rows.exclude(last_on__isnull=True):
            last_on[pk] = max(day, last_on.get(pk, day))
    return sorted(pk for pk, day in last_on.items() if months_after(day, months) <= as_of)


def _erase(vehicles: list[Vehicle], at: datetime) -> Counter[str]:
    ids = [vehicle.pk for vehicle in vehicles]
    erased: Counter[str] = Counter()
    # First: the lines are found by what goes next.
    erased["job lines"] = lines_forget(
        organisation=vehicles[0].organisation, words=_names_of(vehicles)
    )
    erased["keepers"] = Keeper.objects.filter(vehicle_id__in=ids).delete()[0]
    erased["registration marks"] = RegistrationMark.objects.filter(vehicle_id__in=ids).delete()[0]
    erased["VINs"] = sum(bool(vehicle.vin) for vehicle in vehicles)
    erased["vehicle references"] = len(vehicles)
    for vehicle in vehicles:
        vehicle.vin, vehicle.ref = "", f"erased-{vehicle.pk}"
        vehicle.erased_on = at.date()
    Vehicle.objects.bulk_update(vehicles, ["vin", "ref", "erased_on"], batch_size=500)
    jobs = list(Job.objects.filter(vehicle_id__in=ids).only("pk", "ref"))
    erased["job references"] = len(jobs)
    for job in jobs:
        job.ref = f"erased-{job.pk}"
    Job.objects.bulk_update(jobs, ["ref"], batch_size=500)
    for model, way, blank in FREE_TEXTS:
        rows = model._default_manager.filter(**{f"{way}__in": ids})
        erased[f"free texts of {model._meta.verbose_name_plural}"] = _blanked(rows, blank)
    erased["names of who answered advice"] = (
        AdviceGiven.objects.filter(job__vehicle_id__in=ids)
        .exclude(answered_by="")
        .update(answered_by="erased")
    )
    documents = Document.objects.filter(
        models.Q(job__vehicle_id__in=ids) | models.Q(claim__failed_at__vehicle_id__in=ids)
    )
    erased["documents"] = documents_delete(documents)
    erased["merges"] = _merges_scrubbed(ids, [job.pk for job in jobs])
    return erased


def _names_of(vehicles: list[Vehicle]) -> set[str]:
    """Every word by which a line could name these vehicles or their keepers."""
    ids = [vehicle.pk for vehicle in vehicles]
    names = {vehicle.vin for vehicle in vehicles}
    # Many a reference is the mark; one without a figure may be any word.
    names |= {each.ref for each in vehicles if any(sign.isdigit() for sign in each.ref)}
    names |= set(RegistrationMark.objects.filter(vehicle_id__in=ids).values_list("mark", flat=True))
    for name, phone, email in Keeper.objects.filter(vehicle_id__in=ids).values_list(
        "name", "phone", "email"
    ):
        names |= {*name.split(), phone, email}
    return names


def _blanked(rows: "models.QuerySet[Any, Any]", blank: dict[str, str]) -> int:
    """Blank these fields where they hold anything; how many were blanked."""
    return sum(
        int(rows.exclude(**{name: ""}).update(**{name: empty})) for name, empty in blank.items()
    )


def _merges_scrubbed(vehicle_ids: list[int], job_ids: list[int]) -> int:
    """A merge keeps the record that went, personal data and all: it cannot be undone any more.

    Those merged on in a chain go too, and those that were undone: what went is the same vehicle.
    """
    return _merges_of(MergedThing.VEHICLE, vehicle_ids) + _merges_of(MergedThing.JOB, job_ids)


def _merges_of(thing: str, ids: list[int]) -> int:
    found: set[int] = set()
    level = set(ids)
    while level:
        merges = Merge.objects.filter(
            models.Q(kept_id__in=level) | models.Q(gone_id__in=level), thing=thing
        ).exclude(pk__in=found)
        rows = list(merges.values_list("pk", "gone_id"))
        found |= {pk for pk, _ in rows}
        level = {gone_id for _, gone_id in rows} - level
    return Merge.objects.filter(pk__in=found).delete()[0]
