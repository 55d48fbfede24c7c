"""What the sound filters of an engine family read, from the register's own jobs."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from django.db.models import Exists, OuterRef, Q, QuerySet, Subquery

from garage.evidence.findings.measured import Family
from garage.evidence.jobs.burns_told import burn_seen_to_fail
from garage.evidence.jobs.resistance_readings import readings_taken
from garage.evidence.resistance.limits import DEFAULTS
from garage.evidence.resistance.model import index_alone
from garage.evidence.resistance.reference import (
    COMMON_IDLE,
    COMMON_RAISED,
    FamilyReference,
    ReferenceStatus,
    family_reference,
    pressure_reference,
)
from garage.evidence.resistance.states import Layout
from garage.evidence.resistance.visit import visit_points
from garage.evidence.resistance.visit_said import UNITS, PointTaken, VisitPoints
from garage.evidence.thresholds import Thresholds
from garage.records.choices import BaselineBecause, EvidenceList, JobPhase
from garage.records.models import Baseline, OutcomeConfirmed, Reading

_SOUND = "sound"
#: A filter that proved to be one of these is not sound because soot was burned out of it.
_NOT_BY_A_BURN = ("ash_limited", "broken_through")
#: What blocks the exhaust elsewhere is in every pressure read at that job.
_ELSEWHERE = "restricted_elsewhere"
_COMMON = {"idle": COMMON_IDLE, "raised": COMMON_RAISED}
_LAYOUTS = (Layout.TWO_HOSE, Layout.ONE_HOSE)


@dataclass(frozen=True, slots=True)
class PlainReference:
    """Pressure of sound filters at one condition and with one sensor layout, mbar."""

    condition: str
    layout: Layout
    reference: FamilyReference


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Jobs whose readings went into no reference, and why."""

    reason: str
    jobs: int


@dataclass(frozen=True, slots=True)
class FamilyReferences:
    """What the sound filters of a family read.

    Attributes
    ----------
    index : FamilyReference
        Pressure over flow at the standard reference, two hoses, mbar per m³/h.
    plain : tuple of PlainReference
        Pressures at idle and raised speed whatever the flow, two hoses and one apart.
    left_out : tuple of LeftOut
    """

    index: FamilyReference
    plain: tuple[PlainReference, ...]
    left_out: tuple[LeftOut, ...]

    def at(self, condition: str, layout: Layout) -> FamilyReference:
        """The reference of that condition and layout; KeyError for another."""
        for each in self.plain:
            if (each.condition, each.layout) == (condition, layout):
                return each.reference
        raise KeyError((condition, layout))


@dataclass(slots=True)
class _Values:
    values: list[float] = field(default_factory=list)
    vehicles: list[int] = field(default_factory=list)

    def add(self, value: float, vehicle_id: int) -> None:
        self.values.append(value)
        self.vehicles.append(vehicle_id)


def family_references(
    *, family_id: int, organisation_ids: Iterable[int], limits: Thresholds = DEFAULTS
) -> FamilyReferences:
    """What do sound filters of this family read at the jobs of these organisations?

    Read after the work at jobs whose filter proved sound, or at which a part was fitted or cleaned
    or a burn completed. Not taken: burns that the trace disproves, filters that proved full of ash
    or broken through after no more than a burn, and any with a restriction elsewhere. One query.
    """
    index, plain = _Values(), defaultdict[tuple[str, Layout], _Values](_Values)
    left_out: Counter[str] = Counter()
    for rows in _by_job(_rows(family_id, organisation_ids)):
        vehicle_id = rows[0].job.vehicle_id
        visit = visit_points(readings_taken(rows).taken, limits=limits)
        if why := _why_not(visit):
            left_out[why] += 1
            continue
        for point in _plain_points(visit, limits):
            if point.corrected_mbar is not None:
                plain[point.condition, visit.layout].add(point.corrected_mbar, vehicle_id)
        found = _index(visit, limits)
        if found is not None:
            index.add(found, vehicle_id)
    return FamilyReferences(
        family_reference(index.values, index.vehicles, limits),
        tuple(
            PlainReference(
                condition,
                layout,
                pressure_reference(
                    plain[condition, layout].values,
                    plain[condition, layout].vehicles,
                    _COMMON[condition] if layout is Layout.TWO_HOSE else None,
                    limits,
                ),
            )
            for layout in _LAYOUTS
            for condition in _COMMON
        ),
        tuple(LeftOut(reason, jobs) for reason, jobs in sorted(left_out.items())),
    )


