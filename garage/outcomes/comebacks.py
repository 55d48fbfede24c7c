"""Index jobs, and what came after each: a comeback, another end, or nothing yet.

One closed unplanned job is one index, under its strongest operation. Codes are cleared at the
end of most repairs; were every operation an index, clearing would look as good as cleaning.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from garage.outcomes.facts import Facts, JobFact, VehicleFacts
from garage.outcomes.usage import Odometers
from garage.records.choices import EndedBecause, OperationKind
from garage.records.index_jobs import strongest_of

#: Causes in the risk tables of comebacks.
CAUSES = ("comeback", "other_end")
WITHDRAWN, COMEBACK, OTHER_END = 0, 1, 2


@dataclass(frozen=True, slots=True)
class IndexJob:
    """A closed unplanned job and how the watch after it ended, on both clocks.

    `outcome` is WITHDRAWN, COMEBACK or OTHER_END; `after_km` is None where no odometer tells.
    """

    job_id: int
    vehicle_id: int
    organisation_id: int
    family: str
    operation: str
    closed_on: date
    outcome: int
    after_days: int
    after_km: int | None
    answered_elsewhere: bool | None
    """Was the next repair of this system made elsewhere? None: the keepers' answers do not tell."""

    @property
    def came_back(self) -> bool:
        return self.outcome == COMEBACK


def index_jobs_follow(facts: Facts, odometers: Odometers) -> list[IndexJob]:
    """Every index job of the part kind's system."""
    system = facts.part_kind.system
    return [
        index
        for vehicle in facts.vehicles
        for index in _of_vehicle(facts, vehicle, system, odometers)
    ]


def strongest_operation(job: JobFact, system: str) -> str | None:
    """The strongest operation of a job on this system; None where there is none of the list."""
    kinds = {kind for kind, touched in job.operations if touched == system}
    return strongest_of(kinds)


def _of_vehicle(
    facts: Facts, vehicle: VehicleFacts, system: str, odometers: Odometers
) -> Iterator[IndexJob]:
    for place, job in enumerate(vehicle.jobs):
        operation = strongest_operation(job, system)
        if not job.unplanned or operation is None:
            continue
        later = vehicle.jobs[place + 1 :]
        # Empty means not known, not still open, once the vehicle has been back.
        closed_on = job.closed_on or (job.opened_on if later else None)
        if closed_on is None:
            continue
        refused = frozenset(
            each.job_id
            for each in later
            if facts.refused_comebacks and (job.job_id, each.job_id) in facts.refused_comebacks
        )
        needs = [each for each in later if each.job_id not in refused]
        outcome, ended_on, ended_km = _what_followed(facts, vehicle, system, needs)
        begun_km = job.km
        if begun_km is not None and ended_km is None:
            ended_km = odometers.km_on(vehicle.vehicle_id, ended_on)
        yield IndexJob(
            job_id=job.job_id,
            vehicle_id=vehicle.vehicle_id,
            organisation_id=vehicle.organisation_id,
            family=vehicle.family,
            operation=operation,
            closed_on=closed_on,
            outcome=outcome,
            after_days=_at_least(outcome, (ended_on - closed_on).days),
            after_km=None
            if begun_km is None or ended_km is None
            else _at_least(outcome, ended_km - begun_km),
            answered_elsewhere=_answered_elsewhere(later, system, refused),
        )


def _answered_elsewhere(later: list[JobFact], system: str, refused: frozenset[int]) -> bool | None:
    """Whether the first need after an index job was met elsewhere, as far as keepers were asked.

    Each answer is about the time since the job before, so one gap that nobody asked about leaves
    it unknown. A need met elsewhere shows only at a later job; to be counted like with like, one
    met here counts only if a later job followed it. A job refused as a comeback is no such need,
    but its keeper's answer counts.
    """
    for place, job in enumerate(later):
        if job.repaired_elsewhere is None:
            return None
        if system in job.repaired_elsewhere:
            return True
        if job.unplanned and job.touches(system) and job.job_id not in refused:
            return False if place + 1 < len(later) else None
        if not job.unplanned and _removes(job, system):
            return False
    return False if later else None


def _what_followed(
    facts: Facts, vehicle: VehicleFacts, system: str, later: list[JobFact]
) -> tuple[int, date, int | None]:
    """How the watch ended, on which day, and at which odometer where a job tells it.

    The silent stay at risk to today: whether they came back elsewhere is what the capture share
    answers for.
    """
    for job in later:
        if vehicle.ended_on is not None and job.opened_on > vehicle.ended_on:
            break
        if job.unplanned and job.touches(system):
            return COMEBACK, job.opened_on, job.km
        if not job.unplanned and _removes(job, system):
            return OTHER_END, job.opened_on, job.km
    if vehicle.ended_on is not None:
        sold_or_scrapped = vehicle.ended_because in (EndedBecause.SOLD, EndedBecause.SCRAPPED)
        return (OTHER_END if sold_or_scrapped else WITHDRAWN), vehicle.ended_on, None
    return WITHDRAWN, facts.as_of, None


def _removes(job: JobFact, system: str) -> bool:
    return any(
        touched == system and kind in (OperationKind.REPLACE, OperationKind.CLEAN_OFF_VEHICLE)
        for kind, touched in job.operations
    )


def _at_least(outcome: int, distance: int) -> int:
    """An event on the closing day, or kilometre, still comes after it: one step of the clock."""
    return max(distance, 0 if outcome == WITHDRAWN else 1)
