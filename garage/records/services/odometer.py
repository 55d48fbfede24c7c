"""Settle the odometers of vehicles: true distances, and which readings stand."""

from collections import defaultdict
from collections.abc import Collection

from garage.records.distance import to_km
from garage.records.models import ClusterReplacement, OdometerReading
from garage.records.odometer import Reading, readings_judge

UPDATE_BATCH_ROWS = 2_000


def odometers_settle(*, vehicle_ids: Collection[int]) -> None:
    """Derive `km` and `doubt` of every reading of these vehicles anew."""
    replacements: dict[int, list[ClusterReplacement]] = defaultdict(list)
    for replacement in ClusterReplacement.objects.filter(vehicle_id__in=vehicle_ids).order_by(
        "done_on"
    ):
        replacements[replacement.vehicle_id].append(replacement)
    by_vehicle: dict[int, list[OdometerReading]] = defaultdict(list)
    for reading in (
        OdometerReading.objects.filter(vehicle_id__in=vehicle_ids)
        .select_related("vehicle")
        .order_by("read_on", "id")
    ):
        by_vehicle[reading.vehicle_id].append(reading)

    changed = []
    for vehicle_id, readings in by_vehicle.items():
        distances = [_true_km(reading, replacements[vehicle_id]) for reading in readings]
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


def _true_km(reading: OdometerReading, replacements: list[ClusterReplacement]) -> int:
    offset_km = 0
    for replacement in replacements:
        if replacement.done_on <= reading.read_on:
            offset_km = replacement.offset_km
    return max(0, to_km(reading.typed, reading.unit) + offset_km)
