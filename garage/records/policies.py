"""May this happen to a job in its state?"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from garage.records.choices import FILTER_PART_KIND, Cause, OperationKind
from garage.records.errors import RuleBroken
from garage.records.models import Job, Operation

#: A filter taken out or cleaned without a cause comes back: why it filled has to be asked for.
CAUSE_NEEDED = frozenset(
    {
        OperationKind.REPLACE.value,
        OperationKind.CLEAN_OFF_VEHICLE.value,
        OperationKind.CLEAN_ON_VEHICLE.value,
    }
)


@dataclass(frozen=True)
class Closing:
    """What is said when a job is closed."""

    closed_on: date
    findings: str = ""
    cause: str = ""
    cause_note: str = ""


def job_open_check(job: Job) -> None:
    """RuleBroken where the job is closed: what a closed job says is changed by opening it again."""
    if job.closed_on is not None:
        raise RuleBroken(
            "an open job can be changed",
            got=f"one closed on {job.closed_on}",
            do="Open it again, with the reason, and close it when it is right.",
        )


def cause_is_needed(operations: Iterable[Operation]) -> bool:
    """Whether a job with these operations cannot be closed without a cause."""
    return any(
        each.kind in CAUSE_NEEDED
        and each.part_kind is not None
        and each.part_kind.code == FILTER_PART_KIND
        for each in operations
    )


def closing_broken(
    job: Job, operations: Iterable[Operation], closing: Closing
) -> Iterator[RuleBroken]:
    """Everything that speaks against closing this job so; nothing where it may be closed."""
    lines = list(operations)
    if job.closed_on is not None:
        yield RuleBroken(
            "an open job can be closed",
            got=f"one closed on {job.closed_on}",
            do="Look at it again; someone may have closed it.",
        )
    if closing.closed_on < job.opened_on:
        yield RuleBroken(
            f"a job is not closed before it was opened, on {job.opened_on}",
            got=closing.closed_on,
            do="Correct the day.",
            column="closed_on",
        )
    if cause_is_needed(lines) and not closing.cause:
        yield RuleBroken(
            "a filter is replaced or cleaned for a cause",
            got="none",
            do="Say why it filled or failed; “looked for, not found” is an answer, and counted.",
            column="cause",
        )
    if closing.cause == Cause.OTHER and not closing.cause_note.strip():
        yield RuleBroken(
            "another cause is named",
            got="no words",
            do="Say in a few words what it was.",
            column="cause_note",
        )
    if not lines and not closing.findings.strip():
        yield RuleBroken(
            "a job at which nothing was done says what was found",
            got="neither operations nor findings",
            do="Add what was done, or write what was found.",
            column="findings",
        )
