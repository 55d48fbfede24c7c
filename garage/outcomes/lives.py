"""From fitments to lives: rules 1 to 8, one class for each fitment."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from garage.outcomes.choices import FAILURES, Ending, LifeClass, Stratum
from garage.outcomes.facts import Facts, FitmentFact, JobFact, VehicleFacts
from garage.outcomes.usage import Odometers, watched_until
from garage.outcomes.watching import Watch, found_from_km, watch_begins
from garage.records.choices import FitmentStart, FoundInPlace, RemovedBecause

_ENDINGS = {
    RemovedBecause.FAILED: Ending.FAILED,
    RemovedBecause.DAMAGED_BY_OTHER_FAULT: Ending.FAILED_BY_OTHER_FAULT,
    RemovedBecause.SOUND: Ending.REMOVED_UNFAILED,
    RemovedBecause.PLANNED: Ending.REMOVED_UNFAILED,
    RemovedBecause.REPLACED_ELSEWHERE: Ending.REPLACED_ELSEWHERE,
}


@dataclass(frozen=True, slots=True)
class Silence:
    """What has been since the last job of a vehicle that nobody knows to be gone.

    `from_km` is the life's clock at that job, by the odometer or between its readings; from there
    the vehicle goes `km_a_day` if it goes on as it did.
    """

    from_km: int
    days: int
    km_a_day: float


@dataclass(frozen=True, slots=True)
class Life:
    """One fitment on its own clock: km since it was fitted.

    Only lives of class *used* have a meaningful entry and exit. `seen_km` is where the vehicle
    was last at a job, `presumed_km` where it would be today; they differ only for parts still in
    place. `start_km` is the odometer at fitting, None where it is not known. `silence` is None
    for a life that ended, and on a vehicle known to be gone.
    """

    fitment_id: int
    vehicle_id: int
    organisation_id: int
    family: str
    origin: str
    position: str
    stratum: Stratum
    life_class: LifeClass
    ending: Ending
    failed_here: bool
    """Removed here because it failed, whether or not an odometer tells after how many km."""
    removed_on: date | None
    fitted_here: bool
    start_km: int | None
    entry_km: int
    seen_km: int
    presumed_km: int
    last_sound_km: int | None
    looked_km: int | None = None
    """Where a look last found this very part in place, of one that is not known to be gone."""
    gone_by_km: int | None = None
    """Where a look found another part in its place; it was last found itself at `seen_km`."""
    silence: Silence | None = None

    @property
    def failed(self) -> bool:
        return self.ending in FAILURES

    @property
    def used(self) -> bool:
        return self.life_class is LifeClass.USED


def lives_follow(facts: Facts, odometers: Odometers) -> list[Life]:
    """Every fitment known from a row, as a life with its class."""
    return [
        life for vehicle in facts.vehicles for life in _lives_of_vehicle(facts, vehicle, odometers)
    ]


def _lives_of_vehicle(facts: Facts, vehicle: VehicleFacts, odometers: Odometers) -> Iterator[Life]:
    if not vehicle.fitments:
        return
    watch = watch_begins(vehicle, system=facts.part_kind.system)
    latest = _latest(facts, vehicle, odometers)
    for fitment in vehicle.fitments:
        yield _life(vehicle, watch, fitment, latest)


@dataclass(frozen=True, slots=True)
class _Latest:
    """Where a vehicle is now, or was when it left, and where it was at its last job.

    `silent_days` is None for one known to be gone, and for one without a job.
    """

    projected_km: int | None
    last_job_km: int | None
    silent_days: int | None


def _latest(facts: Facts, vehicle: VehicleFacts, odometers: Odometers) -> _Latest:
    projected_km = odometers.km_on(vehicle.vehicle_id, watched_until(facts, vehicle))
    if vehicle.ended_on is not None or not vehicle.jobs:
        return _Latest(projected_km, None, None)
    last_job_on = vehicle.jobs[-1].opened_on
    return _Latest(
        projected_km,
        odometers.km_on(vehicle.vehicle_id, last_job_on),
        (facts.as_of - last_job_on).days,
    )


def _life(vehicle: VehicleFacts, watch: Watch, fitment: FitmentFact, latest: _Latest) -> Life:
    jobs = {job.job_id: job for job in vehicle.jobs}
    removal = _removal(vehicle, jobs, fitment)
    ending, seen_odometer = _end(vehicle, jobs, fitment, removal)
    fitted_here = fitment.start == FitmentStart.FITTED_HERE
    start_km, last_sound_km = fitment.fitted_km, fitment.last_sound_km
    watched_from_km = start_km if fitted_here else found_from_km(vehicle, watch, fitment)
    entry_km = _since(start_km, watched_from_km)
    seen_km = max(entry_km, _since(start_km, seen_odometer))
    if ending in FAILURES and fitted_here:
        # A part that fails before it has gone a kilometre has failed all the same.
        seen_km = max(seen_km, 1)
    presumed_km, silence, looked_km = seen_km, None, None
    if ending is Ending.STILL_IN_PLACE and start_km is not None:
        presumed_km = max(seen_km, _since(start_km, latest.projected_km))
        silence = _silence(latest, seen_km, presumed_km, start_km)
        looked_km = _since(start_km, _last_look_km(vehicle, jobs, fitment))
        looked_km = min(max(entry_km, looked_km), seen_km)
    if watched_from_km is None:
        entry_km = seen_km = presumed_km
    return Life(
        fitment_id=fitment.fitment_id,
        vehicle_id=vehicle.vehicle_id,
        organisation_id=vehicle.organisation_id,
        family=vehicle.family,
        origin=fitment.origin,
        position=fitment.position,
        stratum=Stratum.ON_ARRIVALS if watch.arrived_in_trouble else Stratum.SEEN_BEFORE_TROUBLE,
        life_class=_class(watch, jobs, fitment, entry_km, presumed_km),
        ending=ending,
        failed_here=removal is not None and _why_removed(fitment, removal) in FAILURES,
        removed_on=None if removal is None else removal.opened_on,
        fitted_here=fitted_here,
        start_km=start_km,
        entry_km=entry_km,
        seen_km=seen_km,
        presumed_km=presumed_km,
        last_sound_km=None
        if last_sound_km is None or start_km is None
        else _since(start_km, last_sound_km),
        looked_km=looked_km,
        gone_by_km=_gone_by_km(start_km, seen_km, removal)
        if ending is Ending.REPLACED_ELSEWHERE
        else None,
        silence=silence,
    )


def _silence(latest: _Latest, seen_km: int, presumed_km: int, start_km: int) -> Silence | None:
    days = latest.silent_days
    if days is None:
        return None
    from_km = min(max(seen_km, _since(start_km, latest.last_job_km)), presumed_km)
    return Silence(from_km, days, (presumed_km - from_km) / days if days else 0.0)


def _since(start_km: int | None, odometer_km: int | None) -> int:
    """The life's clock at an odometer reading, 0 where either is not known."""
    return 0 if start_km is None or odometer_km is None else max(0, odometer_km - start_km)


