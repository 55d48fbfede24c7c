"""Clearings as they are written: when, by whom, and as a clearing among the operations."""

from datetime import UTC, date, datetime

import pytest

from garage.evidence.services.code_clearing import codes_clear
from garage.records.choices import OperationKind, System
from garage.records.errors import RuleBroken
from garage.records.models import AuditEntry, Job, Operation, Recheck, TroubleCodeRead
from garage.records.policies import Closing
from garage.records.services.jobs import job_close
from tests.records.evidence_factories import OwnCodeWordingFactory, TroubleCodeReadFactory
from tests.records.factories import JobFactory, OperationFactory

pytestmark = pytest.mark.django_db

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
DAY = date(2026, 3, 2)


@pytest.fixture
def job() -> Job:
    return JobFactory(opened_on=DAY, closed_on=None, system=System.AIR)


def cleared() -> set[str]:
    found = TroubleCodeRead.objects.filter(cleared_at=AT, cleared_by_name="A. Tester")
    return set(found.values_list("code", flat=True))


def test_all_that_a_tool_can_clear_are_cleared_by_name(job: Job) -> None:
    TroubleCodeReadFactory(job=job, code="P2463")
    TroubleCodeReadFactory(job=job, code="P0299", state="pending")
    TroubleCodeReadFactory(job=job, code="P2002", state="permanent")
    TroubleCodeReadFactory(code="P0401")
    codes_clear(job=job, code_ids=None, name=" A.  Tester ", at=AT)
    assert cleared() == {"P2463", "P0299"}


def test_only_those_chosen_are_cleared(job: Job) -> None:
    one = TroubleCodeReadFactory(job=job, code="P2463")
    TroubleCodeReadFactory(job=job, code="P0299")
    codes_clear(job=job, code_ids=[one.pk], name="A. Tester", at=AT)
    assert cleared() == {"P2463"}


def test_name_is_not_in_the_trail(job: Job) -> None:
    TroubleCodeReadFactory(job=job)
    codes_clear(job=job, code_ids=None, name="A. Tester", at=AT)
    entries = AuditEntry.objects.all()
    assert any("cleared_at" in each.changes for each in entries)
    assert "Tester" not in str([each.changes for each in entries])


def test_open_job_gets_one_clearing_and_never_a_repair(job: Job) -> None:
    first = TroubleCodeReadFactory(job=job, code="P0299")
    second = TroubleCodeReadFactory(job=job, code="P0234")
    for each in (first, second):
        codes_clear(job=job, code_ids=[each.pk], name="A. Tester", at=AT)
    operation = Operation.objects.get(job=job)
    assert (operation.kind, operation.system) == (OperationKind.CLEAR_CODES, System.AIR)


@pytest.mark.parametrize("code", ["P2463", "P1999"])
def test_clearing_of_the_exhaust_makes_a_recheck_due_when_the_job_is_closed(
    job: Job, code: str
) -> None:
    OwnCodeWordingFactory(organisation=job.organisation, code="P1999", group="burn")
    TroubleCodeReadFactory(job=job, code=code)
    codes_clear(job=job, code_ids=None, name="A. Tester", at=AT)
    assert Operation.objects.get(job=job).system == System.EXHAUST_AFTERTREATMENT
    job_close(job=job, closing=Closing(DAY), at=AT)
    assert Recheck.objects.get().job == job


def test_clearing_of_a_closed_job_needs_its_operation(job: Job) -> None:
    code = TroubleCodeReadFactory(job=job)
    job.closed_on = DAY
    job.save()
    with pytest.raises(RuleBroken, match="open job"):
        codes_clear(job=job, code_ids=None, name="A. Tester", at=AT)
    assert cleared() == set()
    OperationFactory(job=job, kind=OperationKind.CLEAR_CODES)
    codes_clear(job=job, code_ids=None, name="A. Tester", at=AT)
    assert cleared() == {code.code}


def test_clearing_without_a_name_is_refused(job: Job) -> None:
    TroubleCodeReadFactory(job=job)
    with pytest.raises(RuleBroken) as refused:
        codes_clear(job=job, code_ids=None, name="  ", at=AT)
    assert refused.value.column == "name"
    assert not Operation.objects.exists()


def test_nothing_to_clear_is_refused(job: Job) -> None:
    with pytest.raises(RuleBroken, match="read and stand"):
        codes_clear(job=job, code_ids=None, name="A. Tester", at=AT)
    assert not Operation.objects.exists()


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"state": "permanent"}, "permanent code"),
        ({"cleared_at": AT, "cleared_by_name": "B. Tester"}, "cleared once"),
    ],
)
def test_code_that_cannot_be_cleared_is_refused_with_why(
    job: Job, changed: dict[str, object], words: str
) -> None:
    free = TroubleCodeReadFactory(job=job, code="P0299")
    held = TroubleCodeReadFactory(job=job, code="P2463", **changed)
    with pytest.raises(RuleBroken, match=words):
        codes_clear(job=job, code_ids=[free.pk, held.pk], name="A. Tester", at=AT)
    assert cleared() == set()
    codes_clear(job=job, code_ids=[free.pk], name="A. Tester", at=AT)
    assert cleared() == {"P0299"}


def test_code_of_another_job_is_refused(job: Job) -> None:
    TroubleCodeReadFactory(job=job)
    other = TroubleCodeReadFactory(code="P0299")
    with pytest.raises(RuleBroken, match="read at it"):
        codes_clear(job=job, code_ids=[other.pk], name="A. Tester", at=AT)
    assert cleared() == set()
