"""The database refuses rows of queued work that contradict themselves."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from garage.background.choices import WorkState
from garage.background.models import QueuedWork

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
LATER = NOW + timedelta(minutes=1)

GOOD: dict[str, dict[str, Any]] = {
    "queued": {},
    "running": {"state": WorkState.RUNNING, "started_at": NOW},
    "done": {"state": WorkState.DONE, "started_at": NOW, "finished_at": LATER},
    "failed": {
        "state": WorkState.FAILED,
        "started_at": NOW,
        "finished_at": LATER,
        "error": "ValueError",
    },
}


def insert(**fields: Any) -> QueuedWork:
    return QueuedWork.objects.create(
        **{"kind": "tests.append", "dedupe_key": "k", "queued_at": NOW, **fields}
    )


@pytest.mark.parametrize("state", GOOD)
def test_row_consistent_is_accepted(state: str) -> None:
    insert(**GOOD[state])
    assert QueuedWork.objects.get().state == GOOD[state].get("state", WorkState.QUEUED)


@pytest.mark.parametrize(
    ("state", "wrong", "constraint"),
    [
        ("queued", {"state": "asleep", "started_at": NOW}, "queued_work_state_known"),
        ("queued", {"kind": ""}, "queued_work_kind_given"),
        ("queued", {"dedupe_key": ""}, "queued_work_key_given"),
        ("queued", {"started_at": NOW}, "queued_work_started_unless_queued"),
        ("running", {"started_at": None}, "queued_work_started_unless_queued"),
        ("running", {"finished_at": LATER}, "queued_work_finished_when_over"),
        ("done", {"finished_at": None}, "queued_work_finished_when_over"),
        ("done", {"finished_at": NOW - timedelta(seconds=1)}, "queued_work_finished_not_before"),
        ("done", {"error": "ValueError"}, "queued_work_error_when_failed"),
        ("failed", {"error": ""}, "queued_work_error_when_failed"),
    ],
)
def test_row_with_one_fault_is_refused(state: str, wrong: dict[str, Any], constraint: str) -> None:
    with pytest.raises(IntegrityError, match=constraint), transaction.atomic():
        insert(**{**GOOD[state], **wrong})


@pytest.mark.parametrize("state", ["queued", "running"])
def test_second_row_of_one_key_is_refused(state: str) -> None:
    insert(**GOOD[state])
    with pytest.raises(IntegrityError), transaction.atomic():
        insert(**GOOD[state])
    insert(**GOOD[state], dedupe_key="another")


@pytest.mark.parametrize("state", ["done", "failed"])
def test_second_row_of_one_key_is_accepted_once_over(state: str) -> None:
    insert(**GOOD[state])
    insert(**GOOD[state])
    assert QueuedWork.objects.count() == 2


def test_one_queued_and_one_running_row_of_a_key_are_accepted() -> None:
    insert(**GOOD["running"])
    insert(**GOOD["queued"])
    assert QueuedWork.objects.count() == 2
