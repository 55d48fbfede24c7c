"""Jobs of one vehicle that may be one: written twice under two references."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from rapidfuzz import fuzz

from garage.records.duplicates.candidates import LEAST_SHOWN, Candidate, Evidence, weighed

#: A job is entered on the day it is opened or the day after. Common practice, no source.
MOST_DAYS_APART = 1
#: Two notes of one odometer on one visit differ by a road test at most. Common practice.
ODOMETER_SLACK_KM = 5

# Weights in log-odds: judgement.
PRIOR = -1.5
SAME_DAY = 0.5
ODOMETER_SAME = 2.5
ODOMETER_DIFFERS = -4.0
WORK_SAME = 2.0
WORK_SHARED = 1.0
WORK_DIFFERS = -2.0
WORDS_ALIKE = 1.0
#: How alike two complaints must be, of 100.
ALIKE = 85


@dataclass(frozen=True)
class JobToCompare:
    """What a job is told by; `work` are (operation, part or system), `km` None where not known."""

    id: int
    vehicle_id: int
    opened_on: date
    km: int | None
    complaint: str
    work: frozenset[tuple[str, str]]


def job_candidates(jobs: Sequence[JobToCompare]) -> list[Candidate]:
    """Pairs of jobs of one vehicle, a day apart at most, that may be one; likeliest first."""
    ordered = sorted(jobs, key=lambda job: (job.vehicle_id, job.opened_on, job.id))
    found = []
    for place, one in enumerate(ordered):
        for other in ordered[place + 1 :]:
            if (
                other.vehicle_id != one.vehicle_id
                or (other.opened_on - one.opened_on).days > MOST_DAYS_APART
            ):
                break
            candidate = weighed(one.id, other.id, _evidence(one, other))
            if candidate.likelihood >= LEAST_SHOWN:
                found.append(candidate)
    return sorted(found, key=lambda each: (-each.likelihood, each.one_id, each.other_id))


def _evidence(one: JobToCompare, other: JobToCompare) -> Iterator[Evidence]:
    yield Evidence(PRIOR, "two references are two jobs unless something says otherwise")
    if one.opened_on == other.opened_on:
        yield Evidence(SAME_DAY, "opened on the same day")
    if one.km is not None and other.km is not None:
        same = abs(one.km - other.km) <= ODOMETER_SLACK_KM
        yield Evidence(
            ODOMETER_SAME if same else ODOMETER_DIFFERS,
            "the same odometer reading" if same else "different odometer readings",
        )
    if one.work and other.work:
        if one.work == other.work:
            yield Evidence(WORK_SAME, "the same work")
        elif one.work & other.work:
            yield Evidence(WORK_SHARED, "some of the work is the same")
        else:
            yield Evidence(WORK_DIFFERS, "different work")
    if one.complaint and other.complaint:
        alike = fuzz.token_set_ratio(one.complaint.casefold(), other.complaint.casefold()) >= ALIKE
        if alike:
            yield Evidence(WORDS_ALIKE, "the same complaint")
