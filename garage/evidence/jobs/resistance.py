"""The resistance of the filter at one job: points, index, and the states that they allow."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from garage.evidence.family_reference import FamilyReferences, family_references
from garage.evidence.jobs.bare_pressures import bare_of
from garage.evidence.jobs.burns_told import burn_told
from garage.evidence.jobs.deposits import deposits_known
from garage.evidence.jobs.reading_rows import reading_said
from garage.evidence.jobs.resistance_readings import readings_taken
from garage.evidence.own_limits import limits_for
from garage.evidence.resistance.model import IndexStatus, ResistanceIndex, resistance_index
from garage.evidence.resistance.ratio import RatioFound, RatioStatus, ratio_tested
from garage.evidence.resistance.reference import FamilyReference, common_practice
from garage.evidence.resistance.states import (
    FilterKnown,
    FilterState,
    StatesAllowed,
    StatesStatus,
    states_allowed,
)
from garage.evidence.resistance.visit import visit_points
from garage.evidence.resistance.visit_said import VisitPoints
from garage.evidence.thresholds import Thresholds
from garage.evidence.visit.said import Unused
from garage.evidence.visit.weighing import is_post_burn
from garage.records.models import Job

#: Before anything is read again: what was read may be all that is missing.
FIND_UNIT = "Find which unit the display shows: pressures without one are left out until then"


@dataclass(frozen=True, slots=True)
class JobResistance:
    """What the pressures of one job at one phase say.

    Attributes
    ----------
    visit : VisitPoints
        Points, zero, and what is missing by name.
    left_out : tuple of Unused
    index : ResistanceIndex
    ratio : RatioFound
    states : StatesAllowed
    family : FamilyReference
        That the states were held to; of the engine family, or common practice.
    references : FamilyReferences or None
        All that the family's sound filters read; None where the vehicle's family is not known.
    volume_l : float or None
    displacement_l : float or None
        Of the engine, as it was said when asked.
    after_completed_burn : bool
    take_next : tuple of str
        What to do next, the first first.
    """

    phase: str
    visit: VisitPoints
    left_out: tuple[Unused, ...]
    index: ResistanceIndex
    ratio: RatioFound
    states: StatesAllowed
    family: FamilyReference
    references: FamilyReferences | None
    volume_l: float | None
    displacement_l: float | None
    after_completed_burn: bool
    take_next: tuple[str, ...]


def job_resistance(
    *,
    job: Job,
    phase: str,
    organisation_ids: Iterable[int],
    displacement_l: float | None = None,
) -> JobResistance:
    """Reckon the filter's resistance at a job that the reader may see (`access_job`).

    The family's reference is that of the organisations named, the limits are those that hold for
    the job. Raises ValueError for a displacement that is not above zero.
    """
    own = limits_for(job.organisation_id, job.vehicle.engine_family_id)
    limits = own.resistance
    rows = list(
        job.technical_readings.filter(phase=phase).select_related("baseline").order_by("pk")
    )
    read = readings_taken(rows)
    visit = visit_points(read.taken, displacement_l, limits)
    index = resistance_index([each.point for each in visit.points], visit.zero, limits=limits)
    if visit.zero_off is not None:
        reason = f"{visit.zero_off.what}: {visit.zero_off.reason}"
        index = replace(index, reason=reason)
    references = _references(job, organisation_ids, limits)
    family = common_practice(limits=limits) if references is None else references.index
    volume_l = deposits_known(job=job).volume_l
    near = any(is_post_burn(reading_said(each), limits) for each in rows)
    after_burn = near and burn_told(job=job, phase=phase, limits=own.drives)
    states = states_allowed(index, FilterKnown(volume_l, visit.layout, after_burn), family, limits)
    return JobResistance(
        phase=phase,
        visit=visit,
        left_out=read.left_out + visit.left_out,
        index=index,
        ratio=_ratio(visit, limits),
        states=states,
        family=family,
        references=references,
        volume_l=volume_l,
        displacement_l=displacement_l,
        after_completed_burn=after_burn,
        take_next=_unit_first(
            bool(bare_of(rows)),
            visit,
            _take_next(visit, index, states, near and not after_burn),
        ),
    )


def _references(
    job: Job, organisation_ids: Iterable[int], limits: Thresholds
) -> FamilyReferences | None:
    family_id = job.vehicle.engine_family_id
    if family_id is None:
        return None
    return family_references(family_id=family_id, organisation_ids=organisation_ids, limits=limits)


def _ratio(visit: VisitPoints, limits: Thresholds) -> RatioFound:
    idle, raised = visit.of("idle"), visit.of("raised")
    if idle is None or raised is None:
        reason = "no pressure that can be used was read at both idle and raised speed"
        return RatioFound(RatioStatus.CANNOT_BE_TOLD, reason)
    return ratio_tested(idle.point, raised.point, visit.zero, limits)


def _unit_first(has_bare: bool, visit: VisitPoints, steps: tuple[str, ...]) -> tuple[str, ...]:
    """Where bare numbers are all that was read, what seems missing may be read already."""
    if not has_bare:
        return steps
    return (FIND_UNIT, *steps) if visit.points or visit.zero_off else (FIND_UNIT,)


def _take_next(
    visit: VisitPoints, index: ResistanceIndex, states: StatesAllowed, burn_unproven: bool
) -> tuple[str, ...]:
    steps = [
        f"Read {each}" if "connected" not in each else f"Note {each}" for each in visit.missing
    ]
    if visit.zero_off is not None:
        steps.insert(0, "Check the pressure sensor and its hoses, then read the zero again")
    if index.status is IndexStatus.NO_PRESSURE:
        steps.insert(0, "Check the pressure sensor and its hoses, also for a swap")
    if index.status is IndexStatus.SCATTERED:
        steps.append("Read again, each speed held for half a minute")
    if burn_unproven:
        steps.append("Prove the burn by its log or a trace, so that ash and soot are told apart")
    steps += _steps_of_states(states)
    return tuple(dict.fromkeys(steps))


def _steps_of_states(states: StatesAllowed) -> list[str]:
    steps = []
    if FilterState.BROKEN_THROUGH in states.allowed or states.status is StatesStatus.BELOW_USUAL:
        steps.append("Blow the hoses through, then count particles at the tailpipe")
    if {FilterState.SOOT_LOADED, FilterState.ASH_LIMITED} <= states.allowed:
        steps.append(
            "Find the cause upstream, then read again just after a completed burn, "
            "where the evidence lets one be done"
        )
    elif states.allowed == {FilterState.ASH_LIMITED}:
        steps.append("Reckon the ash budget below; cleaning off the vehicle comes before a part")
    if states.allowed == {FilterState.SOUND}:
        steps.append("Look for the cause elsewhere: the filter's resistance is that of a sound one")
    return steps