def family_measured(
    *,
    family_id: int,
    organisation_ids: Iterable[int],
    limits: Thresholds = DEFAULTS,
    layout: Layout = Layout.TWO_HOSE,
) -> Family:
    """What does the family read with this sensor layout, for the findings to be graded by?

    The middle, 10 and 90 % of its own sound filters at raised speed and the middle at idle, in
    mbar; each None where too few vehicles were read, for common practice is graded by elsewhere.
    """
    found = family_references(family_id=family_id, organisation_ids=organisation_ids, limits=limits)
    raised, idle = (found.at(each, layout) for each in ("raised", "idle"))
    return Family(
        clean_mbar=_own(raised, 0.5),
        tenth_mbar=_own(raised, 0.1),
        ninetieth_mbar=_own(raised, 0.9),
        idle_mbar=_own(idle, 0.5),
    )


def _own(reference: FamilyReference, share: float) -> float | None:
    """A quantile above zero of the family's own; None where it has none."""
    if reference.status is not ReferenceStatus.OK:
        return None
    value = reference.at(share).value
    return value if value is not None and value > 0.0 else None


def _rows(family_id: int, organisation_ids: Iterable[int]) -> QuerySet[Reading]:
    """Readings after work of jobs that say that the filter was sound then, job by job."""
    of_job = {"reading__job": OuterRef("job")}
    kept = Baseline.objects.filter(**of_job)
    outcome = OutcomeConfirmed.objects.filter(job=OuterRef("job"), list=EvidenceList.FILTER)
    return (
        Reading.objects.filter(
            job__vehicle__engine_family_id=family_id,
            job__organisation_id__in=list(organisation_ids),
            phase=JobPhase.AFTER_WORK,
            quantity__in=list(UNITS),
        )
        .annotate(
            proved=Subquery(outcome.values("state")[:1]),
            new_part=Exists(kept.filter(because=BaselineBecause.NEW_PART)),
            burned=Exists(kept.filter(because=BaselineBecause.COMPLETED_BURN))
            & ~burn_seen_to_fail("job"),
        )
        .filter(
            Q(proved=_SOUND)
            | (Q(new_part=True) & (Q(proved__isnull=True) | ~Q(proved=_ELSEWHERE)))
            | (
                Q(burned=True)
                & (Q(proved__isnull=True) | ~Q(proved__in=(*_NOT_BY_A_BURN, _ELSEWHERE)))
            )
        )
        .select_related("job", "baseline")
        .order_by("job_id", "pk")
    )


def _by_job(rows: Iterable[Reading]) -> Iterable[Sequence[Reading]]:
    of_job: dict[int, list[Reading]] = {}
    for each in rows:
        of_job.setdefault(each.job_id, []).append(each)
    return of_job.values()


def _why_not(visit: VisitPoints) -> str | None:
    if not visit.points:
        return "no pressure was read with the engine running, or its unit is not known"
    if visit.zero is None:
        return "the zero was not read, or lies too far off"
    if visit.layout is Layout.NOT_SAID:
        return "how the sensor is connected is not said"
    return None


def _plain_points(visit: VisitPoints, limits: Thresholds) -> Iterable[PointTaken]:
    """Idle, and raised speed where it was noted and is the one that values are told at."""
    least, most = limits["raised_least_rpm"], limits["raised_most_rpm"]
    raised = [
        each
        for each in visit.points
        if each.condition == "raised"
        and each.speed_rpm is not None
        and least <= each.speed_rpm <= most
        and each.corrected_mbar is not None
        # Nothing above zero at speed says more of a hose than of a filter.
        and each.corrected_mbar > 0.0
    ]
    idle = [each for each in visit.points if each.condition == "idle"]
    return [*idle[-1:], *raised[-1:]]


def _index(visit: VisitPoints, limits: Thresholds) -> float | None:
    if visit.zero is None or visit.layout is not Layout.TWO_HOSE:
        return None
    return index_alone([each.point for each in visit.points], visit.zero, limits)
