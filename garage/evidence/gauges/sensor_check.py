"""Whether a pressure sensor reads true, from pressures applied against those it indicates."""

from collections.abc import Sequence
from dataclasses import dataclass, fields
from math import hypot, isfinite, sqrt

import numpy as np
from scipy.special import stdtrit

from garage.evidence.gauges.limits import DEFAULTS
from garage.evidence.gauges.line import Line, line_through
from garage.evidence.gauges.units import PA_PER_MBAR
from garage.evidence.thresholds import Thresholds

_NORMAL_95 = 1.959963984540054


@dataclass(frozen=True, slots=True)
class Point:
    """One pressure applied with a known gauge, and what the sensor indicated."""

    applied_pa: float
    indicated_pa: float
    rising: bool = True


@dataclass(frozen=True, slots=True)
class Known:
    """What is unsure for all points alike, in Pa: the known gauge's standard uncertainty, and the
    last step of what indicates, by whose half every indication may be rounded."""

    gauge_uncertainty_pa: float = 0.0
    indicated_step_pa: float = 0.0

    def __post_init__(self) -> None:
        for each in fields(self):
            value = getattr(self, each.name)
            if not (isfinite(value) and value >= 0):
                raise ValueError(f"`{each.name}` is 0 or more; got {value}")

    @property
    def rounding_pa(self) -> float:
        """Standard uncertainty from the step: JCGM 100:2008, 4.3.7, from memory."""
        return self.indicated_step_pa / sqrt(12)

    @property
    def together_pa(self) -> float:
        return hypot(self.gauge_uncertainty_pa, self.rounding_pa)


@dataclass(frozen=True, slots=True)
class Told:
    """A measure with its 95 % limits and its verdict; None where it is not known."""

    value: float | None
    limits: tuple[float, float] | None
    verdict: str
    reason: str


@dataclass(frozen=True, slots=True)
class SensorCheck:
    """Zero, linearity and hysteresis in Pa, gain as a ratio; ``finding`` as in the vocabulary."""

    verdict: str
    reason: str
    zero: Told
    gain: Told
    linearity: Told
    hysteresis: Told
    grading: str
    grading_reason: str
    finding: str | None


def sensor_checked(
    points: Sequence[Point],
    at_rest_pa: Sequence[float] = (),
    known: Known | None = None,
    sound_idle_pa: float | None = None,
    limits: Thresholds = DEFAULTS,
) -> SensorCheck:
    """Answer whether the sensor reads true, and whether its zero lets readings be graded.

    Parameters
    ----------
    points : sequence of Point
    at_rest_pa : sequence of float
        Indicated with no pressure applied; the zero comes from these, else from the line.
    known : Known, optional
        What the gauge and the display's steps leave unsure, taken as common to all points.
    sound_idle_pa : float, optional
        What a sound filter of the family reads at idle.

    Returns
    -------
    SensorCheck
        ``within``, ``outside``, or ``cannot be told`` where limits span the tolerance.

    Raises
    ------
    ValueError
        For a value that is not finite or a negative uncertainty.

    Notes
    -----
    Least squares with Student's t, what is common to all points added in quadrature: in full to
    the zero from the line, and root two of it over the span to the gain. Readings at rest know no
    gauge, only the rounding, which repeating does not lessen. JCGM 100:2008, from memory.

    Examples
    --------
    >>> points = [Point(x, 1.2 * x + e) for x, e in ((0, 5), (10000, -5), (20000, -5), (30000, 5))]
    >>> told = sensor_checked(points, [10, 12, 8])
    >>> told.verdict, told.finding
    ('outside', 'gain')
    """
    values = [v for p in points for v in (p.applied_pa, p.indicated_pa)] + list(at_rest_pa)
    if not all(isfinite(v) for v in values):
        raise ValueError(f"points and rest readings are finite; got {values}; read them again")
    known = known or Known()
    applied = [p.applied_pa for p in points]
    distinct = len(set(applied)) > 1
    line = line_through(applied, [p.indicated_pa for p in points]) if distinct else None
    span_pa = max(applied) - min(applied) if distinct else 0.0
    share = limits["reading_tolerance_share"]
    zero = _zero(at_rest_pa, line, known, limits["zero_good_mbar"] * PA_PER_MBAR)
    gain = _gain(line, span_pa, known.together_pa, share)
    linearity = _linearity(line, known.together_pa, share * span_pa)
    hysteresis = _hysteresis(points, line, known, share * span_pa)
    verdict, reason = _together(zero, gain, linearity, hysteresis)
    grading, why = _grading(zero, at_rest_pa, sound_idle_pa, limits)
    finding = _finding(verdict, zero, gain, linearity, hysteresis)
    # A zero that only has to be taken off is no fault of the sensor: it holds no decision.
    if finding == "offset" and _zero_holds(zero, sound_idle_pa, limits) is None:
        finding = None
    return SensorCheck(verdict, reason, zero, gain, linearity, hysteresis, grading, why, finding)


def _judged(value: float, half: float | None, middle: float, tolerance: float, how: str) -> Told:
    if half is None:
        return Told(value, None, "cannot be told", f"{how}; scatter not known, add points")
    low, high = value - half, value + half
    if abs(low - middle) <= tolerance and abs(high - middle) <= tolerance:
        return Told(value, (low, high), "within", how)
    if low > middle + tolerance or high < middle - tolerance:
        return Told(value, (low, high), "outside", how)
    return Told(value, (low, high), "cannot be told", f"{how}; its limits span the tolerance")


