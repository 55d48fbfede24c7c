"""Work done by a real worker: a thread over memory, or a Celery process over Redis."""

import os
import signal
from datetime import UTC, datetime
from pathlib import Path

import pytest
from django.db import transaction

from garage.background.choices import WorkState
from garage.background.models import QueuedWork
from garage.background.services import work_enqueue
from tests.task_worker import TaskWorker, celery_process_start
from tests.work_app.pipes import Pipes

NOW = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)


def test_work_queued_is_done_by_the_worker(task_worker: TaskWorker, tmp_path: Path) -> None:
    arguments = {"file": str(tmp_path / "trace"), "line": "x"}
    work = work_enqueue(kind="tests.append", arguments=arguments, now=NOW)
    assert task_worker.wait_for(work).state == WorkState.DONE
    assert (tmp_path / "trace").read_text() == "x\n"


def test_work_that_raises_leaves_the_worker_alive(task_worker: TaskWorker, tmp_path: Path) -> None:
    failing = work_enqueue(kind="tests.fail", arguments={}, now=NOW)
    arguments = {"file": str(tmp_path / "trace"), "line": "x"}
    following = work_enqueue(kind="tests.append", arguments=arguments, now=NOW)
    assert task_worker.wait_for(failing).state == WorkState.FAILED
    assert task_worker.wait_for(following).state == WorkState.DONE


def test_work_rolled_back_never_reaches_the_worker(task_worker: TaskWorker, tmp_path: Path) -> None:
    class TakenBack(Exception):
        pass

    def queue(line: str) -> QueuedWork:
        arguments = {"file": str(tmp_path / "trace"), "line": line}
        return work_enqueue(kind="tests.append", arguments=arguments, now=NOW)

    def queue_and_take_back() -> None:
        with transaction.atomic():
            queue("rolled back")
            raise TakenBack

    with pytest.raises(TakenBack):
        queue_and_take_back()
    task_worker.wait_for(queue("kept"))
    assert (tmp_path / "trace").read_text() == "kept\n"


def test_same_work_queued_while_it_runs_runs_once_more(
    task_worker: TaskWorker, tmp_path: Path, pipes: Pipes
) -> None:
    arguments = {"folder": str(tmp_path)}
    first = work_enqueue(kind="tests.hold", arguments=arguments, now=NOW)
    pipes.wait_started()
    again = [work_enqueue(kind="tests.hold", arguments=arguments, now=NOW) for _ in range(3)]
    assert len({work.pk for work in again}) == 1
    assert again[0] != first
    pipes.release()
    pipes.wait_started()
    pipes.release()
    assert task_worker.wait_for(again[0]).state == WorkState.DONE
    assert pipes.lines() == ["held", "held"]


@pytest.mark.worker_process
@pytest.mark.django_db(transaction=True)
def test_worker_process_killed_takes_its_work_up_again(tmp_path: Path, pipes: Pipes) -> None:
    work = work_enqueue(kind="tests.hold", arguments={"folder": str(tmp_path)}, now=NOW)
    first = celery_process_start("killed@this")
    pipes.wait_started()
    first.send_signal(signal.SIGKILL)
    assert first.wait(60) == -signal.SIGKILL
    work.refresh_from_db()
    assert work.state == WorkState.RUNNING

    second = celery_process_start("killed@this")
    try:
        pipes.wait_started()
        pipes.release()
        assert TaskWorker().wait_for(work).state == WorkState.DONE
    finally:
        second.send_signal(signal.SIGTERM)
        second.wait(60)
    assert work.attempts == 2
    assert pipes.lines() == ["held"]
    assert second.returncode == os.EX_OK
