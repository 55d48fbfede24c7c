"""Record odometer readings, and what a person decides of those in doubt."""

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from django.contrib.auth.models import AbstractBaseUser
from django.db import IntegrityError, transaction

from garage.records.choices import AuditVerb, DistanceUnit, ReadingSource, ResolvedAs
from garage.records.distance import to_km
from garage.records.errors import RuleBroken
from garage.records.models import (
    ClusterReplacement,
    OdometerReading,
    ReadingResolution,
    Vehicle,
)
from garage.records.services.audit import Change, audit_record
from garage.records.services.settle import vehicles_changed
from garage.records.texts import text_needed
from garage.records.typed import day_check, distance_check

_REASON_CHARACTERS = 300
_DOCUMENT_CHARACTERS = 200


@dataclass(frozen=True)
class Decision:
    """What a person decided of a reading; of a mended one what is None stays as it was typed."""

    resolved_as: str
    reason: str
    typed: Decimal | None = None
    unit: str = ""
    read_on: date | None = None


@dataclass(frozen=True)
class NewOdometer:
    """A reading without a job: from an inspection, the keeper, on-board data."""

    read_on: date
    typed: Decimal
    unit: str
    source: str


@dataclass(frozen=True)
class NewCluster:
    """A replaced instrument: what the old one showed and the new one showed, on that day."""

    done_on: date
    shown_before: Decimal
    shown_after: Decimal
    unit: str
    document: str


def reading_resolve(
    *,
    reading: OdometerReading,
    decision: Decision,
    at: datetime,
    by: AbstractBaseUser | None = None,
) -> ReadingResolution:
    """Decide on a reading. It binds until it is withdrawn; an earlier decision gives way.

    Lives that rested on the reading come back in by themselves. RuleBroken says what is wrong.
    """
    _check(decision, at)
    with transaction.atomic():
        locked = (
            OdometerReading.objects.select_for_update().select_related("vehicle").get(pk=reading.pk)
        )
        _withdraw(locked, at)
        resolution = ReadingResolution.objects.create(
            reading=locked,
            resolved_as=decision.resolved_as,
            typed=decision.typed,
            unit=decision.unit,
            read_on=decision.read_on,
            reason=decision.reason.strip(),
            at=at,
            by_id=None if by is None else by.pk,
        )
        _settled(locked, AuditVerb.RESOLVE, decision.resolved_as, at=at, by=by)
    return resolution


def resolution_withdraw(
    *, reading: OdometerReading, at: datetime, by: AbstractBaseUser | None = None
) -> None:
    """Take back what was decided of a reading: it is judged with the others again."""
    with transaction.atomic():
        locked = (
            OdometerReading.objects.select_for_update().select_related("vehicle").get(pk=reading.pk)
        )
        if not _withdraw(locked, at):
            raise RuleBroken(
                "a decision in force can be taken back",
                got="a reading nobody decided on",
                do="Look at it again; someone may have taken it back.",
            )
        _settled(locked, AuditVerb.REOPEN, None, at=at, by=by)


def odometer_add(
    *, vehicle: Vehicle, new: NewOdometer, at: datetime, by: AbstractBaseUser | None = None
) -> OdometerReading:
    """Add a reading that belongs to no job; it may come late and out of order."""
    distance_check("odometer", new.typed, new.unit)
    day_check("read_on", new.read_on, at)
    if new.source not in ReadingSource.values or new.source == ReadingSource.JOB:
        raise RuleBroken(
            "a reading without a job comes from an inspection, the keeper, on-board data or "
            "telematics",
            got=new.source,
            do="Say where it comes from; that of a job is entered with the job.",
            column="source",
        )
    try:
        with transaction.atomic():
            reading = OdometerReading.objects.create(
                vehicle=vehicle,
                read_on=new.read_on,
                typed=new.typed,
                unit=new.unit,
                source=new.source,
                km=to_km(new.typed, new.unit),
            )
            _settled(reading, AuditVerb.ADD, None, at=at, by=by)
    except IntegrityError as error:
        raise RuleBroken(
            "one reading is recorded once",
            got="the same distance, day and source again",
            do="Nothing is to be done.",
            column="odometer",
        ) from error
    return reading


