"""Apply the rows of a clusters file: each a replaced instrument of one vehicle."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from garage.records.distance import to_km
from garage.records.importing.cells import distance_fault
from garage.records.importing.context import ImportContext
from garage.records.importing.rows import Outcome, ReadRow, values_named
from garage.records.models import ClusterReplacement

ReplacementKey = tuple[int, date]


class ClustersFile:
    def __init__(self, context: ImportContext) -> None:
        self.touched: set[int] = set()
        self._context = context
        self._new_replacements = 0
        self._last_id_before = (
            ClusterReplacement.objects.order_by("-pk").values_list("pk", flat=True).first() or 0
        )

    def counts(self) -> dict[str, int]:
        return {"cluster replacements": self._new_replacements}

    def notices(self) -> list[str]:
        return []

    def apply(self, rows: Sequence[ReadRow]) -> list[Outcome]:
        refs = values_named(rows, "vehicle_ref")
        vehicles = self._context.vehicles_by_ref(refs)
        days = values_named(rows, "done_on")
        known = {
            (replacement.vehicle_id, replacement.done_on): replacement
            for replacement in ClusterReplacement.objects.filter(
                vehicle_id__in={vehicles[ref] for ref in refs & vehicles.keys()}, done_on__in=days
            )
        }
        documented: dict[ReplacementKey, ClusterReplacement] = {}
        new: list[ClusterReplacement] = []
        outcomes = []
        for row in rows:
            vehicle_id = self._checked(row, vehicles)
            if vehicle_id is None:
                outcomes.append(Outcome.REJECTED)
                continue
            key = (vehicle_id, row.values["done_on"])
            replacement = known.get(key)
            if replacement is None:
                known[key] = _replacement(vehicle_id, row.values)
                new.append(known[key])
                outcomes.append(Outcome.APPLIED)
                continue
            outcomes.append(self._again(row, replacement))
            if outcomes[-1] is Outcome.APPLIED and replacement.pk is not None:
                documented[key] = replacement
        ClusterReplacement.objects.bulk_create(new)
        ClusterReplacement.objects.bulk_update(documented.values(), ["document"])
        self._new_replacements += len(new)
        self.touched.update(replacement.vehicle_id for replacement in new)
        return outcomes

    def _checked(self, row: ReadRow, vehicles: Mapping[str, int]) -> int | None:
        """The row's vehicle, or None if the row has a fault."""
        values = row.values
        vehicle_id = self._context.vehicle_id(row, vehicles)
        if "offset" in values and "unit" in values:
            fault = distance_fault("offset", abs(values["offset"]), values["unit"])
            row.faults += [fault] if fault else []
        return None if row.faults else vehicle_id

    def _again(self, row: ReadRow, replacement: ClusterReplacement) -> Outcome:
        """A replacement that is recorded for this vehicle and day comes again."""
        values = row.values
        stated = (values["offset"], values["unit"])
        recorded = (replacement.typed_offset, replacement.unit)
        if stated != recorded:
            row.fault(
                "offset",
                "a vehicle's instrument is replaced once a day",
                got=f"{stated[0]} {stated[1]}, recorded is {recorded[0]} {recorded[1]}",
                do="Correct the offset, or the day if it is another replacement.",
            )
        document = values.get("document", "")
        if document and replacement.document and document != replacement.document:
            row.fault(
                "document",
                "the document of a recorded replacement does not change",
                got=f"{document}, recorded is {replacement.document}",
                do="Leave it empty, or correct it.",
            )
        if row.faults:
            return Outcome.REJECTED
        if document and not replacement.document:
            replacement.document = document
            return Outcome.APPLIED
        of_this_file = replacement.pk is None or replacement.pk > self._last_id_before
        return Outcome.REPEATED if of_this_file else Outcome.UNCHANGED


def _replacement(vehicle_id: int, values: dict[str, Any]) -> ClusterReplacement:
    return ClusterReplacement(
        vehicle_id=vehicle_id,
        done_on=values["done_on"],
        typed_offset=values["offset"],
        unit=values["unit"],
        offset_km=to_km(values["offset"], values["unit"]),
        document=values.get("document", ""),
    )
