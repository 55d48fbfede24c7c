"""What the files of one import share: whose records, which clock, which vehicles are refused."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Protocol

from garage.records.choices import MergedThing
from garage.records.importing.rows import Outcome, ReadRow
from garage.records.merged import merged_into
from garage.records.models import Organisation, Vehicle

#: Vehicles remembered by their references, some 30 MB, for most come again and again.
VEHICLES_REMEMBERED = 250_000


@dataclass
class ImportContext:
    """One import. `refused` says where the row of a refused vehicle stands, by its ref."""

    organisation: Organisation
    as_of: date
    refused: dict[str, str] = field(default_factory=dict)
    refused_ids: dict[int, str] = field(default_factory=dict)
    _vehicle_ids: dict[str, int] = field(default_factory=dict)
    _questions: int = 0

    def vehicles_by_ref(self, refs: Iterable[str]) -> Mapping[str, int]:
        """The recorded vehicles of this organisation among these refs, and perhaps others; merged
        ones as the one they were merged into."""
        if len(self._vehicle_ids) > VEHICLES_REMEMBERED:
            self._vehicle_ids.clear()
        missing = set(refs).difference(self._vehicle_ids)
        if missing:
            self._vehicle_ids.update(self._recorded(missing))
            missing.difference_update(self._vehicle_ids)
        if not missing:
            return self._vehicle_ids
        return self._vehicle_ids | merged_into(
            organisation=self.organisation, thing=MergedThing.VEHICLE, refs=missing
        )

    def _recorded(self, refs: set[str]) -> Iterable[tuple[str, int]]:
        """These vehicles, or at the second question all, where those are not too many: to ask for
        a few hundred takes as long as to be told of some thousands."""
        recorded = Vehicle.objects.filter(organisation=self.organisation).values_list("ref", "pk")
        self._questions += 1
        if self._questions == 2 and recorded.count() <= VEHICLES_REMEMBERED:
            return recorded
        return recorded.filter(ref__in=refs)

    def merged_refs(self, thing: str, refs: Iterable[str]) -> set[str]:
        """Those of these references that went when their record was merged.

        Their rows say what the record kept was told when they were merged: nothing new.
        """
        return set(merged_into(organisation=self.organisation, thing=thing, refs=refs))

    def vehicle_id(self, row: ReadRow, known: Mapping[str, int]) -> int | None:
        """The vehicle a row names, or None with the fault added to the row."""
        ref = row.values.get("vehicle_ref")
        if ref is None:
            return None
        if ref in self.refused:
            self.fault_refused(row, ref, self.refused[ref])
            return None
        if ref not in known:
            row.fault(
                "vehicle_ref",
                "the vehicle of a row must be recorded for this organisation",
                got=ref,
                do="Import its row of the vehicles file first, or correct the reference.",
            )
            return None
        return known[ref]

    @staticmethod
    def fault_refused(row: ReadRow, ref: str, place: str) -> None:
        row.fault(
            "vehicle_ref",
            "the vehicle of a row must not be refused itself",
            got=f"{ref}, refused at {place}",
            do="Correct and import the vehicle's row, then this one.",
        )


class FileApplier(Protocol):
    """Applies the rows of one kind of file; `touched` are the vehicles to settle afterwards."""

    touched: set[int]

    def apply(self, rows: Sequence[ReadRow]) -> list[Outcome]:
        """Write what holds of these rows; a row that does not hold gets its faults."""
        ...

    def counts(self) -> dict[str, int]:
        """What was newly recorded, in the words of the summary."""
        ...

    def notices(self) -> list[str]:
        """What a person should look at."""
        ...