def cluster_replace(
    *, vehicle: Vehicle, new: NewCluster, at: datetime, by: AbstractBaseUser | None = None
) -> ClusterReplacement:
    """Record that the instrument was replaced: from that day true distance = shown + offset.

    The offset counts from the true distance, so that of an earlier replacement is carried on.
    """
    for name in ("shown_before", "shown_after"):
        distance_check(name, getattr(new, name), new.unit)
    day_check("done_on", new.done_on, at)
    document = text_needed(
        new.document,
        column="document",
        most=_DOCUMENT_CHARACTERS,
        rule="a replaced instrument has a document, named in",
        do="Name the invoice, the entry in the papers, or the plate at the door.",
    )
    earlier = (
        ClusterReplacement.objects.filter(vehicle=vehicle, done_on__lt=new.done_on)
        .order_by("-done_on")
        .first()
    )
    change = new.shown_before - new.shown_after
    carried_km = 0 if earlier is None else earlier.offset_km
    try:
        with transaction.atomic():
            replacement = ClusterReplacement.objects.create(
                vehicle=vehicle,
                done_on=new.done_on,
                # Typed as a whole difference in its own unit, as the import takes it.
                typed_offset=change
                if carried_km == 0
                else Decimal(carried_km) + to_km_signed(change, new.unit),
                unit=new.unit if carried_km == 0 else DistanceUnit.KM,
                offset_km=carried_km + to_km_signed(change, new.unit),
                document=document,
            )
            vehicles_changed(vehicle_ids=[vehicle.pk], at=at)
            audit_record(
                organisation=vehicle.organisation,
                change=Change(
                    AuditVerb.ADD, replacement, {"offset_km": [None, replacement.offset_km]}
                ),
                by=by,
                at=at,
            )
    except IntegrityError as error:
        raise RuleBroken(
            "an instrument is replaced once a day",
            got=f"a second replacement on {new.done_on}",
            do="Correct the day.",
            column="done_on",
        ) from error
    return replacement


def to_km_signed(typed: Decimal, unit: str) -> int:
    """Whole km of a difference, which may be below nought."""
    km = to_km(abs(typed), unit)
    return -km if typed < 0 else km


def _withdraw(reading: OdometerReading, at: datetime) -> bool:
    """Withdraw the decision in force, if there is one."""
    return bool(
        ReadingResolution.objects.filter(reading=reading, withdrawn_at__isnull=True).update(
            withdrawn_at=at
        )
    )


def _settled(
    reading: OdometerReading,
    verb: str,
    decided: str | None,
    *,
    at: datetime,
    by: AbstractBaseUser | None,
) -> None:
    vehicles_changed(vehicle_ids=[reading.vehicle_id], at=at)
    audit_record(
        organisation=reading.vehicle.organisation,
        change=Change(verb, reading, {"resolved_as": [None, decided]} if decided else {}),
        by=by,
        at=at,
    )


def _check(decision: Decision, at: datetime) -> None:
    if decision.resolved_as not in ResolvedAs.values:
        raise RuleBroken(
            f"a reading is resolved as one of {', '.join(ResolvedAs.values)}",
            got=decision.resolved_as,
            do="Choose one.",
            column="resolved_as",
        )
    text_needed(
        decision.reason,
        column="reason",
        most=_REASON_CHARACTERS,
        rule="a decision has a reason of",
        do="Say what shows it, such as a photo or the job card.",
    )
    mended = decision.typed is not None or decision.read_on is not None
    if decision.resolved_as == ResolvedAs.MENDED and not mended:
        raise RuleBroken(
            "a mended reading has the right distance or the right day",
            got="neither",
            do="Give one of them, or set the reading aside.",
            column="typed",
        )
    if decision.resolved_as != ResolvedAs.MENDED and (mended or decision.unit):
        raise RuleBroken(
            "only a mended reading has another distance or day",
            got=f"one with a reading that {ResolvedAs(decision.resolved_as).label}",
            do="Leave it out, or mend the reading.",
            column="typed",
        )
    if decision.typed is not None:
        distance_check("typed", decision.typed, decision.unit)
    if decision.read_on is not None:
        day_check("read_on", decision.read_on, at)
