"""Apply the rows of a jobs file: each an operation, rows with one reference are one job."""

from collections import Counter
from collections.abc import Sequence
from difflib import get_close_matches

from garage.records.choices import MergedThing
from garage.records.importing.columns import NO_OPERATION
from garage.records.importing.context import ImportContext
from garage.records.importing.job_chunk import JobChunk
from garage.records.importing.job_facts import KnownJob, job_read
from garage.records.importing.operation_rules import (
    alike_check,
    operation_check,
    removed_once_check,
)
from garage.records.importing.operations import (
    OperationBook,
    OperationsBefore,
    OperationValues,
    operation_values,
)
from garage.records.importing.rows import Outcome, ReadRow, values_named
from garage.records.models import Job, Operation, PartKind

#: Parts outside the catalogue that are counted by name, and that are named in the summary.
PARTS_COUNTED = 1_000
PARTS_NAMED = 10


class JobsFile:
    def __init__(self, context: ImportContext) -> None:
        self.touched: set[int] = set()
        self._context = context
        self._new = Counter[str]()
        self._outside = Counter[str]()
        self._refused_lines: dict[str, int] = {}
        self._part_kinds = {
            code.casefold(): (pk, system)
            for pk, code, system in PartKind.objects.values_list("pk", "code", "system")
        }
        self._before = OperationsBefore(
            Operation.objects.order_by("-pk").values_list("pk", flat=True).first() or 0
        )
        self._last_job_id_before = (
            Job.objects.order_by("-pk").values_list("pk", flat=True).first() or 0
        )

    def counts(self) -> dict[str, int]:
        return {name: self._new[name] for name in ("jobs", "operations", "odometer readings")}

    def notices(self) -> list[str]:
        if not self._outside:
            return []
        named = [
            f"{part} ({count} rows{self._near(part)})"
            for part, count in self._outside.most_common(PARTS_NAMED)
        ]
        more = len(self._outside) - len(named)
        return [
            "parts outside the catalogue, kept without following their lives: "
            + ", ".join(named)
            + (f", and {more} more" if more else "")
        ]

    def apply(self, rows: Sequence[ReadRow]) -> list[Outcome]:
        refs = values_named(rows, "job_ref")
        chunk = JobChunk(self._context, rows, refs, before=self._before)
        merged = self._context.merged_refs(MergedThing.JOB, refs)
        outcomes = [
            Outcome.UNCHANGED
            if not row.faults and row.values["job_ref"] in merged
            else self._row(chunk, row)
            for row in rows
        ]
        self._new.update(chunk.write())
        self.touched |= chunk.touched
        return outcomes

    def _row(self, chunk: JobChunk, row: ReadRow) -> Outcome:
        ref = row.values.get("job_ref")
        known = chunk.jobs.get(ref) if ref is not None else None
        vehicle_id = chunk.vehicle_of(row, known)
        part_kind_id, part_named, part_system = self._part(row)
        news = job_read(
            known, row, part_system=part_system, refused_line=self._refused_lines.get(ref or "")
        )
        operation_check(row, unit=news.unit)
        values = None
        is_job_alone = row.values.get("operation") == NO_OPERATION
        if not row.faults and news.system is not None and not is_job_alone:
            values = operation_values(
                row, system=news.system, part=(part_kind_id, part_named), unit=news.unit
            )
            book = known.operations if known is not None else OperationBook()
            removed_once_check(book, row, values)
            alike_check(book, row, values)
        if row.faults or news.system is None or ref is None:
            if known is None and ref is not None:
                self._refused_lines.setdefault(ref, row.raw.line)
            return Outcome.REJECTED
        if known is None:
            self._refused_lines.pop(ref, None)
            assert vehicle_id is not None  # without one the row has a fault
            known = chunk.begin(ref, vehicle_id, news.system)
        told = chunk.tell(known, news)
        if values is None:
            return self._job_alone(known, told=told)
        nth = row.values.get("nth_alike", 1)
        return self._operation(chunk, known, values, nth, told=told)

    def _part(self, row: ReadRow) -> tuple[int | None, str, str | None]:
        """The part kind of the catalogue, the name of one outside it, and the part's system."""
        named = row.values.get("part_kind")
        if named is None:
            return None, "", None
        in_catalogue = self._part_kinds.get(named.casefold())
        if in_catalogue is None:
            return None, named, None
        return in_catalogue[0], "", in_catalogue[1]

    def _near(self, part: str) -> str:
        near = get_close_matches(part.casefold(), self._part_kinds, n=1)
        return f", perhaps {near[0]}" if near else ""

    def _job_alone(self, known: KnownJob, *, told: bool) -> Outcome:
        if told:
            return Outcome.APPLIED
        key = known.job.pk
        is_of_this_file = key is None or key > self._last_job_id_before
        return Outcome.REPEATED if is_of_this_file else Outcome.UNCHANGED

    def _operation(
        self, chunk: JobChunk, known: KnownJob, values: OperationValues, nth: int, *, told: bool
    ) -> Outcome:
        """Add the operation unless the job has it; `told` says whether the row told of the job."""
        same = known.operations.same(values, nth)
        if same is not None:
            self._before.claim(same)
            repeated = Outcome.REPEATED if same.is_of_this_file else Outcome.UNCHANGED
            return Outcome.APPLIED if told else repeated
        fuller = known.operations.completable(values)
        if fuller is not None:
            operation, merged = fuller
            self._before.claim(operation)
            if merged == operation.values:
                return Outcome.APPLIED if told else Outcome.UNCHANGED
            chunk.complete(known, operation, merged)
            return Outcome.APPLIED
        part = values.part_named
        if part and (part in self._outside or len(self._outside) < PARTS_COUNTED):
            self._outside[part] += 1
        chunk.add(known, values)
        return Outcome.APPLIED
