"""Limits of a curve from the heights that it took in resamples."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal, TypeVar

import numpy as np

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.confidence import LEVEL
from garage.lifetimes.curves.cumulative_incidence import IncidenceAt
from garage.lifetimes.curves.product_limit import QuantileEstimate, SurvivalAt, SurvivalCurve
from garage.lifetimes.status import Status
from garage.lifetimes.wording import spoken

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

    def repeats_over(self, clusters: int) -> int:
        """None are worth their time where there are too few vehicles to draw from."""
        return self.repeats if clusters >= FEWEST_CLUSTERS else 2


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


@dataclass(frozen=True, slots=True, eq=False)
class Drawn:
    """What resamples of so many vehicles showed.

    Attributes
    ----------
    heights : array, shape (repeats, points)
    medians : array, shape (repeats,)
        Infinite where a resample does not come down to one half.
    smallest_share : float
        Least expected capture share.
    """

    clusters: int
    heights: FloatArray
    medians: FloatArray
    smallest_share: float


def survival_with_limits(
    curve: SurvivalCurve, asked: FloatArray, drawn: Drawn, options: ResamplingOptions
) -> ResampledCurve:
    """The curve's figures at the points asked for, and its median, with the limits drawn."""
    limit = percentiles(drawn.heights, options.level)
    found = []
    for number, at in enumerate(asked):
        plain = curve.at(float(at))
        if plain.value == 1 and plain.lower is not None:
            # None seen of failures seen with chance q bounds their hazard q times less.
            lower = max(1 - (1 - plain.lower) / drawn.smallest_share, 0.0)
            plain = replace(plain, lower=lower)
        found.append(with_limits(plain, *limit(number), drawn.clusters, untouched=1.0))
    median = curve.median
    if drawn.clusters < FEWEST_CLUSTERS and median.value is not None:
        median = replace(median, status=Status.FEW_CLUSTERS, reason=_few(drawn.clusters))
    elif curve.reliable_to is None and drawn.clusters:
        # An infinite percentile is a limit that was not reached.
        low, high = percentiles(drawn.medians[:, None], options.level, method="nearest")(0)
        median = replace(
            median,
            lower=low if np.isfinite(low) else None,
            upper=high if np.isfinite(high) else None,
        )
    return ResampledCurve(
        curve.n,
        curve.failed,
        drawn.clusters,
        options.repeats,
        options.level,
        tuple(found),
        median,
    )


Figure = TypeVar("Figure", SurvivalAt, IncidenceAt)


def percentiles(
    drawn: FloatArray, level: float, method: Literal["linear", "nearest"] = "linear"
) -> Callable[[int], tuple[float, float]]:
    """Lower and upper limits of this level, by column."""
    tail = (1 - level) / 2
    low, high = np.quantile(drawn, [tail, 1 - tail], axis=0, method=method)
    return lambda number: (float(low[number]), float(high[number]))


def with_limits(
    figure: Figure, lower: float, upper: float, clusters: int, *, untouched: float
) -> Figure:
    """A figure with the limits drawn, unless resampling cannot move or cannot judge it."""
    if figure.value is None or figure.value == untouched:
        return figure
    if clusters < FEWEST_CLUSTERS:
        return replace(figure, status=Status.FEW_CLUSTERS, reason=_few(clusters))
    if figure.status is Status.SMALL_RISK_SET:
        # Drawing the same few again and again shows little of what others would have done.
        lower = lower if figure.lower is None else min(lower, figure.lower)
        upper = upper if figure.upper is None else max(upper, figure.upper)
    # A percentile may pass the estimate where the distribution is skewed.
    return replace(figure, lower=min(lower, figure.value), upper=max(upper, figure.value))


def _few(clusters: int) -> str:
    return f"{spoken(clusters)} vehicles; the limits take lives as independent"
