"""What share of the failures, and of the comebacks, come here to be seen: rule 3.

A failure may be repaired elsewhere. A later look that finds another part in place betrays it,
unless the vehicle never comes back; the keeper's answer whether a system was repaired elsewhere
betrays a comeback that went elsewhere.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from garage.lifetimes.capture.share import (
    COMEBACK_PRIOR,
    PART_PRIOR,
    CapturePrior,
    CaptureShare,
    all_captured,
    capture_share,
)
from garage.lifetimes.resampling.vehicles import CaptureDraws
from garage.outcomes.choices import Ending
from garage.outcomes.comebacks import IndexJob
from garage.outcomes.facts import Facts, FitmentFact, VehicleFacts
from garage.outcomes.lives import Life
from garage.records.choices import RemovedBecause


@dataclass(frozen=True)
class Captures:
    """The capture share of each organisation in view: 1, known, where it sees all repairs."""

    by_organisation: dict[int, CaptureShare]

    def value(self, organisation_id: int) -> float:
        """The share, above 0: the prior's weight sees to that."""
        share = self.by_organisation[organisation_id].value
        if share is None:
            raise LookupError(f"no capture share of organisation {organisation_id}")
        return share

    def draws(self, organisation_ids: Sequence[int]) -> CaptureDraws:
        """The laws of the shares, in the order given."""
        return CaptureDraws.from_shares([self.by_organisation[each] for each in organisation_ids])


def capture_of_failures(
    facts: Facts, lives: Iterable[Life], stay_away: Mapping[int, float] | None = None
) -> Captures:
    """From the looks: failures repaired here and looked at again, against those found out.

    Only of parts known before they were removed: one that no row had told of could not have been
    missed, had it been replaced elsewhere. Parts that arrived failed are among those. And only
    where somebody looked at a job for something else: after a repair here its comebacks come here
    too and are looked at, after one elsewhere they go there (decision 0008). `stay_away` are the
    shares measured; of other organisations judgement stands.
    """
    looked_again = {
        fitment.fitment_id
        for vehicle in facts.vehicles
        for fitment in vehicle.fitments
        if fitment.known_before_removal
        and was_looked_at_since(vehicle, fitment, facts.part_kind.system)
    }
    here: Counter[int] = Counter()
    elsewhere: Counter[int] = Counter()
    for life in lives:
        if life.fitment_id not in looked_again:
            continue
        if life.ending is Ending.REPLACED_ELSEWHERE:
            elsewhere[life.organisation_id] += 1
        elif life.failed_here:
            # With or without an odometer: where it was repaired is known either way.
            here[life.organisation_id] += 1
    return _captures(facts, (here, elsewhere), PART_PRIOR, stay_away or {})


def was_looked_at_since(vehicle: VehicleFacts, fitment: FitmentFact, system: str) -> bool:
    """A look at this position since the part came out, or at the job that found it gone; at a job
    for something else."""
    places = {job.job_id: place for place, job in enumerate(vehicle.jobs)}
    if fitment.removed_at_id is None:
        return False
    first = places[fitment.removed_at_id]
    if fitment.removed_because != RemovedBecause.REPLACED_ELSEWHERE:
        first += 1
    return any(
        look.position == fitment.position
        and places[look.job_id] >= first
        and not vehicle.jobs[places[look.job_id]].touches(system)
        for look in vehicle.looks
    )


def capture_of_comebacks(facts: Facts, index_jobs: Iterable[IndexJob]) -> Captures:
    """From the keepers' answers, of the first need after each index job, wherever it was met."""
    here: Counter[int] = Counter()
    elsewhere: Counter[int] = Counter()
    for index in index_jobs:
        if index.answered_elsewhere is None:
            continue
        if index.answered_elsewhere:
            elsewhere[index.organisation_id] += 1
        elif index.came_back:
            here[index.organisation_id] += 1
    return _captures(facts, (here, elsewhere), COMEBACK_PRIOR, {})


def _captures(
    facts: Facts,
    counts: tuple[Counter[int], Counter[int]],
    prior: CapturePrior,
    stay_away: Mapping[int, float],
) -> Captures:
    here, elsewhere = counts
    shares = {}
    for each in sorted({vehicle.organisation_id for vehicle in facts.vehicles}):
        held = replace(prior, stay_away=stay_away.get(each, prior.stay_away))
        shares[each] = (
            all_captured()
            if each in facts.sees_all
            else capture_share(here[each], elsewhere[each], prior=held)
        )
    return Captures(shares)
