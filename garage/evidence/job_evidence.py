"""What the readings, codes and findings of one job say together."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from garage.evidence.codes.line import parse_line
from garage.evidence.codes.meanings import Order, first_to_fix, grouped, groups
from garage.evidence.findings.engine import evidence_weigh
from garage.evidence.findings.from_measured import findings_from
from garage.evidence.findings.gate import Gates
from garage.evidence.findings.gates import gates_of, offers_of
from garage.evidence.findings.grade import Grade
from garage.evidence.findings.likelihoods import Confirmed, Likelihoods
from garage.evidence.findings.likelihoods_read import likelihoods
from garage.evidence.findings.measured import CODE_GROUPS, Measured
from garage.evidence.findings.situation import Situation
from garage.evidence.findings.weighed import Weighed
from garage.evidence.gauges.units import PA_PER_MBAR, pa_per_unit
from garage.records.choices import EngineCondition, JobPhase, SensorLayout
from garage.records.models import FindingSeen, Job, OutcomeConfirmed, Reading

#: The measured number that a finding is graded by.
_READ_BY = {
    "zero": "zero_mbar",
    "idle_pressure": "idle_mbar",
    "raised_pressure": "raised_mbar",
    "modelled_soot": "modelled_soot_g",
}
_PRESSURE = "pressure_across_filter"
#: What is taken in one unit only, and whether it may be nothing.
_SIZES = {"filter_volume": ("L", False), "soot_limit": ("g", False), "soot_mass": ("g", True)}


@dataclass(frozen=True)
class Unused:
    """A reading or code that went into nothing, and why."""

    what: str
    reason: str


@dataclass(frozen=True)
class JobEvidence:
    """The evidence of one job at one phase.

    `observed` are the findings weighed: those that somebody saw, and those that follow from
    readings and codes (`grades`), the seen ones first where both speak. `ungraded` are those of
    which something was read that yet tells nothing, with why.
    """

    phase: str
    grades: tuple[Grade, ...]
    ungraded: tuple[Grade, ...]
    seen: dict[str, FindingSeen]
    observed: dict[str, str]
    weighed: Weighed
    gates: Gates
    order: Order
    unused: tuple[Unused, ...]
    learnt_from: float


def job_evidence(*, job: Job, phase: str, organisation_ids: Iterable[int]) -> JobEvidence:
    """Weigh a job that the reader may see (`access_job`).

    Questions answered: what is wrong with the sensing, the filter, and upstream of it; which
    findings contradict one another; what to check next; what may be done. The likelihoods learn
    from the confirmed outcomes of the organisations named.
    """
    measured, unused = _measured(job, phase)
    read = findings_from(measured)
    seen = {each.finding: each for each in job.findings_seen.filter(phase=phase)}
    observed = dict(read.observed) | {key: each.state for key, each in seen.items()}
    learnt = likelihoods_learnt(organisation_ids=organisation_ids)
    situation = _situation(observed, measured)
    gates = gates_of(situation)
    present = [each for each, here in (measured.code_groups or {}).items() if here]
    return JobEvidence(
        phase=phase,
        grades=read.grades,
        ungraded=tuple(
            each
            for each in read.grades
            if each.state is None
            and each.finding not in observed
            and each.finding in _READ_BY
            and getattr(measured, _READ_BY[each.finding]) is not None
        ),
        seen=seen,
        observed=observed,
        weighed=evidence_weigh(observed, likelihoods=learnt, offers=offers_of(situation, gates)),
        gates=gates,
        order=first_to_fix(present),
        unused=tuple(unused),
        learnt_from=learnt.confirmed,
    )


def likelihoods_learnt(*, organisation_ids: Iterable[int]) -> Likelihoods:
    """The likelihoods shipped, with what these organisations' confirmed outcomes add."""
    outcomes: dict[int, dict[str, str]] = {}
    ids = list(organisation_ids)
    confirmed = OutcomeConfirmed.objects.filter(job__organisation_id__in=ids)
    for job_id, of, state in confirmed.order_by().values_list("job_id", "list", "state"):
        outcomes.setdefault(job_id, {})[of] = state
    found = FindingSeen.objects.filter(
        job__organisation_id__in=ids, phase=JobPhase.ARRIVAL, job__outcomes_confirmed__isnull=False
    ).distinct()
    counted: Counter[tuple[str, str, tuple[tuple[str, str], ...]]] = Counter()
    for job_id, finding, state in found.order_by().values_list("job_id", "finding", "state"):
        counted[finding, state, tuple(sorted(outcomes[job_id].items()))] += 1
    return likelihoods().updated(
        [
            Confirmed(finding, state, **dict(proved), count=count)
            for (finding, state, proved), count in counted.items()
        ]
    )


