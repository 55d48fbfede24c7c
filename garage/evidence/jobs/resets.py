"""Whether fault memory was reset before a job, by its readings and those of the visit before."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from garage.evidence.codes.reset_distances import burns_closer
from garage.evidence.codes.resets import (
    Recorded,
    ResetSign,
    VisitCounts,
    Work,
    resets_told,
)
from garage.evidence.jobs.visits_before import odometer_of, trusted_km
from garage.evidence.own_limits import limits_for
from garage.records.choices import CodeState, JobPhase, OperationKind
from garage.records.models import Job

#: What may be driven at one visit after its odometer was written down: test drives and a burn.
#: So far a clearing at that visit explains a reset, further it does not. Judgement, no source.
DRIVEN_AT_VISIT_KM = 100
_WORK = {
    OperationKind.CLEAR_CODES: Work.CLEAR,
    OperationKind.SOFTWARE_UPDATE: Work.REPROGRAMMING,
    OperationKind.REPAIR: Work.REPAIR,
    OperationKind.REPLACE: Work.REPAIR,
}
#: The counts of a visit that are readings.
COUNTED = (
    "distance_since_clear",
    "warm_ups_since_clear",
    "distance_with_lamp_on",
    "engine_run_time",
    "burn_interval",
    "odometer_on_board",
)


@dataclass(frozen=True)
class JobResets:
    """What each rule says; `before` is the visit that this one was held against, None: none."""

    before: Job | None
    signs: tuple[ResetSign, ...]


def job_resets(*, job: Job, before: Sequence[Job]) -> JobResets:
    """Hold a job against the visit before it: what do its own counters say of fault memory?

    What was read on arrival counts, the last of each. The visit before is the newest of `before`
    (`visits_before`) whose odometer is trusted; without such a one the newest.
    """
    limits = limits_for(job.organisation_id, job.vehicle.engine_family_id).resets
    now = visit_counts(job)
    at = next((n for n, each in enumerate(before) if trusted_km(each) is not None), 0)
    if not before:
        return JobResets(None, resets_told(None, now, limits=limits))
    last = before[at]
    then = visit_counts(last)
    recorded = _recorded(last, job, before[:at], then, now)
    signs = resets_told(then, now, recorded, limits)
    # Software put in at the visit before begins the mean anew however long ago that was.
    closer = burns_closer(then, now, recorded | works_of(last), limits)
    return JobResets(last, tuple(closer if s.rule == closer.rule else s for s in signs))


def visit_counts(job: Job) -> VisitCounts:
    """What the vehicle counted when it came, as far as it was read."""
    read = job.technical_readings.filter(
        phase=JobPhase.ARRIVAL, quantity__in=COUNTED, standard_value__gte=0
    )
    counts = {each.quantity: each.standard_value for each in read.order_by("pk")}
    warm_ups = counts.get("warm_ups_since_clear")
    odometer = odometer_of(job)
    tests = job.findings_seen.filter(phase=JobPhase.ARRIVAL, finding="self_tests").first()
    states = [each.state for each in job.codes_read.all() if each.phase == JobPhase.ARRIVAL]
    return VisitCounts(
        odometer_km=None if odometer is None else odometer.km,
        odometer_trusted=odometer is not None and not odometer.doubt,
        warm_ups=None if warm_ups is None else round(warm_ups),
        monitors_incomplete=None if tests is None else tests.state != "finished",
        # That a kind of code was not typed is not yet that there was none.
        permanent_codes=states.count(CodeState.PERMANENT) or None,
        stored_codes=states.count(CodeState.CONFIRMED) or None,
        since_clear_km=counts.get("distance_since_clear"),
        lamp_km=counts.get("distance_with_lamp_on"),
        run_hours=counts.get("engine_run_time"),
        burn_interval_km=counts.get("burn_interval"),
        on_board_odometer_km=counts.get("odometer_on_board"),
    )


def works_of(job: Job) -> Recorded:
    """What was done at a job that touches fault memory, or may have."""
    done = {_WORK[OperationKind(op.kind)] for op in job.operations.all() if op.kind in _WORK}
    if any(each.cleared_at is not None for each in job.codes_read.all()):
        done.add(Work.CLEAR)
    return frozenset(done)


def _recorded(
    last: Job, job: Job, between: Iterable[Job], then: VisitCounts, now: VisitCounts
) -> Recorded:
    """Work on record that may explain a reset: all between the visits, and that of either visit
    where the reset lies so near to it that it may have been made there."""
    works = frozenset(work for each in between for work in works_of(each))
    since = now.since_clear_km
    if since is None or then.odometer_km is None or now.odometer_km is None:
        return works
    if now.odometer_km - then.odometer_km - since <= DRIVEN_AT_VISIT_KM:
        works |= works_of(last)
    if since <= DRIVEN_AT_VISIT_KM:
        works |= works_of(job)
    return works
