"""Add vehicles by hand, change what is known of them, and say who keeps them."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from garage.records.choices import AuditVerb, EndedBecause
from garage.records.errors import RuleBroken, broken_by, refuse_all
from garage.records.importing.cells import mark_key
from garage.records.importing.families import FamilyBook
from garage.records.models import Keeper, Organisation, RegistrationMark, Vehicle
from garage.records.services.audit import Change, audit_record, changes_between
from garage.records.services.settle import vehicles_changed
from garage.records.texts import text_needed
from garage.records.typed import day_check, fields_broken
from garage.records.vin import vin_check

_KEPT = ("ref", "vin", "first_used_on", "watched_from_new", "duty", "ended_on", "ended_because")
_TOLD = (*_KEPT, "engine_family_id")
_MARK_CHARACTERS = 20


@dataclass(frozen=True)
class VehicleFacts:
    """What is known of a vehicle. A family not yet known by name or alias is kept for review."""

    ref: str
    vin: str = ""
    engine_family: str = ""
    first_used_on: date | None = None
    watched_from_new: bool | None = None
    duty: str = ""
    ended_on: date | None = None
    ended_because: str = ""


@dataclass(frozen=True)
class KeeperFacts:
    """Who keeps a vehicle and how to reach them. All of it is personal."""

    name: str
    phone: str = ""
    email: str = ""
    from_on: date | None = None


def vehicle_add(
    *,
    organisation: Organisation,
    facts: VehicleFacts,
    mark: str = "",
    at: datetime,
    by: AbstractBaseUser | None = None,
) -> Vehicle:
    """Add a vehicle with the mark it bears. RuleBroken names every fault at once."""
    vehicle = Vehicle(organisation=organisation)
    with transaction.atomic():
        Organisation.objects.select_for_update().only("pk").get(pk=organisation.pk)
        broken = _take(vehicle, facts, at)
        if mark.strip():
            broken += broken_by(lambda: _mark_check(mark))
        refuse_all(broken)
        vehicle.save(force_insert=True)
        if mark.strip():
            _mark_begin(vehicle, mark, from_on=None)
        _written(vehicle, AuditVerb.ADD, {"ref": [None, vehicle.ref]}, at=at, by=by)
    return vehicle


def vehicle_change(
    *, vehicle: Vehicle, facts: VehicleFacts, at: datetime, by: AbstractBaseUser | None = None
) -> Vehicle:
    """Change what is known of a vehicle; what stays as it was writes nothing."""
    with transaction.atomic():
        row = _locked(vehicle)
        before = {name: getattr(row, name) for name in _TOLD}
        refuse_all(_take(row, facts, at))
        changes = changes_between(before, {name: getattr(row, name) for name in _TOLD})
        if changes:
            row.save(update_fields=list(changes))
            _written(row, AuditVerb.CHANGE, changes, at=at, by=by)
    return row


def registration_change(
    *,
    vehicle: Vehicle,
    mark: str,
    from_on: date,
    at: datetime,
    by: AbstractBaseUser | None = None,
) -> RegistrationMark:
    """The vehicle bears another mark from this day; the former one stays findable."""
    with transaction.atomic():
        row = _locked(vehicle)
        current = row.marks.filter(until_on__isnull=True).first()
        broken = list(
            broken_by(lambda: _mark_check(mark), lambda: day_check("from_on", from_on, at))
        )
        if current is not None and current.mark_key == mark_key(mark):
            broken.append(
                RuleBroken(
                    "a change of registration gives another mark",
                    got=f"{mark}, which it bears already",
                    do="Nothing is to be done.",
                    column="mark",
                )
            )
        if current is not None and current.from_on is not None and from_on < current.from_on:
            broken.append(
                RuleBroken(
                    f"the mark changes after the last change, on {current.from_on}",
                    got=from_on,
                    do="Correct the day.",
                    column="from_on",
                )
            )
        refuse_all(broken)
        if current is not None:
            current.until_on = from_on
            current.save(update_fields=["until_on"])
        begun = _mark_begin(row, mark, from_on=from_on)
        _written(row, AuditVerb.CHANGE, {"mark": [None, mark]}, at=at, by=by)
    return begun


def keeper_set(
    *, vehicle: Vehicle, keeper: KeeperFacts, at: datetime, by: AbstractBaseUser | None = None
) -> Keeper:
    """Say who keeps the vehicle now. The same name again mends how to reach them; another name is
    another keeper, from the day given or else today."""
    with transaction.atomic():
        row = _locked(vehicle)
        current = Keeper.objects.filter(vehicle=row, until_on__isnull=True).first()
        name = " ".join(keeper.name.split())
        is_same = current is not None and current.name.casefold() == name.casefold()
        from_on = keeper.from_on or (at.date() if current is not None and not is_same else None)
        begun = current if current is not None and is_same else Keeper(vehicle=row)
        begun.name, begun.phone, begun.email = name, keeper.phone.strip(), keeper.email.strip()
        begun.from_on = from_on or begun.from_on
        broken = list(fields_broken(begun, ("name", "phone", "email")))
        if begun.from_on is not None:
            day = begun.from_on
            broken += broken_by(lambda: day_check("from_on", day, at))
        since = None if current is None else current.from_on
        if not is_same and since is not None and from_on is not None and from_on < since:
            broken.append(
                RuleBroken(
                    f"a keeper follows the one since {since}",
                    got=from_on,
                    do="Correct the day.",
                    column="from_on",
                )
            )
        refuse_all(broken)
        if current is not None and not is_same:
            current.until_on = from_on
            current.save(update_fields=["until_on"])
        begun.save()
        audit_record(
            organisation=row.organisation,
            change=Change(
                AuditVerb.CHANGE if is_same else AuditVerb.ADD, begun, {"name": [None, name]}
            ),
            by=by,
            at=at,
        )
    return begun


def _locked(vehicle: Vehicle) -> Vehicle:
    rows = Vehicle.objects.select_for_update(of=("self",)).select_related("organisation")
    return rows.get(pk=vehicle.pk)


def _written(
    vehicle: Vehicle,
    verb: str,
    changes: dict[str, Any],
    *,
    at: datetime,
    by: AbstractBaseUser | None,
) -> None:
    vehicles_changed(vehicle_ids=[vehicle.pk], at=at)
    audit_record(
        organisation=vehicle.organisation, change=Change(verb, vehicle, changes), by=by, at=at
    )


def _take(vehicle: Vehicle, facts: VehicleFacts, at: datetime) -> list[RuleBroken]:
    """Put the facts into the row; everything that is wrong with them."""
    for name in _KEPT:
        setattr(vehicle, name, getattr(facts, name))
    vehicle.ref = " ".join(facts.ref.split())
    broken: list[RuleBroken] = []
    if facts.vin.strip():
        broken += broken_by(lambda: setattr(vehicle, "vin", vin_check(facts.vin)))
    broken += fields_broken(vehicle, ("ref", "duty", "ended_because"))
    if facts.first_used_on is not None:
        first = facts.first_used_on
        broken += broken_by(lambda: day_check("first_used_on", first, at))
    if facts.ended_on is not None:
        last = facts.ended_on
        broken += broken_by(lambda: day_check("ended_on", last, at))
    broken += _end_broken(facts)
    others = Vehicle.objects.filter(organisation_id=vehicle.organisation_id).exclude(pk=vehicle.pk)
    for name, what in (("ref", "reference"), ("vin", "VIN")):
        value = getattr(vehicle, name)
        same = others.filter(**{name: value}).first() if value else None
        if same is not None:
            broken.append(
                RuleBroken(
                    f"one {what} names one vehicle",
                    got=f"{value}, the vehicle {same.ref}",
                    do="Open that vehicle, or correct it.",
                    column=name,
                )
            )
    name = " ".join(facts.engine_family.split())
    if not broken:
        vehicle.engine_family_id = FamilyBook().find_or_create(name) if name else None
    return broken


def _end_broken(facts: VehicleFacts) -> list[RuleBroken]:
    first, last = facts.first_used_on, facts.ended_on
    broken = []
    if facts.ended_because and last is None:
        broken.append(
            RuleBroken(
                "a reason for the end needs its day",
                got=f"{EndedBecause(facts.ended_because).label} without a day"
                if facts.ended_because in EndedBecause.values
                else facts.ended_because,
                do="Say on which day, or leave the reason empty.",
                column="ended_on",
            )
        )
    if first is not None and last is not None and last < first:
        broken.append(
            RuleBroken(
                "a vehicle does not end before its first use",
                got=f"{last}, first used on {first}",
                do="Correct the day that is wrong.",
                column="ended_on",
            )
        )
    return broken


def _mark_check(mark: str) -> None:
    words = text_needed(
        mark,
        column="mark",
        most=_MARK_CHARACTERS,
        rule="a registration has",
        do="Type it as it stands on the plate.",
    )
    if not mark_key(words):
        raise RuleBroken(
            "a registration has letters or digits",
            got=mark,
            do="Type it as it stands on the plate.",
            column="mark",
        )


def _mark_begin(vehicle: Vehicle, mark: str, *, from_on: date | None) -> RegistrationMark:
    words = " ".join(mark.upper().split())
    return RegistrationMark.objects.create(
        vehicle=vehicle, mark=words, mark_key=mark_key(words), from_on=from_on
    )
