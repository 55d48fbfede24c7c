"""The jobs that the rows of one chunk name, and what is to be written of them."""

from collections.abc import Sequence
from dataclasses import fields
from operator import attrgetter

from garage.records.bulk_write import keys_reserve, rows_insert
from garage.records.choices import ReadingSource
from garage.records.distance import to_km
from garage.records.importing.context import ImportContext
from garage.records.importing.job_facts import JOB_FACTS, JobNews, JobRecord, KnownJob
from garage.records.importing.lookups import listed
from garage.records.importing.operations import (
    KnownOperation,
    OperationsBefore,
    OperationValues,
    recorded_operations,
)
from garage.records.importing.rows import ReadRow, values_named
from garage.records.models import Job, OdometerReading, Operation, Vehicle

#: The facts of a job and the values of an operation by the names of the models' fields.
JOB_FIELDS = tuple(field.name for field in fields(JobRecord))
OPERATION_FIELDS = tuple(name.removesuffix("_id") for name in OperationValues._fields)


class JobChunk:
    def __init__(
        self,
        context: ImportContext,
        rows: Sequence[ReadRow],
        refs: set[str],
        *,
        before: OperationsBefore,
    ) -> None:
        self.touched: set[int] = set()
        self.jobs: dict[str, KnownJob] = {}
        self._context = context
        self._vehicles = context.vehicles_by_ref(values_named(rows, "vehicle_ref"))
        self._read(refs, before)
        self._new_jobs: list[JobRecord] = []
        self._told: dict[int, JobRecord] = {}
        self._new_readings: list[KnownJob] = []
        self._new_operations: list[tuple[JobRecord, int, OperationValues]] = []
        self._completed: dict[int, KnownOperation] = {}

    def _read(self, refs: set[str], before: OperationsBefore) -> None:
        recorded = Job.objects.filter(organisation=self._context.organisation, ref__in=listed(refs))
        by_id = {
            facts[0]: KnownJob(JobRecord(*facts)) for facts in recorded.values_list(*JOB_FIELDS)
        }
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
        job = JobRecord(None, vehicle_id, ref, system)
        known = self.jobs[ref] = KnownJob(job)
        self._new_jobs.append(job)
        return known

    def tell(self, known: KnownJob, news: JobNews) -> bool:
        """Take over what a row newly tells of the job itself; False if that is nothing."""
        job = known.job
        for name, value in news.facts.items():
            setattr(job, name, value)
        if news.facts and job.pk is not None:
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
        self._insert_jobs()
        told = [name for name in JOB_FACTS if name != "opened_on"]
        Job.objects.bulk_update(
            [
                Job(pk=pk, **{name: getattr(job, name) for name in told})
                for pk, job in self._told.items()
            ],
            told,
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

    def _insert_jobs(self) -> None:
        keys = keys_reserve(Job, len(self._new_jobs)) if self._new_jobs else []
        for job, key in zip(self._new_jobs, keys, strict=True):
            job.pk = key
        facts = attrgetter(*JOB_FIELDS)
        owner = self._context.organisation.pk
        rows_insert(
            Job,
            ("organisation", "id", *(name.removesuffix("_id") for name in JOB_FIELDS[1:])),
            [(owner, *facts(job)) for job in self._new_jobs],
        )

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
