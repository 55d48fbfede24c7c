"""Settle the odometers of vehicles: true distances, and which readings stand."""

import json
from collections import defaultdict
from collections.abc import Collection, Sequence
from datetime import date
from decimal import Decimal
from operator import itemgetter
from typing import Any, NamedTuple

from django.db.models import FloatField, TextField
from django.db.models.functions import Cast

from garage.records.bulk_write import models_update
from garage.records.choices import DistanceUnit, Doubt, ResolvedAs
from garage.records.distance import KM_PER_MILE
from garage.records.models import (
    ClusterReplacement,
    OdometerReading,
    ReadingResolution,
    Vehicle,
)
from garage.records.odometers.judging import history_judge, stands_as_typed
from garage.records.odometers.readings import (
    History,
    Judgement,
    Reading,
    Replacement,
    Resolution,
)
from garage.records.vehicle_batches import among

DERIVED_FIELDS = ("km", "doubt", "doubt_reason", "remark", "explanations")
KM_A_MILE = float(KM_PER_MILE)
#: The kind of the explanation that this reading is right and one of `readings` is wrong.
AS_READ = "as_read"


#: As much of a reading as tells whether it needs to be judged: its day as an ordinal, its true km,
#: its job, and whether these are as typed without a doubt or remark.
_Glance = tuple[int, int, int | None, bool]


class _Row(NamedTuple):
    """A reading as it is recorded; DERIVED_FIELDS stand last, in their order."""

    vehicle_id: int
    id: int
    job_id: int | None
    read_on: date
    typed: Decimal
    unit: str
    km: int | None
    doubt: str
    doubt_reason: str
    remark: str
    explanations: list[dict[str, Any]]


class InstrumentOffsets:
    """What to add to the km shown by the instrument that these vehicles had on a day."""

    def __init__(self, vehicle_ids: Collection[int]) -> None:
        self._by_vehicle: dict[int, list[ClusterReplacement]] = defaultdict(list)
        for replacement in ClusterReplacement.objects.filter(
            among("vehicle_id", vehicle_ids)
        ).order_by("done_on"):
            self._by_vehicle[replacement.vehicle_id].append(replacement)

    def of_vehicle(self, vehicle_id: int) -> tuple[Replacement, ...]:
        """The replacements of one vehicle, as the judgement of its readings takes them."""
        found = self._by_vehicle.get(vehicle_id, ())
        return tuple(Replacement(each.done_on, each.offset_km) for each in found)

    def km_on(self, vehicle_id: int, day: date) -> int:
        """The offset in force on that day, 0 before the first replacement."""
        offset_km = 0
        for replacement in self._by_vehicle.get(vehicle_id, ()):
            if replacement.done_on <= day:
                offset_km = replacement.offset_km
        return offset_km


def odometers_settle(*, vehicle_ids: Collection[int], offsets: InstrumentOffsets) -> dict[int, int]:
    """Derive what is made of every reading of these vehicles anew: DERIVED_FIELDS.

    What people resolved binds. A reading whose day a person mended is set aside under the day it
    is kept under; its distance on the mended day bears on the others.

    Returns the true km at each of their jobs whose reading stands, by the job's key.
    """
    first_used_on = dict(
        Vehicle.objects.filter(among("pk", vehicle_ids)).values_list("pk", "first_used_on")
    )
    resolutions = _resolutions(vehicle_ids)
    km_at_jobs: dict[int, int] = {}
    others = []
    for vehicle_id, seen in _glances(vehicle_ids).items():
        moved = vehicle_id in resolutions or bool(offsets.of_vehicle(vehicle_id))
        if not moved and _are_settled(seen, first_used_on[vehicle_id]):
            km_at_jobs |= {job_id: km for _, km, job_id, _ in seen if job_id is not None}
        else:
            others.append(vehicle_id)
    by_vehicle = _rows(others)
    changed = []
    for vehicle_id in others:
        readings, decided = by_vehicle[vehicle_id], resolutions.get(vehicle_id, {})
        verdicts = history_judge(
            History(
                [Reading(r.read_on, r.typed, r.unit, r.job_id is not None) for r in readings],
                first_used_on=first_used_on[vehicle_id],
                replacements=offsets.of_vehicle(vehicle_id),
                resolutions=[decided.get(r.id) for r in readings],
            )
        )
        for reading, verdict in zip(readings, verdicts, strict=True):
            taken = _taken(reading, verdict, readings)
            made = dict(zip(DERIVED_FIELDS, taken, strict=True))
            if taken != reading[-len(DERIVED_FIELDS) :]:
                changed.append(OdometerReading(pk=reading.id, **made))
            if reading.job_id is not None and not made["doubt"]:
                km_at_jobs[reading.job_id] = made["km"]
    models_update(changed, DERIVED_FIELDS)
    return km_at_jobs


