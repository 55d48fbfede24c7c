"""Looks that were taken and looks that are missing, of one part kind, organisation by organisation.

A look at a job for something else tells whether the part in place is the one last recorded; those
after a failure repaired here are what the capture share is learnt from.
"""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, timedelta

from garage.lifetimes.capture.looks_worth import LooksWorth, looks_worth
from garage.lifetimes.capture.share import PART_PRIOR
from garage.outcomes.capture import Captures, was_looked_at_since
from garage.outcomes.facts import Facts, FitmentFact, VehicleFacts
from garage.outcomes.lives import Life

#: What a workshop can still change is how it asks now. Judgement.
LATELY = timedelta(days=365)


@dataclass(frozen=True)
class Looks:
    """`visits` of the last year for something else, and at how many of them somebody `looked`.

    `missed` are failures repaired here whose vehicle has come again for something else, ever, and
    nobody looked; `worth` is what those looks would have told.
    """

    since: date
    visits: int
    looked: int
    missed: int
    worth: LooksWorth


def looks_counted(facts: Facts, lives: Iterable[Life], captures: Captures) -> dict[int, Looks]:
    """Of each organisation in view."""
    since = facts.as_of - LATELY
    visits: Counter[int] = Counter()
    looked: Counter[int] = Counter()
    unlooked: set[int] = set()
    for vehicle in facts.vehicles:
        exchanged = {each.removed_at_id for each in vehicle.fitments}
        at = {look.job_id for look in vehicle.looks}
        lately = [
            job.job_id
            for job in vehicle.jobs
            if job.opened_on > since
            and job.job_id not in exchanged
            and not job.touches(facts.part_kind.system)
        ]
        visits[vehicle.organisation_id] += len(lately)
        looked[vehicle.organisation_id] += sum(each in at for each in lately)
        unlooked |= {
            fitment.fitment_id
            for fitment in vehicle.fitments
            if fitment.known_before_removal
            and _could_be_looked_at(vehicle, fitment, facts.part_kind.system)
            and not was_looked_at_since(vehicle, fitment, facts.part_kind.system)
        }
    missed = Counter(
        life.organisation_id for life in lives if life.failed_here and life.fitment_id in unlooked
    )
    return {
        organisation: Looks(
            since,
            visits[organisation],
            looked[organisation],
            missed[organisation],
            looks_worth(
                share, missed[organisation], prior=replace(PART_PRIOR, stay_away=share.stay_away)
            ),
        )
        for organisation, share in captures.by_organisation.items()
    }


def _could_be_looked_at(vehicle: VehicleFacts, fitment: FitmentFact, system: str) -> bool:
    """Whether the vehicle has come for something else since the part came out."""
    if fitment.removed_at_id is None:
        return False
    places = {job.job_id: place for place, job in enumerate(vehicle.jobs)}
    after = vehicle.jobs[places[fitment.removed_at_id] + 1 :]
    return any(not job.touches(system) for job in after)
