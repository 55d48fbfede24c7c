"""Codes as they are written: each refusal differs in one thing from what is kept."""

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest

from garage.evidence.findings.measured import CODE_GROUPS
from garage.evidence.services.findings import FindingSaid, finding_record
from garage.evidence.services.trouble_codes import (
    LineTyped,
    code_status_record,
    codes_none_record,
    codes_record,
)
from garage.records.errors import RuleBroken
from garage.records.models import AuditEntry, FindingSeen, Job, TroubleCodeRead
from tests.records.evidence_factories import OwnCodeWordingFactory, TroubleCodeReadFactory
from tests.records.factories import JobFactory, UserFactory

pytestmark = pytest.mark.django_db

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
LATER = datetime(2026, 3, 2, 10, 0, tzinfo=UTC)
LINE = LineTyped("P2463, P244B pend.; 3251/0", ecu=" engine  1 ")
FINISHED = FindingSaid("self_tests", "finished")


@pytest.fixture
def job() -> Job:
    return JobFactory(trouble_codes="")


def rows() -> list[tuple[Any, ...]]:
    return list(TroubleCodeRead.objects.order_by("pk").values_list("code", "state", "phase"))


def test_codes_of_a_line_are_kept_with_state_controller_and_audit(job: Job) -> None:
    member = UserFactory()
    kept = codes_record(job=job, said=LINE, at=AT, by=member)
    assert [each.code for each in kept] == ["P2463", "P244B", "3251/0"]
    assert [each.state for each in kept] == ["not_said", "pending", "not_said"]
    assert [each.scheme for each in kept] == ["five_characters"] * 2 + ["spn_fmi"]
    assert {(each.ecu, each.read_at) for each in kept} == {("engine 1", AT)}
    told = AuditEntry.objects.order_by("serial")
    assert [each.changes["code"] for each in told] == [
        [None, "P2463"],
        [None, "P244B"],
        [None, "3251/0"],
    ]
    assert {each.by for each in told} == {member}


def test_failure_type_parts_two_codes(job: Job) -> None:
    codes_record(job=job, said=LineTyped("P2463-92, P2463-11, P2463"), at=AT)
    kept = TroubleCodeRead.objects.order_by("pk").values_list("code", "failure_type")
    assert list(kept) == [("P2463", 0x92), ("P2463", 0x11), ("P2463", None)]


def test_same_code_again_is_brought_up_to_date(job: Job) -> None:
    codes_record(job=job, said=LINE, at=AT)
    codes_record(job=job, said=replace(LINE, text="P2463 confirmed, P244B"), at=LATER)
    assert rows() == [
        ("P2463", "confirmed", "arrival"),
        ("P244B", "pending", "arrival"),
        ("3251/0", "not_said", "arrival"),
    ]
    read = TroubleCodeRead.objects.order_by("pk").values_list("read_at", flat=True)
    assert list(read) == [LATER, LATER, AT]
    changed = AuditEntry.objects.get(serial=4)
    assert (changed.verb, changed.changes["state"]) == ("change", ["not_said", "confirmed"])


@pytest.mark.parametrize(
    "other", [{"phase": "recheck"}, {"ecu": "engine 2"}, {"text": "P2463 permanent"}]
)
def test_same_code_of_another_reading_is_another_row(job: Job, other: dict[str, str]) -> None:
    said = LineTyped("P2463 confirmed", ecu="engine 1")
    codes_record(job=job, said=said, at=AT)
    codes_record(job=job, said=replace(said, **other), at=LATER)
    assert TroubleCodeRead.objects.count() == 2


def test_code_typed_twice_in_one_line_is_kept_once(job: Job) -> None:
    codes_record(job=job, said=LineTyped("P2463, p2463"), at=AT)
    assert rows() == [("P2463", "not_said", "arrival")]


def test_every_unread_part_is_refused_and_nothing_is_kept(job: Job) -> None:
    with pytest.raises(RuleBroken) as refused:
        codes_record(job=job, said=replace(LINE, text="P2463, P2O63, turbo noisy"), at=AT)
    assert [each.got for each in refused.value.broken] == ["P2O63", "turbo", "noisy"]
    assert "send P2063" in str(refused.value.broken[0])
    assert {each.column for each in refused.value.broken} == {"text"}
    assert rows() == []
    codes_record(job=job, said=replace(LINE, text="P2463, P2063"), at=AT)
    assert len(rows()) == 2


@pytest.mark.parametrize(
    ("changed", "column"),
    [
        ({"text": "  "}, "text"),
        ({"phase": "later"}, "phase"),
        ({"ecu": "x" * 41}, "ecu"),
    ],
)
def test_line_that_cannot_be_is_refused(job: Job, changed: dict[str, str], column: str) -> None:
    with pytest.raises(RuleBroken) as refused:
        codes_record(job=job, said=replace(LINE, **changed), at=AT)
    assert [each.column for each in refused.value.broken] == [column]
    assert rows() == []


def test_code_that_came_back_after_its_clearing_is_of_a_later_phase(job: Job) -> None:
    TroubleCodeReadFactory(job=job, code="P2463", cleared_at=AT, cleared_by_name="A. Tester")
    with pytest.raises(RuleBroken, match="later phase"):
        codes_record(job=job, said=LineTyped("P2463 confirmed"), at=LATER)
    codes_record(job=job, said=LineTyped("P2463 confirmed", phase="recheck"), at=LATER)
    assert len(rows()) == 2