def _glances(vehicle_ids: Collection[int]) -> dict[int, list[_Glance]]:
    """The readings of these vehicles, each vehicle's in the order of day and km."""
    rows = OdometerReading.objects.filter(among("vehicle_id", vehicle_ids))
    # Numbers and texts, for exact numbers and JSON take longer to read than a history to judge.
    columns = (
        *("vehicle_id", "read_on", "km", "job_id", "unit", "doubt", "remark"),
        Cast("typed", FloatField()),
        Cast("explanations", TextField()),
    )
    asked = set(vehicle_ids)
    by_vehicle: dict[int, list[_Glance]] = defaultdict(list)
    for vehicle_id, read_on, km, job_id, unit, doubt, remark, typed, explained in rows.values_list(
        *columns
    ):
        if vehicle_id not in asked:
            continue
        as_typed = typed if unit == DistanceUnit.KM else round(typed * KM_A_MILE)
        is_plain = km == as_typed and not doubt and not remark and explained == "[]"
        by_vehicle[vehicle_id].append((read_on.toordinal(), km, job_id, is_plain))
    for readings in by_vehicle.values():
        readings.sort(key=itemgetter(0, 1))
    return by_vehicle


def _are_settled(readings: Sequence[_Glance], first_used_on: date | None) -> bool:
    """Whether judging these readings would change nothing: most histories are clean."""
    days, km, jobs, are_plain = zip(*readings, strict=True)
    if not all(are_plain):
        return False
    first_day = None if first_used_on is None else first_used_on.toordinal()
    return stands_as_typed(days, km, [each is not None for each in jobs], first_day)


def _rows(vehicle_ids: Collection[int]) -> dict[int, list[_Row]]:
    """The readings of these vehicles in full, in the order of their days."""
    rows = OdometerReading.objects.filter(vehicle_id__in=vehicle_ids).order_by("read_on", "id")
    by_vehicle: dict[int, list[_Row]] = defaultdict(list)
    written = Cast("explanations", TextField())
    for *row, text in rows.values_list(*_Row._fields[:-1], written):
        reading = _Row(*[*row, [] if text == "[]" else json.loads(text)])
        by_vehicle[reading.vehicle_id].append(reading)
    return by_vehicle


def _resolutions(vehicle_ids: Collection[int]) -> dict[int, dict[int, Resolution]]:
    """What people decided of these vehicles' readings and did not withdraw, by vehicle and
    reading."""
    in_force = ReadingResolution.objects.filter(
        among("reading__vehicle_id", vehicle_ids), withdrawn_at__isnull=True
    )
    by_vehicle: dict[int, dict[int, Resolution]] = defaultdict(dict)
    for vehicle_id, reading_id, resolved_as, typed, unit, read_on in in_force.values_list(
        "reading__vehicle_id", "reading_id", "resolved_as", "typed", "unit", "read_on"
    ):
        decided = Resolution(ResolvedAs(resolved_as), typed, unit, read_on)
        by_vehicle[vehicle_id][reading_id] = decided
    return by_vehicle


def _taken(reading: _Row, verdict: Judgement, readings: Sequence[_Row]) -> tuple[Any, ...]:
    """What the verdict makes of a reading: the values of DERIVED_FIELDS."""
    doubt: str = verdict.doubt or ""
    reason = verdict.reason
    if not doubt and verdict.read_on != reading.read_on:
        # Its distance is true on another day than the one it is kept under.
        doubt, reason = Doubt.WRONG_DATE, f"read on {verdict.read_on}, as a person found"
    explanations = [
        {
            "kind": AS_READ if each.kind is None else str(each.kind),
            "weight": round(each.weight, 4),
            "words": each.words,
            "km": each.km,
            "typed": each.typed,
            "unit": each.unit,
            "read_on": None if each.read_on is None else each.read_on.isoformat(),
            "readings": [readings[place].id for place in verdict.partners]
            if each.kind is None
            else [],
        }
        for each in verdict.explanations
    ]
    return verdict.km, doubt, reason, str(verdict.remark or ""), explanations
