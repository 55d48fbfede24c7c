"""A file that still names a record that was merged means the one it was merged into."""

from datetime import UTC, datetime

from garage.records.importing.rows import Outcome
from garage.records.merged import merged_into
from garage.records.models import Job, Merge, Vehicle
from garage.records.services.merge import jobs_merge, merge_undo, vehicles_merge
from tests.records.factories import OrganisationFactory
from tests.records.importing.conftest import Importer

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
VEHICLES = "vehicle_ref\nV1\nV2\nV3"
JOBS = """
    job_ref|vehicle_ref|opened_on|system|operation
    J1|V1|2024-05-06|fuel|repair
    J2|V2|2024-06-06|fuel|repair
"""


def vehicle(ref: str) -> Vehicle:
    return Vehicle.objects.get(ref=ref)


def merge(kept: str, gone: str) -> Merge:
    return vehicles_merge(kept=vehicle(kept), gone=vehicle(gone), reason="one", at=AT)


def test_vehicle_rows_of_a_merged_vehicle_change_nothing(importer: Importer) -> None:
    importer(vehicles=VEHICLES)
    merge("V1", "V2")
    summary = importer.one(vehicles=VEHICLES)
    assert summary.outcomes[Outcome.UNCHANGED] == 3
    assert Vehicle.objects.count() == 2


def test_job_of_a_merged_vehicle_lands_on_the_one_kept(importer: Importer) -> None:
    importer(vehicles=VEHICLES)
    merge("V1", "V2")
    merge("V3", "V1")
    importer(jobs=JOBS)
    assert set(Job.objects.values_list("vehicle__ref", flat=True)) == {"V3"}


def test_merge_that_was_undone_does_not_count(importer: Importer) -> None:
    importer(vehicles=VEHICLES)
    merge_undo(merge=merge("V1", "V2"), at=AT)
    importer(jobs=JOBS)
    assert set(Job.objects.values_list("vehicle__ref", flat=True)) == {"V1", "V2"}


def test_rows_of_a_merged_job_change_nothing(importer: Importer) -> None:
    importer(vehicles="vehicle_ref\nV1", jobs=JOBS.replace("V2", "V1"))
    kept, gone = Job.objects.get(ref="J1"), Job.objects.get(ref="J2")
    jobs_merge(kept=kept, gone=gone, reason="one", at=AT)
    summary = importer.one(jobs=JOBS.replace("V2", "V1"))
    assert summary.outcomes[Outcome.UNCHANGED] == 2
    assert Job.objects.count() == 1


def test_references_of_another_organisation_mean_nothing(importer: Importer) -> None:
    importer(vehicles=VEHICLES)
    merged = merge("V1", "V2")
    asked = {"organisation": importer.organisation, "thing": "vehicle", "refs": ["V2", "V9"]}
    assert merged_into(**asked) == {"V2": merged.kept_id}
    Merge.objects.update(organisation=OrganisationFactory())
    assert merged_into(**asked) == {}
