"""One display of a job as its page tells it: its unit, what is next, and the sensor behind."""

from collections.abc import Callable
from dataclasses import dataclass

from garage.evidence.findings.grade_pressure import zero_grade
from garage.evidence.findings.measured import Measured
from garage.evidence.findings.vocabulary import vocabulary
from garage.evidence.gauges.sensor_check import Told
from garage.evidence.gauges.units import PA_PER_MBAR
from garage.evidence.jobs.gauges import DisplayOfJob
from garage.evidence.own_limits import OwnLimits
from garage.evidence.thresholds import Thresholds
from garage.pages.charts.chart import Chart
from garage.pages.charts.sensor import Tolerance, sensor_chart
from garage.pages.words import percent
from garage.records.models import GaugePair

#: Units shown of a display; the rest are far less likely. Judgement.
UNITS_SHOWN = 4
LEAST_SHOWN = 0.001
#: From here on a tenth of a mbar tells nothing that a gauge shows. Judgement.
_WHOLE_FROM_MBAR = 100.0
_VERDICTS = {
    "within": "reads true",
    "outside": "does not read true",
    "cannot be told": "cannot be told yet",
}
_GRADINGS = {
    "grade": "may be done",
    "raised speed only": "at raised speed only",
    "hold": "held",
}
#: A finding and its state.
Kept = set[tuple[str, str]]


@dataclass(frozen=True)
class MeasureTold:
    """One measure of the sensor, with its 95 % limits where they are known."""

    title: str
    value: str
    limits: str
    verdict: str
    reason: str


@dataclass(frozen=True)
class FindingOffered:
    """A finding that this page tells and that one tap keeps."""

    found: str
    words: str
    kept: bool


@dataclass(frozen=True)
class PairTold:
    pair: GaugePair
    shown: str
    unsure: str


@dataclass(frozen=True)
class DisplayTold:
    """A display: what it may show, what to do next, and what its sensor does."""

    of: DisplayOfJob
    pairs: tuple[PairTold, ...]
    candidates: tuple[tuple[str, str], ...]
    conditions: tuple[str, ...]
    excluded: tuple[str, ...]
    reason: str
    following: str
    verdict: str
    grading: str
    measures: tuple[MeasureTold, ...]
    offered: tuple[FindingOffered, ...]
    chart: Chart | None


def display_told(display: DisplayOfJob, kept: Kept, limits: OwnLimits) -> DisplayTold:
    """A display; `kept` are the findings that the job has already."""
    reason, following = _reason(display)
    return DisplayTold(
        of=display,
        pairs=tuple(_pair_told(each) for each in display.pairs),
        candidates=_candidates(display),
        conditions=_conditions(display),
        excluded=tuple(
            f"{each.unit}: {each.reason}"
            for each in (display.left.excluded if display.left else ())
        ),
        reason=reason,
        following=following,
        verdict="" if display.sensor is None else _VERDICTS[display.sensor.verdict],
        grading="" if display.sensor is None else _GRADINGS[display.sensor.grading],
        measures=_measures(display),
        offered=_offered(display, kept, limits.findings),
        chart=_chart(display, limits.gauges),
    )


def _pair_told(pair: GaugePair) -> PairTold:
    decimals = max(0, -int(pair.shown_resolution.normalize().as_tuple().exponent))
    return PairTold(pair, f"{pair.shown:.{decimals}f}", mbar_told(pair.applied_error_pa))


def _candidates(display: DisplayOfJob) -> tuple[tuple[str, str], ...]:
    told = display.inferred
    if told is None:
        return ()
    shown = [e for e in told.candidates[:UNITS_SHOWN] if e.probability >= LEAST_SHOWN]
    return tuple((each.unit, percent(each.probability)) for each in shown)


def _conditions(display: DisplayOfJob) -> tuple[str, ...]:
    """The units that physics leaves, each with what must then be so."""
    if display.left is None:
        return ()
    return tuple(
        f"{each.unit} ({each.condition})" if each.condition else each.unit
        for each in display.left.remaining
    )


def _reason(display: DisplayOfJob) -> tuple[str, str]:
    """Why the unit is told or not, and the pressure to apply next in words; empty for none."""
    if display.inferred is not None:
        told, following_pa = display.inferred.reason, display.inferred.next_applied_pa
    elif display.left is not None:
        told, following_pa = display.left.reason, display.left.settling_applied_pa
    else:
        return "", ""
    # The reason ends in the same pressure in Pa, which a gauge of the trade does not show.
    reason = told.partition("; take one more")[0].partition("; apply about")[0]
    return reason, "" if following_pa is None else f"about {mbar_told(following_pa)}"


def _measures(display: DisplayOfJob) -> tuple[MeasureTold, ...]:
    sensor = display.sensor
    if sensor is None:
        return ()
    return (
        _measure("zero", sensor.zero, mbar_told),
        _measure("slope", sensor.gain, _ratio),
        _measure("straightness", sensor.linearity, mbar_told),
        _measure("let down against raised", sensor.hysteresis, mbar_told),
    )


def _measure(title: str, told: Told, words: Callable[[float], str]) -> MeasureTold:
    return MeasureTold(
        title=title,
        value="not known" if told.value is None else words(told.value),
        limits="not known"
        if told.limits is None
        else f"{words(told.limits[0])} to {words(told.limits[1])}",
        verdict=told.verdict,
        reason=told.reason,
    )


def _offered(display: DisplayOfJob, kept: Kept, limits: Thresholds) -> tuple[FindingOffered, ...]:
    sensor, offered = display.sensor, []
    if sensor is None:
        return ()
    if sensor.finding is not None:
        offered.append(finding_offered("sensor_check", sensor.finding, kept))
    if sensor.zero.value is not None and display.at_rest:
        grade = zero_grade(Measured(zero_mbar=sensor.zero.value / PA_PER_MBAR), limits)
        if grade.state is not None:
            offered.append(finding_offered("zero", grade.state, kept))
    return tuple(offered)


def finding_offered(key: str, state: str, kept: Kept) -> FindingOffered:
    """A finding with its words, and whether the job has it already."""
    finding = vocabulary().finding(key)
    words = f"{finding.title}: {finding.words(state)}"
    return FindingOffered(f"{key}:{state}", words, (key, state) in kept)


def _chart(display: DisplayOfJob, limits: Thresholds) -> Chart | None:
    if display.sensor is None:
        return None
    tolerance = Tolerance(limits["zero_good_mbar"], limits["reading_tolerance_share"])
    return sensor_chart(display.points, tolerance, name=f"sensor-{display.instrument.pk}")


def mbar_told(pressure_pa: float) -> str:
    """A pressure as the trade reads it, to a tenth of a mbar below 100."""
    mbar = pressure_pa / PA_PER_MBAR
    digits = 1 if abs(mbar) < _WHOLE_FROM_MBAR else 0
    said = f"{mbar:.{digits}f}"
    # What rounds to nothing has no sign.
    said = said.lstrip("-") if float(said) == 0 else said.replace("-", "\N{MINUS SIGN}")
    return f"{said}\N{NO-BREAK SPACE}mbar"


def _ratio(value: float) -> str:
    return f"{value:.3f}"