def _class(
    watch: Watch,
    jobs: dict[int, JobFact],
    fitment: FitmentFact,
    entry_km: int,
    exit_km: int,
) -> LifeClass:
    fitted_here = fitment.start == FitmentStart.FITTED_HERE
    first = watch.first_job_id
    # Failed is what the row says, with or without an odometer that stands.
    if (
        not fitted_here
        and first is not None
        and fitment.removed_at_id == first
        and _why_removed(fitment, jobs[first]) in FAILURES
    ):
        return LifeClass.ARRIVED_FAILED
    if fitted_here and fitment.fitted_km is None and _in_doubt(jobs, fitment.fitted_at_id):
        return LifeClass.ODOMETER_IN_DOUBT
    if fitment.fitted_km is None:
        return LifeClass.START_UNKNOWN
    if not fitted_here and watch.arrived_in_trouble:
        return LifeClass.ENTERED_IN_TROUBLE
    if exit_km <= entry_km:
        return LifeClass.NO_WATCHED_TIME
    return LifeClass.USED


def _in_doubt(jobs: dict[int, JobFact], job_id: int | None) -> bool:
    return job_id is not None and job_id in jobs and jobs[job_id].km_in_doubt


def _removal(
    vehicle: VehicleFacts, jobs: dict[int, JobFact], fitment: FitmentFact
) -> JobFact | None:
    """The job that removed it, or found it gone; None while it was watched in place.

    A vehicle sold, scrapped or gone left at that date (rule 8): what was done to it later is of
    another keeper's time.
    """
    if fitment.removed_at_id is None:
        return None
    job = jobs[fitment.removed_at_id]
    return job if vehicle.is_watched_on(job.opened_on) else None


def _end(
    vehicle: VehicleFacts,
    jobs: dict[int, JobFact],
    fitment: FitmentFact,
    removal: JobFact | None,
) -> tuple[Ending, int]:
    """How the life ended, and the odometer at which it left the watch."""
    if removal is None:
        read_at = (
            job.km
            for job in vehicle.jobs
            if job.km is not None and vehicle.is_watched_on(job.opened_on)
        )
        return Ending.STILL_IN_PLACE, max(read_at, default=0)
    ending = _why_removed(fitment, removal)
    if ending is Ending.REPLACED_ELSEWHERE:
        return ending, _last_look_km(vehicle, jobs, fitment, removal)
    if fitment.removed_km is not None:
        return ending, fitment.removed_km
    # Rule 6: without a removal reading that stands, all that is known is that it was in place
    # at the last good reading before.
    before = [km for day, km in vehicle.readings if day <= removal.opened_on]
    return Ending.REMOVAL_KM_NOT_KNOWN, max(before, default=0)


def _why_removed(fitment: FitmentFact, removal: JobFact) -> Ending:
    """Rule 8: where nobody said why, an unplanned removal counts as a failure."""
    return _ENDINGS.get(
        RemovedBecause(fitment.removed_because),
        Ending.COUNTED_FAILED if removal.unplanned else Ending.COUNTED_UNFAILED,
    )


def _last_look_km(
    vehicle: VehicleFacts,
    jobs: dict[int, JobFact],
    fitment: FitmentFact,
    found_gone: JobFact | None = None,
) -> int:
    """Odometer of the last look that found this part; its fitting where nobody looked since.

    Before it was found gone, if it was; and while the vehicle was watched.
    """
    seen = fitment.fitted_km or 0
    for look in vehicle.looks:
        job = jobs[look.job_id]
        if (
            look.position == fitment.position
            and look.found == FoundInPlace.SAME
            and job.km is not None
            and vehicle.is_watched_on(job.opened_on)
            and (
                found_gone is None
                or (job.job_id != found_gone.job_id and job.opened_on <= found_gone.opened_on)
            )
        ):
            seen = max(seen, job.km)
    return seen


def _gone_by_km(start_km: int | None, seen_km: int, found_gone: JobFact | None) -> int | None:
    """The clock that the part would have had when another was found; None if no odometer tells."""
    if start_km is None or found_gone is None or found_gone.km is None:
        return None
    return max(seen_km, found_gone.km - start_km)
