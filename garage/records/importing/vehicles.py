"""Apply the rows of a vehicles file: new vehicles, newly known facts, new registration marks."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from garage.records.choices import MergedThing
from garage.records.importing.cells import mark_key
from garage.records.importing.context import ImportContext
from garage.records.importing.families import FamilyBook
from garage.records.importing.rows import Outcome, ReadRow, values_named
from garage.records.models import RegistrationMark, Vehicle

#: Facts that cannot change once known; another value is a contradiction, not news.
FIXED = ("vin", "first_used_on", "watched_from_new", "ended_on", "ended_because")
WRITTEN = (*FIXED, "duty", "engine_family_id")


@dataclass(slots=True)
class _Known:
    """A vehicle of the chunk, recorded before or new, with its marks."""

    vehicle: Vehicle
    is_new: bool
    current: RegistrationMark | None = None
    former: set[str] = field(default_factory=set)


class VehiclesFile:
    def __init__(self, context: ImportContext, *, file_name: str) -> None:
        self.touched: set[int] = set()
        self._context = context
        self._file_name = file_name
        self._families = FamilyBook()
        self._new_vehicles = 0
        self._duty_stated: set[str] = set()
        self._last_id_before = Vehicle.objects.order_by("-pk").values_list("pk", flat=True).first()

    def counts(self) -> dict[str, int]:
        return {"vehicles": self._new_vehicles}

    def notices(self) -> list[str]:
        if not self._families.created:
            return []
        return [
            "new engine families to review: " + ", ".join(sorted(self._families.created)),
        ]

    def apply(self, rows: Sequence[ReadRow]) -> list[Outcome]:
        chunk = _Chunk(self._context, rows)
        refs = values_named(rows, "vehicle_ref")
        merged = self._context.merged_refs(MergedThing.VEHICLE, refs)
        outcomes = [
            Outcome.UNCHANGED
            if not row.faults and row.values["vehicle_ref"] in merged
            else self._row(chunk, row)
            for row in rows
        ]
        self._new_vehicles += len(chunk.new)
        self.touched |= chunk.write()
        return outcomes

    def _row(self, chunk: "_Chunk", row: ReadRow) -> Outcome:
        ref = row.values.get("vehicle_ref")
        known = chunk.known.get(ref) if ref is not None else None
        changes = self._changes(known, row)
        merged = {
            name: changes.get(name, getattr(known.vehicle, name) if known else None)
            for name in FIXED
        }
        _check_end(row, merged)
        if "vin" in changes and changes["vin"] in chunk.vin_owner:
            row.fault(
                "vin",
                "one VIN belongs to one vehicle of an organisation",
                got=f"{changes['vin']}, recorded as {chunk.vin_owner[changes['vin']]}",
                do="Use that vehicle_ref for both, or correct the VIN.",
            )
        if row.faults:
            self._refuse(ref, known, row)
            return Outcome.REJECTED
        assert ref is not None  # without one the row has a fault
        return self._accept(chunk, known, ref, row, changes)

    def _accept(
        self,
        chunk: "_Chunk",
        known: _Known | None,
        ref: str,
        row: ReadRow,
        changes: dict[str, Any],
    ) -> Outcome:
        family = row.values.get("engine_family")
        if family is not None and (known is None or known.vehicle.engine_family_id is None):
            changes["engine_family_id"] = self._families.find_or_create(family)
        was_known = known is not None
        if known is None:
            known = chunk.begin(ref)
        for name, value in changes.items():
            setattr(known.vehicle, name, value)
        if "duty" in row.values:
            self._duty_stated.add(ref)
        if "vin" in changes:
            chunk.vin_owner[changes["vin"]] = ref
        changed = chunk.take_mark(known, row.values.get("registration")) or bool(changes)
        if changed or not was_known:
            chunk.changed[ref] = known
            return Outcome.APPLIED
        return Outcome.REPEATED if self._is_of_this_file(known) else Outcome.UNCHANGED

    def _is_of_this_file(self, known: _Known) -> bool:
        return known.is_new or known.vehicle.pk > (self._last_id_before or 0)

    def _changes(self, known: _Known | None, row: ReadRow) -> dict[str, Any]:
        """What the row newly tells; a contradiction becomes a fault of the row."""
        vehicle = known.vehicle if known else Vehicle()
        changes: dict[str, Any] = {}
        for name in FIXED:
            value = row.values.get(name)
            recorded = getattr(vehicle, name)
            if value is None or value == recorded:
                continue
            if recorded is None or recorded == "":
                changes[name] = value
            else:
                _contradiction(row, name, value, recorded)
        self._duty(vehicle, row, changes)
        family, recorded_id = row.values.get("engine_family"), vehicle.engine_family_id
        if (
            family is not None
            and recorded_id is not None
            and self._families.find(family) != recorded_id
        ):
            _contradiction(row, "engine_family", family, self._families.name_of(recorded_id))
        return changes

    def _duty(self, vehicle: Vehicle, row: ReadRow, changes: dict[str, Any]) -> None:
        """A later file may change the duty; rows of one file agree, or their order would count."""
        duty = row.values.get("duty")
        if duty is None or duty == vehicle.duty:
            return
        if vehicle.ref in self._duty_stated:
            row.fault(
                "duty",
                "the rows of one vehicle in one file agree in duty",
                got=f"{duty}, an earlier row's {vehicle.duty} stands",
                do="Leave it empty, or correct it.",
            )
        else:
            changes["duty"] = duty

    def _refuse(self, ref: str | None, known: _Known | None, row: ReadRow) -> None:
        if ref is None:
            return
        place = f"{self._file_name} line {row.raw.line}"
        self._context.refused.setdefault(ref, place)
        if known is not None and known.vehicle.pk is not None:
            self._context.refused_ids.setdefault(known.vehicle.pk, place)


class _Chunk:
    """The vehicles that the rows of one chunk name, and what is to be written of them."""

    def __init__(self, context: ImportContext, rows: Sequence[ReadRow]) -> None:
        self._organisation = context.organisation
        self._as_of: date = context.as_of
        refs = values_named(rows, "vehicle_ref")
        vins = values_named(rows, "vin")
        recorded = Vehicle.objects.filter(organisation=self._organisation)
        self.known = {
            vehicle.ref: _Known(vehicle, is_new=False) for vehicle in recorded.filter(ref__in=refs)
        }
        self.vin_owner = dict(recorded.filter(vin__in=vins).values_list("vin", "ref"))
        by_id = {known.vehicle.pk: known for known in self.known.values()}
        for mark in RegistrationMark.objects.filter(vehicle_id__in=by_id):
            known = by_id[mark.vehicle_id]
            if mark.until_on is None:
                known.current = mark
            else:
                known.former.add(mark.mark_key)
        self.new: list[_Known] = []
        self.changed: dict[str, _Known] = {}
        self._closed_marks: list[RegistrationMark] = []
        self._new_marks: list[tuple[_Known, RegistrationMark]] = []

    def begin(self, ref: str) -> _Known:
        known = _Known(Vehicle(organisation=self._organisation, ref=ref), is_new=True)
        self.known[ref] = known
        self.new.append(known)
        return known

    def take_mark(self, known: _Known, mark: str | None) -> bool:
        """Make this the vehicle's current mark; False if it bears it, or bore it once.

        A mark it bore once comes from an older export: taking it for news would turn the marks
        back.
        """
        if mark is None:
            return False
        key, current = mark_key(mark), known.current
        if key in known.former or (current is not None and current.mark_key == key):
            return False
        fresh = RegistrationMark(mark=mark, mark_key=key)
        if current is not None:
            # The day of the change is not in the file; the day it was learned stands for it.
            changed_on = max(self._as_of, current.from_on or self._as_of)
            current.until_on = changed_on
            fresh.from_on = changed_on
            known.former.add(current.mark_key)
            if current.pk is not None:
                self._closed_marks.append(current)
        known.current = fresh
        self._new_marks.append((known, fresh))
        return True

    def write(self) -> set[int]:
        """Write the chunk; the ids of the vehicles that are new or changed."""
        Vehicle.objects.bulk_create([known.vehicle for known in self.new])
        self._fill_ids()
        Vehicle.objects.bulk_update(
            [known.vehicle for known in self.changed.values() if not known.is_new], WRITTEN
        )
        RegistrationMark.objects.bulk_update(self._closed_marks, ["until_on"])
        for known, mark in self._new_marks:
            mark.vehicle_id = known.vehicle.pk
        RegistrationMark.objects.bulk_create([mark for _, mark in self._new_marks])
        return {known.vehicle.pk for known in self.changed.values()}

    def _fill_ids(self) -> None:
        """Databases that do not tell the keys of rows inserted together are asked for them."""
        missing = [known.vehicle for known in self.new if known.vehicle.pk is None]
        if missing:
            ids = dict(
                Vehicle.objects.filter(
                    organisation=self._organisation, ref__in=[row.ref for row in missing]
                ).values_list("ref", "pk")
            )
            for vehicle in missing:
                vehicle.pk = ids[vehicle.ref]


def _contradiction(row: ReadRow, column: str, value: object, recorded: object) -> None:
    words = {True: "yes", False: "no"}
    if isinstance(recorded, bool):
        value, recorded = words[bool(value)], words[recorded]
    row.fault(
        column,
        f"{column} of a recorded vehicle does not change",
        got=f"{value}, recorded is {recorded}",
        do="Leave it empty, correct it, or use another vehicle_ref if it is another vehicle.",
    )


def _check_end(row: ReadRow, merged: dict[str, Any]) -> None:
    if merged["ended_because"] and merged["ended_on"] is None and "ended_on" not in _faulty(row):
        row.fault(
            "ended_because",
            "a reason for the end needs its day",
            got=f"{merged['ended_because']} without ended_on",
            do="Fill in ended_on, or leave ended_because empty.",
        )
    first, last = merged["first_used_on"], merged["ended_on"]
    if first is not None and last is not None and last < first:
        row.fault(
            "ended_on",
            "a vehicle does not end before its first use",
            got=f"{last}, first used on {first}",
            do="Correct the date that is wrong.",
        )


def _faulty(row: ReadRow) -> set[str]:
    return {fault.column for fault in row.faults}
