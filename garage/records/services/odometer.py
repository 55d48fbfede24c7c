"""Settle the odometers of vehicles: true distances, and which readings stand."""

from collections import defaultdict
from collections.abc import Collection
from datetime import date

from garage.records.distance import to_km
from garage.records.models import ClusterReplacement, OdometerReading
from garage.records.odometer import Reading, readings_judge

UPDATE_BATCH_ROWS = 2_000


class InstrumentOffsets:
    """What to add to the km shown by the instrument that these vehicles had on a day."""

    def __init__(self, vehicle_ids: Collection[int]) -> None:
        self._by_vehicle: dict[int, list[ClusterReplacement]] = defaultdict(list)
        for replacement in ClusterReplacement.objects.filter(vehicle_id__in=vehicle_ids).order_by(
            "done_on"
        ):
            self._by_vehicle[replacement.vehicle_id].append(replacement)

    def km_on(self, vehicle_id: int, day: date) -> int:
        """The offset in force on that day, 0 before the first replacement."""
        offset_km = 0
        for replacement in self._by_vehicle.get(vehicle_id, ()):
            if replacement.done_on <= day:
                offset_km = replacement.offset_km
        return offset_km


def odometers_settle(*, vehicle_ids: Collection[int]) -> None:
    """Derive `km` and `doubt` of every reading of these vehicles anew."""
    offsets = InstrumentOffsets(vehicle_ids)
    by_vehicle: dict[int, list[OdometerReading]] = defaultdict(list)
    for reading in (
        OdometerReading.objects.filter(vehicle_id__in=vehicle_ids)
        .select_related("vehicle")
        .order_by("read_on", "id")
    ):
        by_vehicle[reading.vehicle_id].append(reading)

    changed = []
    for readings in by_vehicle.values():
        distances = [_true_km(reading, offsets) for reading in readings]
        verdicts = readings_judge(
            [Reading(r.read_on, km) for r, km in zip(readings, distances, strict=True)],
            first_used_on=readings[0].vehicle.first_used_on,
        )
        for reading, km, verdict in zip(readings, distances, verdicts, strict=True):
            settled = (km, verdict.doubt or "", verdict.reason)
            if settled != (reading.km, reading.doubt, reading.doubt_reason):
                reading.km, reading.doubt, reading.doubt_reason = settled
                changed.append(reading)
    OdometerReading.objects.bulk_update(
        changed, ["km", "doubt", "doubt_reason"], batch_size=UPDATE_BATCH_ROWS
    )


def _true_km(reading: OdometerReading, offsets: InstrumentOffsets) -> int:
    offset_km = offsets.km_on(reading.vehicle_id, reading.read_on)
    return max(0, to_km(reading.typed, reading.unit) + offset_km)
