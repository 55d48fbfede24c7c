"""The evidence as a Django application: it has commands, and no tables of its own."""

from typing import Any

from django.apps import AppConfig

from garage.records.signals import vehicles_settled


class EvidenceConfig(AppConfig):
    name = "garage.evidence"
    label = "evidence"

    def ready(self) -> None:
        vehicles_settled.connect(_bare_readings_restate, dispatch_uid="bare readings")


def _bare_readings_restate(vehicle_ids: list[int], **_: Any) -> None:
    from garage.evidence.services.display_units import vehicle_readings_restate

    vehicle_readings_restate(vehicle_ids=vehicle_ids)
