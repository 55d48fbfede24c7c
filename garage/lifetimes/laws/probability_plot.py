"""Lay the points of a curve beside the line of a fitted law, on axes that make it straight."""

from dataclasses import dataclass

import numpy as np

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.curves.interval_curve import IntervalCurve
from garage.lifetimes.curves.product_limit import SurvivalCurve
from garage.lifetimes.laws.families import FAMILIES, FamilyName, family_of
from garage.lifetimes.laws.law_result import LawFit
from garage.lifetimes.status import Status

LINE_POINTS = 60
"""Enough that a limit's bend looks smooth. Judgement, no source."""

ROOM = 0.1
"""Share of the points' span, on the clock's axis, that the line goes on beyond them."""

TICK_SHARES = (0.001, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 0.8, 0.9, 0.95, 0.99, 0.999)
"""Shares failed that are usually written beside such a plot."""


@dataclass(frozen=True, slots=True)
class PlotAxes:
    """Where clock values and shares failed stand on the paper of a family.

    An exponential law is straight on (clock, -log(1 - share)); the others on (log10 clock,
    deviate of the share), the deviate that of the law of log life.

    Examples
    --------
    >>> paper = PlotAxes("weibull")
    >>> paper.of_clock(np.array([10.0, 1000.0])).tolist()
    [1.0, 3.0]
    >>> paper.of_share(np.array([1 - np.exp(-1)])).round(9).tolist()
    [0.0]
    """

    family: FamilyName

    @property
    def log_clock(self) -> bool:
        """Whether the clock's axis is logarithmic."""
        return self.family != "exponential"

    def of_clock(self, clock: FloatArray) -> FloatArray:
        """Places of clock values above 0."""
        return np.asarray(np.log10(clock) if self.log_clock else clock, np.float64)

    def of_share(self, share: FloatArray) -> FloatArray:
        """Places of shares failed strictly between 0 and 1."""
        if not self.log_clock:
            return np.asarray(-np.log1p(-share), np.float64)
        return FAMILIES[self.family].standard.deviate(share)

    def of_deviate(self, deviate: FloatArray) -> FloatArray:
        """Places of values of z of the law of log life."""
        return deviate if self.log_clock else np.asarray(np.exp(deviate), np.float64)


@dataclass(frozen=True, slots=True, eq=False)
class PlotPoints:
    """The curve's points: share failed by a clock value, and their places on the paper."""

    clock: FloatArray
    share: FloatArray
    clock_place: FloatArray
    share_place: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class PlotLine:
    """The law's share failed, with pointwise limits, and their places on the paper."""

    clock: FloatArray
    share: FloatArray
    lower: FloatArray
    upper: FloatArray
    clock_place: FloatArray
    share_place: FloatArray
    lower_place: FloatArray
    upper_place: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class ProbabilityPlot:
    """What `probability_plot` laid out; `line` is None where the fit has no law."""

    family: FamilyName
    unit: str
    n: float
    failed: float
    status: Status
    reason: str
    axes: PlotAxes
    points: PlotPoints
    line: PlotLine | None


