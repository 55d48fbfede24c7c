"""What a file sets going: claims on warranted parts that failed, rechecks after fresh jobs."""

from datetime import UTC, date, datetime, timedelta

import pytest

from garage.records.models import Claim, Operation, Recheck
from garage.records.services.warranties import WarrantyTerms, warranty_set
from tests.records.importing.conftest import AS_OF, Importer

HEADER = (
    "job_ref|vehicle_ref|opened_on|closed_on|odometer|unit|planned|operation|part_kind|"
    "removed_because"
)
FITTED = "J1|V1|2023-05-06|2023-05-06|100000|km|no|replace|particulate_filter|"
FAILED = "J2|V1|2024-05-06|2024-05-06|112000|km|no|replace|particulate_filter|{because}"


def imported(importer: Importer, because: str) -> None:
    importer(vehicles="vehicle_ref\nV1", jobs=f"{HEADER}\n{FITTED}")
    warranty_set(
        operation=Operation.objects.get(),
        terms=WarrantyTerms("supplier", months=24),
        at=datetime(2023, 5, 6, 12, tzinfo=UTC),
    )
    importer(jobs=f"{HEADER}\n{FAILED.format(because=because)}")


def test_claim_opens_when_the_failure_is_imported(importer: Importer) -> None:
    imported(importer, "failed")
    assert Claim.objects.get().failed_at.ref == "J2"


def test_claim_does_not_open_when_the_part_came_out_sound(importer: Importer) -> None:
    imported(importer, "sound")
    assert not Claim.objects.exists()


@pytest.mark.parametrize(("days_ago", "count"), [(0, 1), (27, 1), (28, 0)])
def test_recheck_is_due_after_a_job_closed_lately(
    importer: Importer, days_ago: int, count: int
) -> None:
    day = AS_OF - timedelta(days=days_ago)
    row = f"J1|V1|{day}|{day}|100000|km|no|replace|particulate_filter|"
    for _ in range(2):
        importer(vehicles="vehicle_ref\nV1", jobs=f"{HEADER}\n{row}")
    assert Recheck.objects.count() == count


def test_recheck_is_not_due_after_other_work(importer: Importer) -> None:
    day: date = AS_OF
    row = f"J1|V1|{day}|{day}|100000|km|no|inspect|particulate_filter|"
    importer(vehicles="vehicle_ref\nV1", jobs=f"{HEADER}\n{row}")
    assert not Recheck.objects.exists()
