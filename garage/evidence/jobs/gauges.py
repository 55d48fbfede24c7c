"""What the displays of one job show: in which unit, and whether the sensor behind reads true."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from garage.evidence.display_units import PRESSURE, DisplayUnit, unit_of_display
from garage.evidence.gauges.hoses import HoseReadings
from garage.evidence.gauges.limits import DEFAULTS
from garage.evidence.gauges.sensor_check import Known, Point, SensorCheck, sensor_checked
from garage.evidence.gauges.unit_inference import Pair, UnitInference
from garage.evidence.gauges.unit_over_jobs import unit_over_jobs
from garage.evidence.gauges.unit_physics import Shown, UnitPhysics, units_left
from garage.evidence.gauges.units import PA_PER_MBAR
from garage.evidence.jobs.bare_pressures import bare_of
from garage.evidence.thresholds import Thresholds
from garage.records.choices import EngineCondition, SensorLayout
from garage.records.models import GaugePair, Instrument, Job, Reading


@dataclass(frozen=True)
class DisplayOfJob:
    """A display, its pairs here, and what they tell.

    `unit` is None where nobody named or confirmed it; `inferred` where no pair was taken, here or
    at another job; `left` where pairs tell more, or no bare number was read; `sensor` where it
    cannot be checked, and `sensor_waits` says for what. `at_rest` is of how many readings its
    zero is.
    """

    instrument: Instrument
    pairs: tuple[GaugePair, ...]
    pairs_elsewhere: int
    unit: DisplayUnit | None
    inferred: UnitInference | None
    left: UnitPhysics | None
    points: tuple[Point, ...]
    at_rest: int
    sensor: SensorCheck | None
    sensor_waits: str


@dataclass(frozen=True)
class JobGauges:
    """The displays of a job; its pressures as far as they are known in Pa, for the hoses; how
    many bare pressures name no display; and at which conditions pressures wait for a unit."""

    displays: tuple[DisplayOfJob, ...]
    pressures: HoseReadings
    bare_of_no_display: int
    waits_for_unit: frozenset[str] = frozenset()


def job_gauges(
    *,
    job: Job,
    phase: str,
    sound_idle_pa: float | None = None,
    limits: Thresholds = DEFAULTS,
) -> JobGauges:
    """Tell of the displays of a job that the reader may see (`access_job`), at one phase.

    Answers: which unit does each display show, by pairs with a known gauge on this engine family,
    or else by what physics excludes; and does the sensor read true, by this job's pairs? Readings
    with the engine off, and pairs without pressure, are its zero. `sound_idle_pa` is what a sound
    filter of the family reads at idle, where that is known.
    """
    readings = list(job.technical_readings.filter(quantity=PRESSURE, phase=phase).order_by("pk"))
    at_rest = tuple(_pa(each) for each in _known_at(readings, EngineCondition.ENGINE_OFF))
    pairs = _pairs_of_family(job)
    shown_by = {each.instrument_id for each in readings if each.instrument_id is not None}
    shown_by |= {each.instrument_id for each in pairs}
    displays = (
        Instrument.objects.filter(pk__in=shown_by).prefetch_related("units").order_by("name", "pk")
    )
    told = tuple(
        _display(
            _Read(
                display,
                job,
                tuple(each for each in pairs if each.instrument_id == display.pk),
                tuple(each for each in readings if each.instrument_id == display.pk),
                at_rest,
            ),
            sound_idle_pa,
            limits,
        )
        for display in displays
    )
    bare = sum(not each.unit and each.instrument_id is None for each in readings)
    return JobGauges(told, _pressures(readings), bare, bare_of(readings))


@dataclass(frozen=True)
class _Read:
    """What was read off one display: pairs on the engine family, readings of this job."""

    display: Instrument
    job: Job
    pairs: tuple[GaugePair, ...]
    readings: tuple[Reading, ...]
    at_rest_pa: tuple[float, ...]

    @property
    def pairs_here(self) -> tuple[GaugePair, ...]:
        return tuple(each for each in self.pairs if each.job_id == self.job.pk)


def _pairs_of_family(job: Job) -> list[GaugePair]:
    """Pairs of this job, and those of its displays at the workshop's other jobs on the family."""
    of_workshop = GaugePair.objects.filter(instrument__organisation_id=job.organisation_id)
    family_id = job.vehicle.engine_family_id
    if family_id is None:
        return list(of_workshop.filter(job=job).order_by("pk"))
    on_family = of_workshop.filter(job__vehicle__engine_family_id=family_id)
    here = job.gauge_pairs.values("instrument_id")
    read = job.technical_readings.values("instrument_id")
    return list(
        (on_family.filter(instrument__in=here) | on_family.filter(instrument__in=read))
        .distinct()
        .order_by("pk")
    )


