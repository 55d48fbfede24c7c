"""Apply the rows of an odometer file: each a reading of one vehicle on one day."""

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal

from garage.records.bulk_write import rows_insert
from garage.records.choices import ReadingSource
from garage.records.distance import to_km
from garage.records.importing.cells import distance_fault
from garage.records.importing.context import ImportContext
from garage.records.importing.rows import Outcome, ReadRow, values_named
from garage.records.models import OdometerReading

#: What makes two readings the same.
ReadingKey = tuple[int, date, Decimal, str, str]


class OdometerFile:
    def __init__(self, context: ImportContext) -> None:
        self.touched: set[int] = set()
        self._context = context
        self._new_readings = 0
        self._last_id_before = (
            OdometerReading.objects.order_by("-pk").values_list("pk", flat=True).first() or 0
        )

    def counts(self) -> dict[str, int]:
        return {"odometer readings": self._new_readings}

    def notices(self) -> list[str]:
        return []

    def apply(self, rows: Sequence[ReadRow]) -> list[Outcome]:
        refs = values_named(rows, "vehicle_ref")
        vehicles = self._context.vehicles_by_ref(refs)
        recorded = self._recorded({vehicles[ref] for ref in refs & vehicles.keys()}, rows)
        new: dict[ReadingKey, None] = {}  # in the order of the file
        outcomes = [self._row(row, vehicles, recorded, new) for row in rows]
        rows_insert(
            OdometerReading,
            ("vehicle", "read_on", "typed", "unit", "source", "km"),
            [(*key, to_km(key[2], key[3])) for key in new],
        )
        self._new_readings += len(new)
        self.touched.update(vehicle_id for vehicle_id, *_ in new)
        return outcomes

    def _recorded(self, vehicle_ids: set[int], rows: Sequence[ReadRow]) -> dict[ReadingKey, int]:
        """The readings of these vehicles on the days of these rows, with their ids."""
        days = values_named(rows, "read_on")
        found = OdometerReading.objects.filter(vehicle_id__in=vehicle_ids, read_on__in=days)
        return {
            (vehicle_id, read_on, typed, unit, source): reading_id
            for reading_id, vehicle_id, read_on, typed, unit, source in found.values_list(
                "pk", "vehicle_id", "read_on", "typed", "unit", "source"
            )
        }

    def _row(
        self,
        row: ReadRow,
        vehicles: Mapping[str, int],
        recorded: dict[ReadingKey, int],
        new: dict[ReadingKey, None],
    ) -> Outcome:
        values = row.values
        vehicle_id = self._context.vehicle_id(row, vehicles)
        if "odometer" in values and "unit" in values:
            fault = distance_fault("odometer", values["odometer"], values["unit"])
            row.faults += [fault] if fault else []
        if row.faults:
            return Outcome.REJECTED
        assert vehicle_id is not None  # without one the row has a fault
        key = (
            vehicle_id,
            values["read_on"],
            values["odometer"],
            values["unit"],
            values.get("source") or ReadingSource.UNKNOWN.value,
        )
        if key in new:
            return Outcome.REPEATED
        if key in recorded:
            of_this_file = recorded[key] > self._last_id_before
            return Outcome.REPEATED if of_this_file else Outcome.UNCHANGED
        new[key] = None
        return Outcome.APPLIED