def probability_plot(
    curve: SurvivalCurve | IntervalCurve, fit: LawFit, *, line_points: int = LINE_POINTS
) -> ProbabilityPlot:
    """Lay out a probability plot, by which to see whether a law suits the lives.

    Parameters
    ----------
    curve : SurvivalCurve or IntervalCurve
        Of the same lives as the fit, from the start of the clock on.
    fit : LawFit
    line_points : int
        Places at which the line is given, at least 2.

    Returns
    -------
    ProbabilityPlot
        The points lie near the line, and mostly within its limits, where the law suits.

    Raises
    ------
    ValueError
        A curve that speaks only of lives that have reached some distance; fewer than 2 places.

    Notes
    -----
    A failure's point stands at the middle of the curve's step, (share failed just before +
    just after) / 2; the point of an interval at its end, with the share failed by then. Points
    that hang on too few lives, or where all have failed, are left out. The limits are Wald's,
    symmetric on the paper; they are limits for each clock value by itself, not for the line
    as a whole. Source: Meeker and Escobar, Statistical Methods for Reliability Data, 1998,
    sections 6.4 and 8.4 (from memory).

    Examples
    --------
    >>> from garage.lifetimes.curves.product_limit import product_limit
    >>> from garage.lifetimes.laws.law_fit import law_fit
    >>> from garage.lifetimes.risk_table import LivesArrays, RiskTable
    >>> lives = LivesArrays([0] * 5, [10, 20, 30, 40, 50], [1, 0, 1, 1, 0])
    >>> table = RiskTable.from_lives(lives, unit="km")
    >>> plot = probability_plot(product_limit(table), law_fit(table, family="weibull"))
    >>> plot.points.clock.tolist(), plot.points.share.round(4).tolist()
    ([10.0, 30.0, 40.0], [0.1, 0.3333, 0.6])
    """
    if line_points < 2:
        raise ValueError(f"a line has at least 2 places; got {line_points}")
    if curve.given_survival_to is not None:
        raise ValueError(
            "a probability plot needs shares of all lives; got a curve of those that have "
            f"reached {curve.given_survival_to:g}. Use the curve from the start of the clock."
        )
    axes = PlotAxes(family_of(fit.family).name)
    points = _points(axes, *_steps(curve))
    status, reason = fit.status, fit.reason
    if fit.law is not None and not len(points.clock):
        status, reason = Status.SMALL_RISK_SET, curve.reason or "no point can be placed"
    line = None if fit.law is None else _line(axes, fit, points, line_points)
    return ProbabilityPlot(
        fit.family, fit.unit, fit.n, fit.failed, status, reason, axes, points, line
    )


def _steps(curve: SurvivalCurve | IntervalCurve) -> tuple[FloatArray, FloatArray]:
    failed = 1 - curve.survival
    before = np.concatenate([[0.0], failed[:-1]])
    if isinstance(curve, SurvivalCurve):
        clock, share = curve.clock.astype(np.float64), (before + failed) / 2
    else:
        clock = curve.right
        share = np.where(curve.left == curve.right, (before + failed) / 2, failed)
    kept = np.isfinite(clock)
    if curve.reliable_to is not None:
        kept &= clock < curve.reliable_to
    return clock[kept], share[kept]


def _points(axes: PlotAxes, clock: FloatArray, share: FloatArray) -> PlotPoints:
    placed = (clock > 0) & (share > 0) & (share < 1)
    clock, share = clock[placed], share[placed]
    return PlotPoints(clock, share, axes.of_clock(clock), axes.of_share(share))


def _line(axes: PlotAxes, fit: LawFit, points: PlotPoints, count: int) -> PlotLine:
    clock = _spread(axes, fit, points, count)
    band = fit.band(clock)
    at, lower, upper = (
        axes.of_deviate(each)
        for each in (band.deviate, band.deviate - band.reach, band.deviate + band.reach)
    )
    return PlotLine(
        clock,
        1 - band.survival,
        1 - band.upper,
        1 - band.lower,
        axes.of_clock(clock),
        at,
        lower,
        upper,
    )


def _spread(axes: PlotAxes, fit: LawFit, points: PlotPoints, count: int) -> FloatArray:
    """Clock values over which the line is drawn, evenly spaced on the paper."""
    if len(points.clock_place) >= 2:
        first, last = float(points.clock_place[0]), float(points.clock_place[-1])
    else:
        ends = np.array([_quantile(fit, 0.05), _quantile(fit, 0.95)])
        first, last = (float(each) for each in axes.of_clock(ends))
    room = ROOM * (last - first)
    low = first - room if axes.log_clock else max(first - room, (last - first) / count / 10)
    places = np.linspace(low, last + room, count)
    return np.asarray(10.0**places if axes.log_clock else places, np.float64)


def _quantile(fit: LawFit, share: float) -> float:
    if fit.law is None:
        raise ValueError(f"there is no law to draw: {fit.reason}")
    return float(fit.law.quantile(share))
