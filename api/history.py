"""A vehicle's history put together from its records, its lives and the report in view."""

from collections.abc import Iterator
from datetime import datetime
from typing import Any

from garage.outcomes.filters import flags_of_vehicle, normal_life_of
from garage.outcomes.read_facts import newest_record_on
from garage.outcomes.selectors import lives_of_vehicle
from garage.outcomes.services import snapshot_ready
from garage.records.models import Fitment, PartKind, Vehicle
from garage.records.permissions import Scope
from garage.records.selectors import VehicleHistory, vehicle_history


def history_of(*, vehicle: Vehicle, scope: Scope, now: datetime) -> dict[str, Any]:
    """What `HistoryAnswer` writes out."""
    history = vehicle_history(vehicle=vehicle)
    return {
        "vehicle": vehicle,
        "as_of": newest_record_on([vehicle.organisation_id]),
        "readings": history.readings,
        "cluster_replacements": history.cluster_replacements,
        "jobs": history.jobs,
        "parts": list(_parts(history, scope, now)),
    }


def _parts(history: VehicleHistory, scope: Scope, now: datetime) -> Iterator[dict[str, Any]]:
    of_kind: dict[PartKind, dict[int, Fitment]] = {}
    for fitment in history.fitments:
        of_kind.setdefault(fitment.part_kind, {})[fitment.pk] = fitment
    for part_kind, fitments in of_kind.items():
        yield _part(history.vehicle, part_kind, fitments, _report(scope, part_kind, now))


def _report(scope: Scope, part_kind: PartKind, now: datetime) -> dict[str, Any]:
    kept = snapshot_ready(organisation_ids=scope.organisation_ids, part_kind=part_kind, now=now)
    if kept is None:
        raise LookupError("a vehicle with fitments has jobs, so its view has a report")
    return dict(kept.report)


def _part(
    vehicle: Vehicle, part_kind: PartKind, fitments: dict[int, Fitment], report: dict[str, Any]
) -> dict[str, Any]:
    organisation = vehicle.organisation.code
    return {
        "part_kind": part_kind.code,
        "part_kind_name": part_kind.name,
        "system": part_kind.system,
        "flags": flags_of_vehicle(report, vehicle_id=vehicle.pk),
        "lives": [
            {
                "fitment": fitments[life.fitment_id],
                "life_class": life.life_class,
                "ending": life.ending,
                "stratum": life.stratum,
                "entry_km": life.entry_km if life.used else None,
                "exit_km": life.seen_km if life.used else None,
                "normal_life": normal_life_of(
                    report, organisation=organisation, origin=life.origin
                ),
            }
            for life in lives_of_vehicle(vehicle=vehicle, part_kind=part_kind)
        ],
    }
