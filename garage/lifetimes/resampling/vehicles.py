"""Limits by resampling vehicles, for lives that are not independent of one another."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Literal, TypeVar

import numpy as np

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.capture.draws import ALL_CAPTURED, CaptureDraws
from garage.lifetimes.confidence import LEVEL
from garage.lifetimes.curves.cumulative_incidence import IncidenceAt, cumulative_incidence
from garage.lifetimes.curves.product_limit import (
    REACHED_SLACK,
    QuantileEstimate,
    SurvivalAt,
    product_limit,
)
from garage.lifetimes.resampling.steps import (
    FAILED,
    ClusteredLives,
    ResampledSteps,
    step_values,
)
from garage.lifetimes.status import Status
from garage.lifetimes.wording import spoken

__all__ = [
    "ALL_CAPTURED",
    "CaptureDraws",
    "ClusteredLives",
    "ResampledCurve",
    "ResamplingOptions",
    "resample_incidence",
    "resample_survival",
]

REPEATS = 400
"""Resamples; 2.5 % points then rest on ten repeats each. Judgement, no source."""

FEWEST_CLUSTERS = 10
"""Vehicles; of fewer, resampling shows mostly its own grain. Judgement, no source."""


@dataclass(frozen=True, slots=True)
class ResamplingOptions:
    """How often to resample, how wide the limits are, and from where a curve starts."""

    repeats: int = REPEATS
    level: float = LEVEL
    given_survival_to: int | None = None

    def __post_init__(self) -> None:
        if self.repeats < 2:
            raise ValueError(f"resampling takes at least 2 repeats; got {self.repeats}")


@dataclass(frozen=True, slots=True)
class ResampledCurve:
    """Figures at the points asked for, with limits from resampled vehicles.

    Attributes
    ----------
    points : tuple of SurvivalAt or IncidenceAt
        One a point, in the order asked. With ``FEW_CLUSTERS`` the limits are those of
        independent lives.
    median : QuantileEstimate or None
        Of survival only.
    """

    n: int
    failed: int
    clusters: int
    repeats: int
    level: float
    points: tuple[SurvivalAt | IncidenceAt, ...]
    median: QuantileEstimate | None = None


def resample_survival(
    lives: ClusteredLives,
    capture: CaptureDraws,
    points: Sequence[float],
    *,
    rng: np.random.Generator,
    options: ResamplingOptions | None = None,
) -> ResampledCurve:
    """Product-limit survival at `points`, with limits that know of vehicles and of q.

    Each repeat draws as many vehicles as there are, with replacement, and a capture share
    from its Beta law; limits are percentiles of the repeats.

    Parameters
    ----------
    lives : ClusteredLives
    capture : CaptureDraws
        Failures count 1 / share of their group; ``ALL_CAPTURED`` where all are seen.
    points : sequence of clock values
    rng : numpy.random.Generator
        Seeded by the caller, so that a figure can be had again.
    options : ResamplingOptions, optional

    Returns
    -------
    ResampledCurve

    Notes
    -----
    Where nothing failed by a point, resampling cannot move the curve and the exact limit of
    `product_limit` stands. Memory is that of the lives, whatever the repeats.
    Source: Efron and Tibshirani, An Introduction to the Bootstrap, 1993, chapters 8 and 13
    (from memory).

    Examples
    --------
    >>> exits = [5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16]
    >>> lives = ClusteredLives([0] * 12, exits, [True, False] * 6, range(12))
    >>> rng = np.random.default_rng(1)
    >>> point = resample_survival(lives, ALL_CAPTURED, [10], rng=rng).points[0]
    >>> round(point.value, 3), point.lower < point.value < point.upper
    (0.722, True)
    """
    chosen = options or ResamplingOptions()
    steps = ResampledSteps(lives, capture, competing=False)
    table = steps.table(capture.means())
    curve = product_limit(table, level=chosen.level, given_survival_to=chosen.given_survival_to)
    asked = np.asarray(points, np.float64)
    repeats = _repeats(chosen, steps)
    drawn = np.empty((repeats, len(asked)))
    medians = np.empty(repeats)
    for repeat in range(repeats):
        heights = steps.survival(steps.draw(rng), capture.draw(rng), chosen.given_survival_to)
        drawn[repeat] = step_values(steps.clock, heights, asked, before=1.0)
        reached = np.flatnonzero(heights <= 0.5 + REACHED_SLACK)
        medians[repeat] = steps.clock[reached[0]] if len(reached) else np.inf
    limit = _percentiles(drawn, chosen.level)
    smallest_share = float(capture.means().min())
    found = []
    for number, at in enumerate(asked):
        plain = curve.at(float(at))
        if plain.value == 1 and plain.lower is not None:
            # None seen of failures seen with chance q bounds their hazard q times less.
            plain = replace(plain, lower=max(1 - (1 - plain.lower) / smallest_share, 0.0))
        found.append(_with_limits(plain, *limit(number), steps.clusters, untouched=1.0))
    median = curve.median
    if steps.clusters < FEWEST_CLUSTERS and median.value is not None:
        median = replace(median, status=Status.FEW_CLUSTERS, reason=_few(steps.clusters))
    elif curve.reliable_to is None and steps.clusters:
        # An infinite percentile is a limit that was not reached.
        low, high = _percentiles(medians[:, None], chosen.level, method="nearest")(0)
        median = replace(
            median,
            lower=low if np.isfinite(low) else None,
            upper=high if np.isfinite(high) else None,
        )
    return ResampledCurve(
        curve.n,
        curve.failed,
        steps.clusters,
        chosen.repeats,
        chosen.level,
        tuple(found),
        median,
    )


def resample_incidence(
    lives: ClusteredLives,
    capture: CaptureDraws,
    points: Sequence[float],
    *,
    rng: np.random.Generator,
    options: ResamplingOptions | None = None,
) -> ResampledCurve:
    """Cumulative incidence of failing at `points`, divided by a drawn capture share.

    Other ends compete, as `other_end` says. The risk set is that of lives watched; only the
    incidence is divided by the share (each failure by its own group's), and cut to 1. For the
    parameters and what is returned see `resample_survival`.

    Examples
    --------
    >>> exits = [5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16]
    >>> lives = ClusteredLives([0] * 12, exits, [True, False] * 6, range(12))
    >>> rng = np.random.default_rng(1)
    >>> halves = CaptureDraws([500.0], [500.0])
    >>> point = resample_incidence(lives, halves, [10], rng=rng).points[0]
    >>> round(point.value, 3)
    0.556
    """
    chosen = options or ResamplingOptions()
    if chosen.given_survival_to is not None:
        raise ValueError("an incidence starts at clock 0; leave out `given_survival_to`")
    steps = ResampledSteps(lives, capture, competing=True)
    curves = cumulative_incidence(steps.table(np.ones(len(capture.alpha))), level=chosen.level)
    asked = np.asarray(points, np.float64)
    shares = capture.means()
    everyone = np.ones(steps.clusters)
    best = np.minimum(
        step_values(steps.clock, steps.incidence(everyone, shares), asked, before=0.0), 1.0
    )
    repeats = _repeats(chosen, steps)
    drawn = np.empty((repeats, len(asked)))
    for repeat in range(repeats):
        heights = steps.incidence(steps.draw(rng), capture.draw(rng))
        drawn[repeat] = np.minimum(step_values(steps.clock, heights, asked, before=0.0), 1.0)
    limit = _percentiles(drawn, chosen.level)
    points_found = []
    for number, at in enumerate(asked):
        plain = curves.at(FAILED, float(at))
        if plain.value is not None and plain.value > 0:
            ratio = float(best[number]) / plain.value
            plain = replace(
                plain,
                value=float(best[number]),
                lower=_scaled(plain.lower, ratio),
                upper=_scaled(plain.upper, ratio),
            )
        elif plain.value == 0:
            plain = replace(plain, upper=_scaled(plain.upper, 1 / float(shares.min())))
        points_found.append(_with_limits(plain, *limit(number), steps.clusters, untouched=0.0))
    return ResampledCurve(
        curves.n,
        curves.failed_by_cause[0],
        steps.clusters,
        chosen.repeats,
        chosen.level,
        tuple(points_found),
    )


Figure = TypeVar("Figure", SurvivalAt, IncidenceAt)


def _percentiles(
    drawn: FloatArray, level: float, method: Literal["linear", "nearest"] = "linear"
) -> Callable[[int], tuple[float, float]]:
    tail = (1 - level) / 2
    low, high = np.quantile(drawn, [tail, 1 - tail], axis=0, method=method)
    return lambda number: (float(low[number]), float(high[number]))


def _scaled(limit: float | None, ratio: float) -> float | None:
    return None if limit is None else min(limit * ratio, 1.0)


def _with_limits(
    figure: Figure, lower: float, upper: float, clusters: int, *, untouched: float
) -> Figure:
    if figure.value is None or figure.value == untouched:
        return figure
    if clusters < FEWEST_CLUSTERS:
        return replace(
            figure,
            status=Status.FEW_CLUSTERS,
            reason=_few(clusters),
        )
    if figure.status is Status.SMALL_RISK_SET:
        # Drawing the same few again and again shows little of what others would have done.
        lower = lower if figure.lower is None else min(lower, figure.lower)
        upper = upper if figure.upper is None else max(upper, figure.upper)
    # A percentile may pass the estimate where the distribution is skewed.
    return replace(figure, lower=min(lower, figure.value), upper=max(upper, figure.value))


def _repeats(options: ResamplingOptions, steps: ResampledSteps) -> int:
    """None are worth their time where there are too few vehicles to draw from."""
    return options.repeats if steps.clusters >= FEWEST_CLUSTERS else 2


def _few(clusters: int) -> str:
    return f"{spoken(clusters)} vehicles; the limits take lives as independent"