def _missing(reason: str) -> Told:
    return Told(None, None, "cannot be told", reason)


def _zero(rest: Sequence[float], line: Line | None, known: Known, tolerance: float) -> Told:
    if rest:
        half = None
        if len(rest) > 1:
            half = float(stdtrit(len(rest) - 1, 0.975) * np.std(rest, ddof=1) / sqrt(len(rest)))
            half = hypot(half, _NORMAL_95 * known.rounding_pa)
        return _judged(float(np.mean(rest)), half, 0.0, tolerance, "mean of readings at rest")
    if line is None:
        return _missing("no readings at rest, and no line without two distinct pressures")
    half = _half(line.intercept_uncertainty, line.coverage, known.together_pa)
    return _judged(line.intercept, half, 0.0, tolerance, "where the line meets zero")


def _half(uncertainty: float | None, coverage: float | None, common: float) -> float | None:
    if uncertainty is None or coverage is None:
        return None
    return hypot(coverage * uncertainty, _NORMAL_95 * common)


def _gain(line: Line | None, span_pa: float, common_pa: float, share: float) -> Told:
    if line is None:
        return _missing("gain takes two distinct pressures; apply one more")
    half = _half(line.slope_uncertainty, line.coverage, sqrt(2) * common_pa / span_pa)
    return _judged(line.slope, half, 1.0, share, "slope of the line")


def _linearity(line: Line | None, common_pa: float, tolerance_pa: float) -> Told:
    if line is None or line.scatter is None:
        return _missing("linearity takes three points at two or more pressures; apply one more")
    largest = max(line.departures, key=abs)
    # Scatter is reckoned from these departures too, so the limits are wide rather than narrow.
    half = _half(line.scatter, line.coverage, common_pa)
    return _judged(largest, half, 0.0, tolerance_pa, "largest departure from the line")


def _hysteresis(
    points: Sequence[Point], line: Line | None, known: Known, tolerance_pa: float
) -> Told:
    rising = {p.applied_pa: p.indicated_pa for p in points if p.rising}
    falling = {p.applied_pa: p.indicated_pa for p in points if not p.rising}
    both = rising.keys() & falling.keys()
    if not both:
        return _missing("only one direction at each pressure; let the pressure down by the same")
    if line is None:
        return _missing("one pressure only; apply one more, rising and falling")
    gaps = [falling[each] - rising[each] for each in sorted(both)]
    # The gauge is common to both directions; gaps that differ among themselves give the limits.
    half = None
    if len(gaps) > 1:
        half = float(stdtrit(len(gaps) - 1, 0.975) * np.std(gaps, ddof=1))
        half = hypot(half, _NORMAL_95 * sqrt(2) * known.rounding_pa)
    return _judged(max(gaps, key=abs), half, 0.0, tolerance_pa, "largest falling less rising")


def _together(zero: Told, gain: Told, linearity: Told, hysteresis: Told) -> tuple[str, str]:
    named = {"zero": zero, "gain": gain, "linearity": linearity, "hysteresis": hysteresis}
    outside = [n for n, told in named.items() if told.verdict == "outside"]
    if outside:
        return "outside", f"outside its tolerance: {', '.join(outside)}"
    # Hysteresis never looked for is told apart, and does not hold up the verdict.
    open_ones = [
        n
        for n, told in named.items()
        if told.verdict != "within" and not (n == "hysteresis" and told.value is None)
    ]
    if open_ones:
        return "cannot be told", f"cannot be told: {', '.join(open_ones)}"
    return "within", "zero, slope and straightness are within tolerance"


def _grading(
    zero: Told, rest: Sequence[float], sound_idle_pa: float | None, limits: Thresholds
) -> tuple[str, str]:
    if zero.value is None or not rest:
        return "hold", "zero not measured at rest; read it with key on, engine off"
    why = _zero_holds(zero, sound_idle_pa, limits)
    if why is not None:
        return "hold", why
    if abs(zero.value) > limits["zero_good_mbar"] * PA_PER_MBAR:
        return "raised speed only", "grade raised speed alone, corrected for the zero"
    return "grade", "zero lets everything grade"


def _zero_holds(zero: Told, sound_idle_pa: float | None, limits: Thresholds) -> str | None:
    """Why this zero holds all grading; None where it lets some, or is not known."""
    if zero.value is None:
        return None
    size, most_pa = abs(zero.value), limits["zero_most_mbar"] * PA_PER_MBAR
    if size > most_pa:
        return f"zero of {zero.value:.0f} Pa is over {most_pa:.0f} Pa"
    if sound_idle_pa is not None and size >= sound_idle_pa:
        return f"zero of {zero.value:.0f} Pa is as large as a sound idle reading"
    return None


def _finding(verdict: str, zero: Told, gain: Told, linearity: Told, hysteresis: Told) -> str | None:
    if "outside" in (linearity.verdict, hysteresis.verdict):
        return "not_linear"
    if gain.verdict == "outside":
        return "gain"
    if zero.verdict == "outside":
        return "offset" if gain.verdict == "within" else None
    return "true" if verdict == "within" else None
