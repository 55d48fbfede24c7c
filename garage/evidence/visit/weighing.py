"""What all that is said of one visit says together."""

from dataclasses import dataclass

from garage.evidence.codes.meanings import Order, first_to_fix
from garage.evidence.findings.engine import evidence_weigh
from garage.evidence.findings.from_measured import findings_from
from garage.evidence.findings.gate import Gates
from garage.evidence.findings.gates import gates_of, offers_of
from garage.evidence.findings.grade import Grade
from garage.evidence.findings.grade_pressure import speed_why_not, zero_holds_all
from garage.evidence.findings.likelihoods import Likelihoods
from garage.evidence.findings.limits import DEFAULTS
from garage.evidence.findings.measured import Measured
from garage.evidence.findings.situation import Situation
from garage.evidence.findings.weighed import Weighed
from garage.evidence.thresholds import Thresholds
from garage.evidence.visit.burns import burn_disproved
from garage.evidence.visit.measured_of import PRESSURE, is_reckoned_pressure, numbers_taken
from garage.evidence.visit.said import ReadingSaid, Unused, VisitSaid
from garage.records.importing.faults import Fault

#: The measured number that a finding is graded by.
_READ_BY = {
    "zero": "zero_mbar",
    "idle_pressure": "idle_mbar",
    "raised_pressure": "raised_mbar",
    "modelled_soot": "modelled_soot_g",
    "particle_count": "particles_per_cm3",
    "burn_interval": "burn_interval_km",
    "oil_level": "oil_level_percent",
}


@dataclass(frozen=True)
class Evidence:
    """What is said, graded and weighed.

    Attributes
    ----------
    grades : tuple of Grade
        What readings, codes and logs say, each with its numbers and limits.
    ungraded : tuple of Grade
        Those of which something was read that yet tells nothing, with why.
    observed : dict of finding to state
        The findings weighed. Where somebody saw what a reading says too, what was seen holds.
    weighed : Weighed
    gates : Gates
    order : Order
        Which groups of codes to put right first.
    unused : tuple of Unused
    at_odds : tuple of Fault
        Readings that cannot all be true; they are weighed as they stand.
    """

    grades: tuple[Grade, ...]
    ungraded: tuple[Grade, ...]
    observed: dict[str, str]
    weighed: Weighed
    gates: Gates
    order: Order
    unused: tuple[Unused, ...]
    at_odds: tuple[Fault, ...]


def visit_weigh(
    said: VisitSaid, likelihoods: Likelihoods | None = None, limits: Thresholds = DEFAULTS
) -> Evidence:
    """Weigh one visit.

    Questions answered: what is wrong with the sensing, the filter, and upstream of it; which
    findings contradict one another; what to check next; what may be done?

    Parameters
    ----------
    said : VisitSaid
    likelihoods : Likelihoods, optional
        Those shipped where not given.
    limits : Thresholds
        With the organisation's and the engine family's own in place.

    Raises
    ------
    ValueError
        For a finding or state that the vocabulary has not.

    Examples
    --------
    >>> read = (ReadingSaid(PRESSURE, "9 mbar", 9.0, condition="engine_off"),)
    >>> visit_weigh(VisitSaid(readings=read)).observed
    {'zero': 'large'}
    """
    taken = numbers_taken(said)
    grades = _graded(said, taken.measured, limits)
    observed = {each.finding: each.state for each in grades if each.state is not None}
    observed |= said.findings
    situation = _situation(observed, taken.measured, said, limits)
    gates = gates_of(situation, limits)
    ungraded = tuple(
        each
        for each in grades
        if each.state is None
        and each.finding not in observed
        and each.finding in _READ_BY
        and getattr(taken.measured, _READ_BY[each.finding]) is not None
    )
    return Evidence(
        grades=grades,
        ungraded=ungraded,
        observed=observed,
        weighed=evidence_weigh(
            observed,
            thresholds=limits,
            likelihoods=likelihoods,
            offers=offers_of(situation, gates),
            ungraded={each.finding for each in ungraded},
        ),
        gates=gates,
        order=first_to_fix(taken.groups),
        unused=taken.unused,
        at_odds=said.at_odds,
    )


