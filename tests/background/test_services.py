"""Queueing, doing and finding work again, without a worker around it."""

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from pytest_django import DjangoCaptureOnCommitCallbacks

from garage.background import registry
from garage.background.choices import WorkState
from garage.background.errors import UnknownWorkKind
from garage.background.models import QueuedWork
from garage.background.services import work_enqueue, work_requeue_unfinished, work_run
from garage.background.services.enqueue import dedupe_key
from garage.background.services.requeue import ATTEMPTS_ALLOWED, LOST_AFTER
from garage.celery import app

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
LATER = NOW + timedelta(minutes=1)


@pytest.fixture(autouse=True)
def sent(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """The ids of the rows sent to a worker, instead of sending them."""
    ids: list[int] = []
    monkeypatch.setattr(app, "send_task", lambda name, args, **_: ids.extend(args))
    return ids


def queue(file: Path, line: str = "x", *, now: datetime = NOW) -> QueuedWork:
    return work_enqueue(kind="tests.append", arguments={"file": str(file), "line": line}, now=now)


def run(work: QueuedWork, *, now: datetime = NOW, worker: str = "here") -> QueuedWork | None:
    return work_run(work_id=work.pk, worker=worker, clock=lambda: now)


def test_enqueue_sends_only_after_commit(
    tmp_path: Path,
    sent: list[int],
    django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks,
) -> None:
    with django_capture_on_commit_callbacks(execute=True):
        work = queue(tmp_path / "trace")
        assert sent == []
    assert sent == [work.pk]
    assert (work.state, work.queued_at) == (WorkState.QUEUED, NOW)


def test_enqueue_of_unknown_kind_names_the_known() -> None:
    with pytest.raises(UnknownWorkKind, match=r"'tests\.apend'.*tests\.append"):
        work_enqueue(kind="tests.apend", arguments={}, now=NOW)
    assert not QueuedWork.objects.exists()


def test_enqueue_twice_runs_once(tmp_path: Path) -> None:
    first, second = queue(tmp_path / "trace"), queue(tmp_path / "trace", now=LATER)
    assert first == second
    run(first)
    run(second)
    assert (tmp_path / "trace").read_text() == "x\n"


def test_enqueue_with_other_arguments_runs_both(tmp_path: Path) -> None:
    first, second = queue(tmp_path / "trace", "a"), queue(tmp_path / "trace", "b")
    run(first)
    run(second)
    assert (tmp_path / "trace").read_text() == "a\nb\n"


def test_dedupe_key_ignores_the_order_of_names_only() -> None:
    assert dedupe_key("k", {"a": 1, "b": 2}) == dedupe_key("k", {"b": 2, "a": 1})
    assert dedupe_key("k", {"a": 1, "b": 2}) != dedupe_key("k", {"a": 2, "b": 1})
    assert dedupe_key("k", {"a": 1}) != dedupe_key("other", {"a": 1})


def test_enqueue_while_running_queues_again_and_is_sent_at_the_end(
    monkeypatch: pytest.MonkeyPatch,
    sent: list[int],
    django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks,
) -> None:
    seen: dict[str, Any] = {}

    def queue_itself_and_try(arguments: dict[str, Any], now: datetime) -> None:
        seen["again"] = work_enqueue(kind="tests.again", arguments={}, now=now)
        # What a second worker would do with the message now: leave the row to the end of this one.
        seen["meanwhile"] = run(seen["again"], worker="elsewhere")

    monkeypatch.setitem(registry._handlers, "tests.again", queue_itself_and_try)
    first = work_enqueue(kind="tests.again", arguments={}, now=NOW)
    with django_capture_on_commit_callbacks(execute=True):
        run(first)
    assert seen["again"] != first
    assert seen["meanwhile"] is None
    assert sent == [seen["again"].pk] * 2  # when it was queued, and at the end of the first
    seen["again"].refresh_from_db()
    assert seen["again"].state == WorkState.QUEUED


def test_run_done_is_recorded(tmp_path: Path) -> None:
    work = queue(tmp_path / "trace")
    run(work, now=LATER, worker="bench 2")
    work.refresh_from_db()
    assert (work.state, work.attempts, work.worker) == (WorkState.DONE, 1, "bench 2")
    assert (work.started_at, work.finished_at, work.error) == (LATER, LATER, "")


def test_run_twice_does_it_once(tmp_path: Path) -> None:
    work = queue(tmp_path / "trace")
    assert run(work) is not None
    assert run(work) is None
    assert (tmp_path / "trace").read_text() == "x\n"


def test_run_of_a_row_that_is_gone_does_nothing(tmp_path: Path) -> None:
    work = queue(tmp_path / "trace")
    QueuedWork.objects.all().delete()
    assert run(work) is None


def test_run_that_raises_is_recorded_and_logged_without_its_message(
    caplog: pytest.LogCaptureFixture,
) -> None:
    work = work_enqueue(kind="tests.fail", arguments={}, now=NOW)
    run(work)
    work.refresh_from_db()
    assert (work.state, work.error) == (WorkState.FAILED, "ValueError: as asked")
    assert caplog.messages == [f"work {work.pk} failed: ValueError"]


def test_run_with_clock_set_back_still_ends(tmp_path: Path) -> None:
    work = queue(tmp_path / "trace")
    times = iter([LATER, NOW, NOW])
    work_run(work_id=work.pk, worker="here", clock=lambda: next(times))
    work.refresh_from_db()
    assert (work.state, work.finished_at) == (WorkState.DONE, LATER)


def test_run_given_up_for_lost_does_not_end_its_successor(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def lose_itself(arguments: dict[str, Any], now: datetime) -> None:
        work_requeue_unfinished(worker=None, now=now)
        QueuedWork.objects.filter(state=WorkState.QUEUED).update(
            state=WorkState.RUNNING, started_at=LATER, attempts=2
        )

    monkeypatch.setitem(registry._handlers, "tests.lost", lose_itself)
    work = work_enqueue(kind="tests.lost", arguments={}, now=NOW)
    run(work)
    work.refresh_from_db()
    assert (work.state, work.attempts) == (WorkState.RUNNING, 2)


def running(file: Path, *, worker: str = "bench 1", attempts: int = 1) -> QueuedWork:
    work = queue(file)
    QueuedWork.objects.filter(pk=work.pk).update(
        state=WorkState.RUNNING, started_at=NOW, worker=worker, attempts=attempts
    )
    return work


@pytest.mark.parametrize(
    ("back", "after", "interrupted"),
    [
        (None, timedelta(minutes=1), 1),
        ("bench 1", timedelta(minutes=1), 1),
        ("bench 2", timedelta(minutes=1), 0),
        ("bench 2", LOST_AFTER, 1),
    ],
)
def test_requeue_takes_up_what_only_this_worker_can_have_lost(
    tmp_path: Path, back: str | None, after: timedelta, interrupted: int
) -> None:
    work = running(tmp_path / "trace")
    assert work_requeue_unfinished(worker=back, now=NOW + after).interrupted == interrupted
    work.refresh_from_db()
    assert work.state == (WorkState.QUEUED if interrupted else WorkState.RUNNING)


def test_requeue_sends_what_waits_in_its_order(
    tmp_path: Path,
    sent: list[int],
    django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks,
) -> None:
    second = queue(tmp_path / "trace", "b", now=LATER)
    first = queue(tmp_path / "trace", "a", now=NOW)
    with django_capture_on_commit_callbacks(execute=True):
        assert work_requeue_unfinished(worker=None, now=LATER).waiting == 2
    assert sent == [first.pk, second.pk]


@pytest.mark.parametrize(
    ("attempts", "state"),
    [(ATTEMPTS_ALLOWED - 1, WorkState.QUEUED), (ATTEMPTS_ALLOWED, WorkState.FAILED)],
)
def test_requeue_gives_up_work_that_keeps_losing_its_worker(
    tmp_path: Path, attempts: int, state: WorkState
) -> None:
    work = running(tmp_path / "trace", attempts=attempts)
    work_requeue_unfinished(worker=None, now=LATER)
    work.refresh_from_db()
    assert work.state == state
    assert ("lost" in work.error) == (state == WorkState.FAILED)


def test_requeue_leaves_lost_work_to_the_same_work_queued_since(tmp_path: Path) -> None:
    lost = running(tmp_path / "trace")
    since = queue(tmp_path / "trace")
    found = work_requeue_unfinished(worker=None, now=LATER)
    assert (found.waiting, found.interrupted, found.given_up) == (1, 0, 1)
    lost.refresh_from_db()
    assert f"work {since.pk}" in lost.error


def test_handler_registered_twice_for_a_kind_is_refused() -> None:
    with pytest.raises(ValueError, match=r"'tests\.fail' is registered already"):
        registry.work_handler("tests.fail")(lambda arguments, now: None)