def _measured(job: Job, phase: str) -> tuple[Measured, list[Unused]]:
    taken = list(job.technical_readings.order_by("pk"))
    readings = [each for each in taken if each.phase == phase]
    pressures, unused = _pressures(readings)
    raised = [each for each in readings if _is_pressure_at(each, EngineCondition.RAISED)]
    groups = _code_groups(job, unused) if phase == JobPhase.ARRIVAL else None
    layouts = {each.layout for each in readings if each.layout}
    speeds = [float(each.speed_rpm) for each in raised if each.speed_rpm]
    since = [float(each.km_since_burn) for each in readings if each.km_since_burn is not None]
    return (
        Measured(
            zero_mbar=pressures.get(EngineCondition.ENGINE_OFF),
            idle_mbar=pressures.get(EngineCondition.IDLE),
            raised_mbar=pressures.get(EngineCondition.RAISED),
            raised_rpm=speeds[-1] if speeds else None,
            one_hose=SensorLayout.ONE_HOSE in layouts if len(layouts) == 1 else None,
            # The size of a filter and its limit hold whenever they were written down.
            litres=_size(taken, "filter_volume", unused),
            own_soot_limit_g=_size(taken, "soot_limit", unused),
            modelled_soot_g=_size(readings, "soot_mass", unused),
            distance_since_burn_km=since[-1] if since else None,
            code_groups=groups,
        ),
        unused,
    )


def _situation(observed: dict[str, str], measured: Measured) -> Situation:
    underneath = observed.get("underneath")
    area, cause = observed.get("hot_work_area"), observed.get("cause_put_right")
    leaks: tuple[str, ...] | None = None
    if underneath is not None:
        leaks = ("fuel, oil or coolant",) if underneath == "leaks" else ()
    return Situation(
        findings=observed,
        leaks=leaks,
        shell_cracked=None if underneath is None else underneath == "shell_cracked",
        hot_work_area_ready=None if area is None else area == "ready",
        cause_fixed=None if cause is None else cause == "put_right",
        soot_g=measured.modelled_soot_g,
        litres=measured.litres,
        own_limit_g=measured.own_soot_limit_g,
    )


def _size(readings: list[Reading], quantity: str, unused: list[Unused]) -> float | None:
    """The last value of a quantity. One that cannot be is told, and leaves it not known: an older
    value may no longer hold, and a burn hangs on it."""
    unit, may_be_nothing = _SIZES[quantity]
    found: float | None = None
    for each in readings:
        if each.quantity != quantity:
            continue
        found = None
        said = f"{quantity.replace('_', ' ')} {each.value.normalize():f} {each.unit}".strip()
        if each.unit.casefold() != unit.casefold():
            unused.append(Unused(said, f"taken in {unit} only"))
        elif each.value < 0 or (each.value == 0 and not may_be_nothing):
            unused.append(Unused(said, "is above 0; read it again"))
        else:
            found = float(each.value)
    return found


def _is_pressure_at(reading: Reading, condition: str) -> bool:
    return reading.quantity == _PRESSURE and reading.condition == condition


def _pressures(readings: list[Reading]) -> tuple[dict[str, float], list[Unused]]:
    """The last pressure of each condition in mbar, and those that could not be used."""
    found: dict[str, float] = {}
    unused: list[Unused] = []
    for each in readings:
        if each.quantity != _PRESSURE:
            continue
        said = f"pressure {each.value.normalize():f} {each.unit}".strip()
        factor = pa_per_unit(each.unit)
        if not each.unit:
            unused.append(Unused(said, "the display shows no unit; say which it is"))
        elif factor is None:
            unused.append(Unused(said, "no unit of pressure that is known here"))
        elif not each.condition:
            unused.append(Unused(said, "whether the engine was off, idling or raised is not said"))
        else:
            found[each.condition] = float(Fraction(each.value) * factor / PA_PER_MBAR)
    return found, unused


def _code_groups(job: Job, unused: list[Unused]) -> dict[str, bool] | None:
    """Groups of the codes on arrival; None where none were written down, for that is not none."""
    if not job.trouble_codes.strip():
        return None
    line = parse_line(job.trouble_codes)
    unused.extend(Unused(each.written, each.reason) for each in line.unread)
    by_group = grouped(each.code.printed.split("-")[0] for each in line.codes)
    unused.extend(Unused(code, "not in the list of codes here") for code in by_group.get("", ()))
    known = set(by_group) & set(CODE_GROUPS)
    for group in sorted(set(by_group) - known - {""}):
        reason = f"{groups()[group]}: not weighed here"
        unused.extend(Unused(code, reason) for code in by_group[group])
    return dict.fromkeys(sorted(known), True) or None
