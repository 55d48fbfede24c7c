"""When a vehicle's part comes under watch: rule 2.

A workshop sees trouble, not vehicles. A part that is met because it is already in trouble tells
nothing of how long such parts last; a part met while the vehicle comes for something else does,
from that day on.
"""

from dataclasses import dataclass
from itertools import dropwhile

from garage.outcomes.facts import FitmentFact, VehicleFacts


@dataclass(frozen=True, slots=True)
class Watch:
    """How one vehicle came into view, as one system sees it."""

    arrived_in_trouble: bool
    first_job_id: int | None
    from_km: int | None
    """True distance from which the part found in place is watched; None: never."""


def watch_begins(vehicle: VehicleFacts, *, system: str) -> Watch:
    """When parts of `system` that were found in place on this vehicle come under watch.

    From new where the vehicle has been watched from new; else at its first job for another
    reason, or the next job whose odometer stands. Never at a mere reading: a reading handed over
    later would be time during which the part could not have been seen to fail.
    """
    first = vehicle.jobs[0] if vehicle.jobs else None
    if vehicle.watched_from_new:
        return Watch(False, None, 0)
    if first is None:
        return Watch(False, None, None)
    if first.unplanned and first.touches(system):
        return Watch(True, first.job_id, None)
    from_km = next((job.km for job in vehicle.jobs if job.km is not None), None)
    return Watch(False, first.job_id, from_km)


def found_from_km(vehicle: VehicleFacts, watch: Watch, fitment: FitmentFact) -> int | None:
    """True distance from which this part, found in place, is watched; None: never.

    Not before the job at which somebody stated it to be the factory's: had it failed before, nobody
    would have stated that, so until then it could not have been seen to fail.
    """
    if watch.from_km is None or fitment.fitted_at_id is None:
        return watch.from_km
    since = dropwhile(lambda job: job.job_id != fitment.fitted_at_id, vehicle.jobs)
    return next((job.km for job in since if job.km is not None), None)
