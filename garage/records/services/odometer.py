"""Settle the odometers of vehicles: true distances, and which readings stand."""

import json
from collections import defaultdict
from collections.abc import Collection, Sequence
from datetime import date
from decimal import Decimal
from typing import Any, NamedTuple

from django.db.models import TextField
from django.db.models.functions import Cast

from garage.records.bulk_write import models_update
from garage.records.choices import Doubt, ResolvedAs
from garage.records.models import (
    ClusterReplacement,
    OdometerReading,
    ReadingResolution,
    Vehicle,
)
from garage.records.odometers.judging import history_judge
from garage.records.odometers.readings import (
    History,
    Judgement,
    Reading,
    Replacement,
    Resolution,
)
from garage.records.vehicle_batches import among

DERIVED_FIELDS = ("km", "doubt", "doubt_reason", "remark", "explanations")
#: The kind of the explanation that this reading is right and one of `readings` is wrong.
AS_READ = "as_read"


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


def odometers_settle(*, vehicle_ids: Collection[int]) -> None:
    """Derive what is made of every reading of these vehicles anew: DERIVED_FIELDS.

    What people resolved binds. A reading whose day a person mended is set aside under the day it
    is kept under; its distance on the mended day bears on the others.
    """
    offsets = InstrumentOffsets(vehicle_ids)
    first_used_on = dict(
        Vehicle.objects.filter(among("pk", vehicle_ids)).values_list("pk", "first_used_on")
    )
    by_vehicle: dict[int, list[_Row]] = defaultdict(list)
    rows = OdometerReading.objects.filter(among("vehicle_id", vehicle_ids)).order_by(
        "read_on", "id"
    )
    # Next to all readings have nothing to explain, and reading JSON takes longer than judging.
    written = Cast("explanations", TextField())
    for *row, text in rows.values_list(*_Row._fields[:-1], written):
        reading = _Row(*[*row, [] if text == "[]" else json.loads(text)])
        by_vehicle[reading.vehicle_id].append(reading)

    resolutions = _resolutions(vehicle_ids)
    changed = []
    for vehicle_id in sorted(by_vehicle.keys() & set(vehicle_ids)):
        readings = by_vehicle[vehicle_id]
        verdicts = history_judge(
            History(
                [Reading(r.read_on, r.typed, r.unit, r.job_id is not None) for r in readings],
                first_used_on=first_used_on[vehicle_id],
                replacements=offsets.of_vehicle(vehicle_id),
                resolutions=[resolutions.get(r.id) for r in readings] if resolutions else (),
            )
        )
        for reading, verdict in zip(readings, verdicts, strict=True):
            taken = _taken(reading, verdict, readings)
            if taken != reading[-len(DERIVED_FIELDS) :]:
                made = dict(zip(DERIVED_FIELDS, taken, strict=True))
                changed.append(OdometerReading(pk=reading.id, **made))
    models_update(changed, DERIVED_FIELDS)


def _resolutions(vehicle_ids: Collection[int]) -> dict[int, Resolution]:
    """What people decided of these vehicles' readings and did not withdraw."""
    in_force = ReadingResolution.objects.filter(
        among("reading__vehicle_id", vehicle_ids), withdrawn_at__isnull=True
    )
    return {
        each.reading_id: Resolution(
            ResolvedAs(each.resolved_as), each.typed, each.unit, each.read_on
        )
        for each in in_force
    }


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