def visit_grades(said: VisitSaid, limits: Thresholds = DEFAULTS) -> tuple[Grade, ...]:
    """What readings, codes and logs of a visit say, each with its numbers and limits.

    Examples
    --------
    >>> read = (ReadingSaid("burn_interval", "90 km", 90.0),)
    >>> grades = visit_grades(VisitSaid(readings=read))
    >>> next(each.state for each in grades if each.finding == "burn_interval")
    'short'
    """
    return _graded(said, numbers_taken(said).measured, limits)


def _graded(said: VisitSaid, measured: Measured, limits: Thresholds) -> tuple[Grade, ...]:
    """What is logged takes the place of what single readings say of the same thing."""
    logged = {each.finding: each for each in said.grades if each.state is not None}
    grades = tuple(
        logged.get(each.finding, each) for each in findings_from(measured, limits).grades
    )
    return grades + tuple(each for each in said.grades if each not in grades)


def _situation(
    observed: dict[str, str], measured: Measured, said: VisitSaid, limits: Thresholds
) -> Situation:
    underneath = observed.get("underneath")
    area, cause = observed.get("hot_work_area"), observed.get("cause_put_right")
    repaired = observed.get("fault_repaired")
    leaks: tuple[str, ...] | None = None
    if underneath is not None:
        leaks = ("fuel, oil, hydraulic fluid or coolant",) if underneath == "leaks" else ()
    return Situation(
        findings=observed,
        leaks=leaks,
        shell_cracked=None if underneath is None else underneath == "shell_cracked",
        hot_work_area_ready=None if area is None else area == "ready",
        cause_fixed=None if cause is None else cause == "put_right",
        soot_g=measured.modelled_soot_g,
        litres=measured.litres,
        own_limit_g=measured.own_soot_limit_g,
        silicon_carbide=measured.silicon_carbide,
        post_burn_mbar=_post_burn(observed, said, measured, limits),
        family_90th_mbar=said.family.ninetieth_mbar,
        cleaned=said.cleaned,
        intermittent_repaired=None if repaired is None else repaired == "repaired",
    )


def _post_burn(
    observed: dict[str, str], said: VisitSaid, measured: Measured, limits: Thresholds
) -> float | None:
    """Pressure at raised speed just after a burn, or after a cleaning, corrected for the zero. None
    where no reading is known to be one, where its speed is not graded, where the burn is disproved,
    and where the zero lets nothing be corrected."""
    zero = measured.zero_mbar
    if zero is None or zero_holds_all(measured, limits) is not None:
        return None
    # A value of one hose is not comparable with the family's of two.
    if measured.one_hose is True:
        return None
    if burn_disproved(observed) and not said.cleaned:
        return None
    after = [each for each in said.readings if said.cleaned or is_post_burn(each, limits)]
    values = [
        each.standard_value
        for each in after
        if (each.quantity, each.condition) == (PRESSURE, "raised")
        and not is_reckoned_pressure(each)
        and each.standard_value is not None
        and speed_why_not(each.speed_rpm, limits) is None
    ]
    return values[-1] - zero if values else None


def is_post_burn(reading: ReadingSaid, limits: Thresholds = DEFAULTS) -> bool:
    """Whether a pressure at raised speed was read just after a burn, whatever became of it."""
    if reading.quantity != PRESSURE or reading.condition != "raised":
        return False
    near_km = (
        reading.km_since_burn is not None and reading.km_since_burn <= limits["post_burn_most_km"]
    )
    near_min = (
        reading.minutes_since_burn is not None
        and reading.minutes_since_burn <= limits["post_burn_most_min"]
    )
    return reading.after_burn or near_km or near_min