def _display(read: _Read, sound_idle_pa: float | None, limits: Thresholds) -> DisplayOfJob:
    here = read.pairs_here
    unit = unit_of_display(
        instrument=read.display, engine_family_id=read.job.vehicle.engine_family_id
    )
    inferred = _inferred(read, limits) if read.pairs and _names_none(unit) else None
    left = None if inferred is not None or not _names_none(unit) else _left(read, limits)
    points: tuple[Point, ...] = ()
    at_rest: tuple[float, ...] = ()
    sensor, waits = None, ""
    if not here:
        waits = "no known pressure was applied at this job"
    elif unit is None:
        waits = "the display's unit is not known; confirm it first"
    else:
        points = _points(here, unit)
        at_rest = (*read.at_rest_pa, *_at_nothing(points))
        sensor = sensor_checked(points, at_rest, _known(here, unit), sound_idle_pa, limits)
    return DisplayOfJob(
        instrument=read.display,
        pairs=here,
        pairs_elsewhere=len(read.pairs) - len(here),
        unit=unit,
        inferred=inferred,
        left=left,
        points=points,
        at_rest=len(at_rest),
        sensor=sensor,
        sensor_waits=waits,
    )


def _names_none(unit: DisplayUnit | None) -> bool:
    """Whether the unit is a person's answer, or nobody's, rather than the display's own."""
    return unit is None or unit.confirmed is not None


def _inferred(read: _Read, limits: Thresholds) -> UnitInference:
    by_job: dict[int, list[Pair]] = {}
    for each in read.pairs:
        by_job.setdefault(each.job_id, []).append(
            Pair(
                each.applied_pa,
                float(each.shown),
                float(each.shown_resolution),
                each.applied_error_pa,
            )
        )
    here = by_job.pop(read.job.pk, [])
    return unit_over_jobs(list(by_job.values()), here, limits=limits)


def _left(read: _Read, limits: Thresholds) -> UnitPhysics | None:
    """What physics leaves of the bare numbers; None where there is none with its condition."""
    bare = [each for each in read.readings if not each.unit]
    shown = {each.condition: float(each.value) for each in bare}
    at = (EngineCondition.ENGINE_OFF, EngineCondition.IDLE, EngineCondition.RAISED)
    if not any(each in shown for each in at):
        return None
    return units_left(
        Shown(_step(read.display, bare), *(shown.get(each) for each in at)), limits=limits
    )


def _step(display: Instrument, bare: Iterable[Reading]) -> float:
    """The display's last step: as kept of it, else the finest digit that was written down."""
    if display.resolution is not None:
        return float(display.resolution)
    finest = min(int(each.value.normalize().as_tuple().exponent) for each in bare)
    return float(Decimal(1).scaleb(min(finest, 0)))


def _points(pairs: Iterable[GaugePair], unit: DisplayUnit) -> tuple[Point, ...]:
    factor = float(unit.unit.factor)
    return tuple(
        Point(each.applied_pa, float(each.shown) * factor, rising=not each.falling)
        for each in pairs
    )


def _at_nothing(points: Iterable[Point]) -> tuple[float, ...]:
    """With no pressure applied the sensor is at rest; let down to it, hysteresis may remain."""
    return tuple(each.indicated_pa for each in points if each.applied_pa == 0 and each.rising)


def _known(pairs: Iterable[GaugePair], unit: DisplayUnit) -> Known:
    """The largest of each: one gauge and one display stand behind all pairs of a job."""
    kept = list(pairs)
    return Known(
        max(each.applied_error_pa for each in kept),
        max(float(each.shown_resolution) for each in kept) * float(unit.unit.factor),
    )


def _known_at(readings: Iterable[Reading], condition: str) -> list[Reading]:
    return [
        each for each in readings if each.condition == condition and each.standard_value is not None
    ]


def _pa(reading: Reading) -> float:
    assert reading.standard_value is not None  # only asked of those that are known
    return reading.standard_value * PA_PER_MBAR


def _pressures(readings: list[Reading]) -> HoseReadings:
    """The last known pressure of each condition, and the layout where all say the same."""
    last: Mapping[str, float] = {
        condition: _pa(each)
        for condition in EngineCondition.values
        for each in _known_at(readings, condition)
    }
    layouts = {each.layout for each in readings if each.layout}
    return HoseReadings(
        zero_pa=last.get(EngineCondition.ENGINE_OFF),
        idle_pa=last.get(EngineCondition.IDLE),
        raised_pa=last.get(EngineCondition.RAISED),
        one_hose=SensorLayout.ONE_HOSE in layouts if len(layouts) == 1 else None,
    )
