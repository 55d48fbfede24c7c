"""A demo region imported by the register's own services, and what the register makes of it."""

import json
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from django.db import transaction

from fixtures.demo import DEMO_SEED, write_demo
from garage.outcomes.facts import Facts
from garage.outcomes.lives import Life, lives_follow
from garage.outcomes.read_facts import facts_read, newest_record_on
from garage.outcomes.report import Report, report_make
from garage.outcomes.usage import Odometers
from garage.records.choices import FILTER_PART_KIND
from garage.records.models import Fitment, OdometerReading, Organisation, PartKind, Vehicle
from garage.records.services.demo import demo_load, demo_organisation_load

NOW = datetime(2026, 1, 2, 8, 0, tzinfo=UTC)
Key = tuple[str, str]
"""Code of an organisation and its own name of a vehicle."""


@dataclass(frozen=True)
class TypedReading:
    """An odometer reading as recorded, and whether it stands."""

    read_on: str
    typed: float
    unit: str
    km: int
    doubt: str
    job_ref: str


@dataclass(frozen=True)
class Found:
    """The report of all organisations, and what a test needs to match it with the truth."""

    told: dict[str, Any]
    report: Report
    facts: Facts
    lives: list[Life]
    vehicle_key: dict[int, Key]
    removed_at: dict[int, str]
    """Reference of the job that took a part out, by fitment."""
    readings: dict[Key, list[TypedReading]]

    def told_of(self, vehicle_id: int) -> dict[str, Any]:
        """The truth about a vehicle."""
        code, ref = self.vehicle_key[vehicle_id]
        told: dict[str, Any] = self.told["vehicles"][code][ref]
        return told

    def cause_of(self, life: Life) -> str:
        """The written cause of a failure: of the filter that this job took out."""
        job_ref = self.removed_at[life.fitment_id]
        (told,) = [
            each for each in self.told_of(life.vehicle_id)["lives"] if each["ended_job"] == job_ref
        ]
        cause: str = told["cause"]
        return cause


@contextmanager
def region_imported(seed: int = DEMO_SEED, scale: float = 1.0) -> Iterator[Found]:
    """Import a region into an empty register, hand out what is found, and leave no rows behind."""
    with tempfile.TemporaryDirectory(prefix="demo-") as folder, transaction.atomic():
        files = write_demo(Path(folder), seed=seed, scale=scale)
        if (seed, scale) == (DEMO_SEED, 1.0):
            demo_load(now=NOW)
        else:
            for each in files.organisations:
                demo_organisation_load(files=each, now=NOW)
        yield _found(json.loads(files.truth.read_text(encoding="utf-8")))
        transaction.set_rollback(True)


def _found(told: dict[str, Any]) -> Found:
    organisations = list(Organisation.objects.order_by("pk"))
    part_kind = PartKind.objects.get(code=FILTER_PART_KIND)
    as_of = newest_record_on([each.pk for each in organisations])
    assert as_of is not None
    facts = facts_read(vehicles_in_view=Vehicle.objects.all(), part_kind=part_kind, as_of=as_of)
    keys = {
        pk: (code, ref)
        for pk, code, ref in Vehicle.objects.values_list("pk", "organisation__code", "ref")
    }
    return Found(
        told=told,
        report=report_make(organisations=organisations, part_kind=part_kind, as_of=as_of),
        facts=facts,
        lives=lives_follow(facts, Odometers(facts)),
        vehicle_key=keys,
        removed_at=dict(
            Fitment.objects.filter(removed_at__isnull=False).values_list("pk", "removed_at__ref")
        ),
        readings=_readings_of_odd(told, keys),
    )


def _readings_of_odd(told: dict[str, Any], keys: dict[int, Key]) -> dict[Key, list[TypedReading]]:
    odd = {(each["organisation"], each["vehicle_ref"]) for each in told["odd"]}
    readings: dict[Key, list[TypedReading]] = {key: [] for key in odd}
    rows = OdometerReading.objects.filter(
        vehicle_id__in=[pk for pk, key in keys.items() if key in odd]
    ).order_by("read_on", "km")
    for row in rows.select_related("job"):
        readings[keys[row.vehicle_id]].append(
            TypedReading(
                read_on=row.read_on.isoformat(),
                typed=float(row.typed),
                unit=row.unit,
                km=row.km,
                doubt=row.doubt,
                job_ref="" if row.job is None else row.job.ref,
            )
        )
    return readings