def test_code_takes_back_that_there_was_none_of_its_group(job: Job) -> None:
    for group in ("loading", "air"):
        finding_record(job=job, said=FindingSaid(f"codes_{group}", "absent"), at=AT)
    finding_record(job=job, said=FindingSaid("codes_loading", "absent", "recheck"), at=AT)
    codes_record(job=job, said=LineTyped("P2463"), at=LATER)
    left = FindingSeen.objects.order_by("pk").values_list("finding", "phase")
    assert list(left) == [("codes_air", "arrival"), ("codes_loading", "recheck")]
    gone = AuditEntry.objects.get(verb="remove")
    assert gone.changes == {"codes_loading": ["absent", None]}


def test_group_of_an_own_wording_holds_too(job: Job) -> None:
    OwnCodeWordingFactory(organisation=job.organisation, code="P1999", group="air")
    finding_record(job=job, said=FindingSaid("codes_air", "absent"), at=AT)
    codes_record(job=job, said=LineTyped("P1999"), at=LATER)
    assert not FindingSeen.objects.exists()


def test_status_byte_is_kept_changed_and_taken_back(job: Job) -> None:
    code = TroubleCodeReadFactory(job=job)
    for said in (0x2F, 0x2F, None):
        code_status_record(code_read=code, status_byte=said, at=AT)
        assert TroubleCodeRead.objects.get().status_byte == said
    told = [each.changes["status_byte"] for each in AuditEntry.objects.order_by("serial")]
    assert told == [[None, 0x2F], [0x2F, None]]


@pytest.mark.parametrize("said", [-1, 256])
def test_status_that_is_no_byte_is_refused(job: Job, said: int) -> None:
    code = TroubleCodeReadFactory(job=job)
    with pytest.raises(RuleBroken, match="one byte") as refused:
        code_status_record(code_read=code, status_byte=said, at=AT)
    assert refused.value.column == "status_byte"
    code_status_record(code_read=code, status_byte=0, at=AT)
    assert TroubleCodeRead.objects.get().status_byte == 0


def test_none_stored_is_a_finding_for_each_group_once_tests_are_finished(job: Job) -> None:
    finding_record(job=job, said=FINISHED, at=AT)
    codes_none_record(job=job, phase="arrival", at=LATER)
    found = FindingSeen.objects.filter(finding__startswith="codes_", phase="arrival")
    assert {(each.finding, each.state) for each in found} == {
        (f"codes_{group}", "absent") for group in CODE_GROUPS
    }
    assert len(CODE_GROUPS) == 10


@pytest.mark.parametrize(
    ("tests", "phase"),
    [
        (None, "arrival"),
        (FindingSaid("self_tests", "not_finished"), "arrival"),
        (FINISHED, "recheck"),
    ],
)
def test_none_stored_is_refused_while_tests_are_not_known_to_be_finished(
    job: Job, tests: FindingSaid | None, phase: str
) -> None:
    if tests is not None:
        finding_record(job=job, said=tests, at=AT)
    with pytest.raises(RuleBroken, match="says nothing until") as refused:
        codes_none_record(job=job, phase=phase, at=LATER)
    assert "read again" in refused.value.do
    assert not FindingSeen.objects.filter(finding__startswith="codes_").exists()


@pytest.mark.parametrize("where", ["row", "line"])
def test_none_stored_is_refused_where_a_code_was_read(job: Job, where: str) -> None:
    finding_record(job=job, said=FINISHED, at=AT)
    finding_record(job=job, said=replace(FINISHED, phase="recheck"), at=AT)
    if where == "row":
        TroubleCodeReadFactory(job=job, code="P1999", phase="arrival")
    else:
        job.trouble_codes = "P1999"
        job.save()
    with pytest.raises(RuleBroken, match="P1999"):
        codes_none_record(job=job, phase="arrival", at=LATER)
    assert len(codes_none_record(job=job, phase="recheck", at=LATER)) == len(CODE_GROUPS)


def test_tests_seen_before_a_clearing_are_no_longer_finished(job: Job) -> None:
    finding_record(job=job, said=replace(FINISHED, phase="after_work"), at=AT)
    TroubleCodeReadFactory(job=job, cleared_at=LATER, cleared_by_name="A. Tester")
    with pytest.raises(RuleBroken, match="since codes were last cleared"):
        codes_none_record(job=job, phase="after_work", at=LATER)
    finding_record(job=job, said=replace(FINISHED, phase="after_work"), at=LATER)
    assert codes_none_record(job=job, phase="after_work", at=LATER)


def test_phase_that_is_none_is_refused(job: Job) -> None:
    with pytest.raises(RuleBroken) as refused:
        codes_none_record(job=job, phase="later", at=AT)
    assert refused.value.column == "phase"


def test_two_states_of_one_line_are_both_kept_where_none_was_said_before(job: Job) -> None:
    """Fails if the second state takes the place of the first in the row that had none."""
    codes_record(job=job, said=LineTyped("P2463"), at=AT)
    codes_record(job=job, said=LineTyped("P2463 confirmed, P2463 pending"), at=LATER)
    assert rows() == [("P2463", "confirmed", "arrival"), ("P2463", "pending", "arrival")]


def test_code_without_a_state_behind_its_state_takes_nothing_back(job: Job) -> None:
    """Fails if the row of the same line is written over as it stood before."""
    codes_record(job=job, said=LineTyped("P2463"), at=AT)
    codes_record(job=job, said=LineTyped("P2463 confirmed, P2463"), at=LATER)
    assert rows() == [("P2463", "confirmed", "arrival")]


def test_heavy_code_with_two_counts_is_kept_once(job: Job) -> None:
    """Fails, on the database's own rule, if a count makes it another code."""
    codes_record(job=job, said=LineTyped("SPN 3251 FMI 0 OC 3, SPN 3251 FMI 0 OC 4"), at=AT)
    assert rows() == [("3251/0", "not_said", "arrival")]
