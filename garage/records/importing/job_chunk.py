"""The jobs that the rows of one chunk name, and what is to be written of them."""

from collections.abc import Sequence

from garage.records.bulk_write import models_insert, rows_insert
from garage.records.choices import ReadingSource
from garage.records.distance import to_km
from garage.records.importing.context import ImportContext
from garage.records.importing.job_facts import JOB_FACTS, JobNews, KnownJob
from garage.records.importing.operations import (
    KnownOperation,
    OperationsBefore,
    OperationValues,
    recorded_operations,
)
from garage.records.importing.rows import ReadRow
from garage.records.models import Job, OdometerReading, Operation, Vehicle

#: The values of an operation by the names of the model's fields.
OPERATION_FIELDS = tuple(name.removesuffix("_id") for name in OperationValues._fields)


class JobChunk:
    def __init__(
        self, context: ImportContext, rows: Sequence[ReadRow], *, before: OperationsBefore
    ) -> None:
        self.touched: set[int] = set()
        self.jobs: dict[str, KnownJob] = {}
        self._context = context
        self._vehicles = context.vehicles_by_ref(
            row.values["vehicle_ref"] for row in rows if "vehicle_ref" in row.values
        )
        self._read({row.values["job_ref"] for row in rows if "job_ref" in row.values}, before)
        self._new_jobs: list[Job] = []
        self._told: dict[int, Job] = {}
        self._new_readings: list[KnownJob] = []
        self._new_operations: list[tuple[Job, int, OperationValues]] = []
        self._completed: dict[int, KnownOperation] = {}

    def _read(self, refs: set[str], before: OperationsBefore) -> None:
        recorded = Job.objects.filter(organisation=self._context.organisation, ref__in=refs)
        by_id = {job.pk: KnownJob(job, is_new=False) for job in recorded}
        if not by_id:
            return
        self.jobs = {known.job.ref: known for known in by_id.values()}
        readings = OdometerReading.objects.filter(job_id__in=by_id)
        for job_id, typed, unit in readings.values_list("job_id", "typed", "unit"):
            by_id[job_id].reading = (typed, unit)
        for job_id, line, pk, values in recorded_operations(by_id):
            by_id[job_id].operations.add(before.known(pk, values), line=line)

    def vehicle_of(self, row: ReadRow, known: KnownJob | None) -> int | None:
        """The vehicle the row is about; None, with a fault where that is one, if not known."""
        vehicle_id = self._context.vehicle_id(row, self._vehicles)
        if known is None:
            return vehicle_id
        recorded_id = known.job.vehicle_id
        refused = self._context.refused_ids.get(recorded_id)
        if vehicle_id is not None and vehicle_id != recorded_id:
            row.fault(
                "vehicle_ref",
                "one job_ref belongs to one vehicle",
                got=f"{row.values['vehicle_ref']}, the job is recorded for "
                f"{Vehicle.objects.get(pk=recorded_id).ref}",
                do="Correct vehicle_ref, or give the other vehicle's job another job_ref.",
            )
        elif vehicle_id is None and "vehicle_ref" not in row.values and refused is not None:
            self._context.fault_refused(row, Vehicle.objects.get(pk=recorded_id).ref, refused)
        return recorded_id

    def begin(self, ref: str, vehicle_id: int, system: str) -> KnownJob:
        job = Job(
            organisation_id=self._context.organisation.pk,
            vehicle_id=vehicle_id,
            ref=ref,
            system=system,
        )
        known = self.jobs[ref] = KnownJob(job, is_new=True)
        self._new_jobs.append(job)
        return known

    def tell(self, known: KnownJob, news: JobNews) -> bool:
        """Take over what a row newly tells of the job itself; False if that is nothing."""
        job = known.job
        for name, value in news.facts.items():
            setattr(job, name, value)
        if news.facts and not known.is_new:
            self._told[job.pk] = job
        if news.reading is not None:
            known.reading = news.reading
            self._new_readings.append(known)
        told = bool(news.facts) or news.reading is not None
        if told:
            self.touched.add(job.vehicle_id)
        return told

    def add(self, known: KnownJob, values: OperationValues) -> None:
        """Add an operation that the job does not have."""
        line = known.operations.last_line + 1
        known.operations.add(KnownOperation(values, None, is_of_this_file=True), line=line)
        self._new_operations.append((known.job, line, values))
        self.touched.add(known.job.vehicle_id)

    def complete(self, known: KnownJob, operation: KnownOperation, merged: OperationValues) -> None:
        """Let a recorded operation say what a fuller row adds."""
        assert operation.id is not None  # only recorded operations are completed
        known.operations.complete(operation, merged)
        self._completed[operation.id] = operation
        self.touched.add(known.job.vehicle_id)

    def write(self) -> dict[str, int]:
        """Write the chunk; how many rows of each kind are new."""
        models_insert(self._new_jobs)
        Job.objects.bulk_update(
            self._told.values(), [name for name in JOB_FACTS if name != "opened_on"]
        )
        self._insert_readings()
        rows_insert(
            Operation,
            ("job", "line", *OPERATION_FIELDS),
            [(job.pk, line, *values) for job, line, values in self._new_operations],
        )
        Operation.objects.bulk_update(
            [
                Operation(pk=pk, **operation.values._asdict())
                for pk, operation in self._completed.items()
            ],
            OPERATION_FIELDS[5:],
        )
        return {
            "jobs": len(self._new_jobs),
            "operations": len(self._new_operations),
            "odometer readings": len(self._new_readings),
        }

    def _insert_readings(self) -> None:
        rows_insert(
            OdometerReading,
            ("vehicle", "job", "read_on", "typed", "unit", "source", "km"),
            [
                (
                    known.job.vehicle_id,
                    known.job.pk,
                    known.job.opened_on,
                    *known.reading,
                    ReadingSource.JOB,
                    to_km(*known.reading),
                )
                for known in self._new_readings
                if known.reading is not None
            ],
        )
