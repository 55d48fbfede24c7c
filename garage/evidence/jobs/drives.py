"""The logs of one job judged, and the vehicle's distances between burns up to it."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from garage.evidence.drives.interval_series import intervals_seen, series_followed
from garage.evidence.drives.intervals import BurnIntervals
from garage.evidence.drives.judged import DriveJudged, drive_judged
from garage.evidence.drives.limits import DEFAULTS
from garage.evidence.drives.log import Drive, drive_read
from garage.evidence.drives.next_steps import drive_next
from garage.evidence.drives.said import DrivesSay, drives_said
from garage.evidence.drives.targets import FilterSaid, Targets, targets_of
from garage.evidence.thresholds import Thresholds
from garage.evidence.visit.measured_of import numbers_taken
from garage.evidence.visit.said import ReadingSaid, VisitSaid
from garage.records.models import DriveLogged, Job, Reading

_SIZES = ("filter_volume", "soot_limit")
_RECKONED, _SINCE = "burn_interval", "distance_since_burn"


@dataclass(frozen=True, slots=True)
class LogJudged:
    """A log with its rows and what they tell; `judged` is None where it can no longer be read,
    and `unread` says why."""

    log: DriveLogged
    drive: Drive | None
    judged: DriveJudged | None
    next_steps: tuple[str, ...]
    unread: str


class IntervalFrom(StrEnum):
    """Where a distance between burns is from."""

    LOGGED = "logged"
    """Between two burns of one log."""
    RECKONED = "reckoned"
    """The vehicle's own mean."""
    OPEN = "open"
    """Since the last burn: the interval is at least this long."""


@dataclass(frozen=True, slots=True)
class IntervalTold:
    """One distance between burns at one of the vehicle's jobs."""

    job_id: int
    job_ref: str
    opened_on: date
    where_from: IntervalFrom
    km: float


@dataclass(frozen=True, slots=True)
class JobDrives:
    """All logs of a job judged.

    Attributes
    ----------
    logs : tuple of LogJudged
        In the order in which they were added.
    targets : Targets
        At which soot a burn begins, and the most for one, by this job's readings.
    intervals : tuple of IntervalTold
        Of the vehicle up to this job, in order.
    logged, reckoned : BurnIntervals or None
        Those between logged burns, and the vehicle's own means (one a job), followed; None where
        there is none.
    """

    logs: tuple[LogJudged, ...]
    targets: Targets
    intervals: tuple[IntervalTold, ...]
    logged: BurnIntervals | None
    reckoned: BurnIntervals | None


def job_drives(*, job: Job, limits: Thresholds = DEFAULTS) -> JobDrives:
    """Judge the logs of a job that the reader may see (`access_job`).

    Answers: how much soot per km does the engine make now, how far are the next burn and the
    limit for one, what were the burns, and do they come ever closer on this vehicle?
    """
    targets = targets_of_job(job=job, limits=limits)
    judged = [log_judged(each, targets, limits) for each in _logs_of_vehicle(job)]
    told = _intervals(job, judged)
    return JobDrives(
        logs=tuple(each for each in judged if each.log.job_id == job.pk),
        targets=targets,
        intervals=told,
        logged=series_followed(_km(told, IntervalFrom.LOGGED), limits),
        reckoned=series_followed(_km(told, IntervalFrom.RECKONED), limits),
    )


def drives_say(*, job: Job, phase: str, limits: Thresholds = DEFAULTS) -> DrivesSay:
    """What the logs of a job at one phase say as findings, for the weighing of its evidence.

    Without a log of the phase only the vehicle's own distances between burns are followed.
    """
    targets = targets_of_job(job=job, limits=limits)
    logs = [
        log_judged(each, targets, limits) for each in job.drives.filter(phase=phase).order_by("pk")
    ]
    burns = [each.judged.burns for each in logs if each.judged is not None]
    reckoned = _km(_read(job, _RECKONED), IntervalFrom.RECKONED)
    return drives_said(burns, reckoned, limits)


def targets_of_job(*, job: Job, limits: Thresholds = DEFAULTS) -> Targets:
    """At which soot a burn begins, and the most for one, from the sizes of the filter that were
    written down at this job, as its gates take them."""
    taken = job.technical_readings.filter(quantity__in=_SIZES).order_by("pk")
    sizes = tuple(
        ReadingSaid(each.quantity, f"{each.value} {each.unit}", each.standard_value)
        for each in taken
    )
    substrate = job.findings_seen.filter(finding="substrate").order_by("pk").last()
    seen = {} if substrate is None else {"substrate": substrate.state}
    known = numbers_taken(VisitSaid(lasting=sizes, findings=seen)).measured
    said = FilterSaid(known.litres, known.silicon_carbide, known.own_soot_limit_g)
    return targets_of(said, limits)


def log_judged(log: DriveLogged, targets: Targets, limits: Thresholds = DEFAULTS) -> LogJudged:
    """One log judged, whatever job it is of."""
    try:
        drive = drive_read(log.text)
    except ValueError as error:
        return LogJudged(log, None, None, (), str(error))
    judged = drive_judged(drive, targets, limits)
    return LogJudged(log, drive, judged, drive_next(judged), "")


def _logs_of_vehicle(job: Job) -> list[DriveLogged]:
    rows = DriveLogged.objects.filter(
        job__vehicle=job.vehicle_id,
        job__organisation=job.organisation_id,
        job__opened_on__lte=job.opened_on,
    )
    return list(rows.select_related("job", "added_by").order_by("job__opened_on", "job_id", "pk"))


def _intervals(job: Job, logs: Iterable[LogJudged]) -> tuple[IntervalTold, ...]:
    logged = [
        _told(each.log.job, IntervalFrom.LOGGED, km)
        for each in logs
        if each.judged is not None
        for km in intervals_seen(each.judged.burns)
    ]
    told = [*logged, *_read(job, _RECKONED), *_read(job, _SINCE)]
    return tuple(sorted(told, key=lambda each: (each.opened_on, each.job_id)))


def _read(job: Job, quantity: str) -> list[IntervalTold]:
    """The last reading of a quantity at each of the vehicle's jobs, up to this one."""
    rows = Reading.objects.filter(
        job__vehicle=job.vehicle_id,
        job__organisation=job.organisation_id,
        job__opened_on__lte=job.opened_on,
        quantity=quantity,
        standard_value__gt=0,
    ).select_related("job")
    where_from = IntervalFrom.RECKONED if quantity == _RECKONED else IntervalFrom.OPEN
    last = {
        each.job_id: _told(each.job, where_from, each.standard_value)
        for each in rows.order_by("job__opened_on", "job_id", "pk")
        if each.standard_value is not None
    }
    return list(last.values())


def _told(job: Job, where_from: IntervalFrom, km: float) -> IntervalTold:
    return IntervalTold(job.pk, job.ref, job.opened_on, where_from, km)


def _km(told: Iterable[IntervalTold], where_from: IntervalFrom) -> list[float]:
    return [each.km for each in told if each.where_from is where_from]
