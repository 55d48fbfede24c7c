"""Whether soot was burned out at a job: what somebody saw of it, and what its logs say."""

from django.db.models import Exists, OuterRef, Q

from garage.evidence.drives.limits import DEFAULTS
from garage.evidence.jobs.drives import drives_say
from garage.evidence.thresholds import Thresholds
from garage.evidence.visit.burns import DISPROVED, burn_proved
from garage.records.models import FindingSeen, Job


def burn_told(*, job: Job, phase: str, limits: Thresholds = DEFAULTS) -> bool:
    """Did the soot burn out at this phase of a job: proved, and by nothing disproved?

    `limits` are those that logs are judged by. What somebody saw stands in place of what a log
    says of the same.
    """
    logged = drives_say(job=job, phase=phase, limits=limits).grades
    told = {each.finding: each.state for each in logged if each.state is not None}
    told |= dict(job.findings_seen.filter(phase=phase).values_list("finding", "state"))
    return burn_proved(told)


def burn_seen_to_fail(job: str) -> Exists:
    """Whether somebody saw that the burn of a job was none; `job` names its key in the query."""
    disproved = Q()
    for finding, state in sorted(DISPROVED):
        disproved |= Q(finding=finding, state=state)
    return Exists(FindingSeen.objects.filter(disproved, job=OuterRef(job)))
