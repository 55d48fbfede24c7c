"""The *expected* curve: silent vehicles stay at risk by their chance to be still customers."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from garage.lifetimes.capture.draws import CaptureDraws
from garage.lifetimes.curves.product_limit import REACHED_SLACK, product_limit
from garage.lifetimes.resampling.expected_estimate import ExpectedEstimate
from garage.lifetimes.resampling.expected_input import ExpectedLives, VisitGroup
from garage.lifetimes.resampling.expected_steps import (
    BagCounts,
    Cells,
    Usual,
    at_points,
    median_clock,
)
from garage.lifetimes.resampling.law_redraws import LawRedraws
from garage.lifetimes.resampling.limits import (
    Drawn,
    ResampledCurve,
    ResamplingOptions,
    survival_with_limits,
)
from garage.lifetimes.risk_table import RiskTable

__all__ = ["ExpectedLives", "VisitGroup", "expected_table", "resample_expected"]

REDRAWN_LAWS = 20
"""Visit laws drawn anew, each for as many of the resamples. Judgement, no source: the law's
doubt is the smaller part of the limits' width, and twenty show it within a sixth."""


def expected_table(
    lives: ExpectedLives, visits: Sequence[VisitGroup], capture_means: ArrayLike
) -> RiskTable:
    """Count lives, the silent ones withdrawn in shares at the times when they may have left.

    TODO
    """
    return ExpectedEstimate.of(lives, visits, np.asarray(capture_means, np.float64)).table


def resample_expected(  # noqa: PLR0913 - as resample_survival, and the visits
    lives: ExpectedLives,
    visits: Sequence[VisitGroup],
    capture: CaptureDraws,
    points: Sequence[float],
    *,
    rng: np.random.Generator,
    options: ResamplingOptions | None = None,
) -> ResampledCurve:
    """Survival at `points` by the *expected* table, with limits from resampled vehicles.

    TODO
    """
    chosen = options or ResamplingOptions()
    estimate = ExpectedEstimate.of(lives, visits, capture.means())
    curve = product_limit(
        estimate.table, level=chosen.level, given_survival_to=chosen.given_survival_to
    )
    asked = np.asarray(points, np.float64)
    cells = Cells.of_curve(curve, asked)
    counts = BagCounts.of(lives, cells, rng)
    redraws = LawRedraws.of(estimate, visits, counts, rng)
    at_risk = counts.risk(estimate.left())
    usual = Usual(
        counts.failures(counts.once(), capture.means()[None, :])[:, 0], at_risk.sum(axis=0)
    )
    repeats = chosen.repeats_over(counts.vehicles)
    heights, medians = [], []
    for some in np.array_split(np.arange(repeats), min(REDRAWN_LAWS, repeats)):
        weights = counts.draw(rng, some.size)
        shares = np.stack([capture.draw(rng) for _ in some])
        watched = at_risk.T @ weights * redraws.factor(usual.at_risk, rng)[:, None]
        drawn = usual.heights(cells, counts.failures(weights, shares), watched)
        heights.append(at_points(cells, drawn, points))
        medians.append(median_clock(cells, drawn, 0.5 + REACHED_SLACK))
    found = Drawn(
        counts.vehicles,
        np.concatenate(heights),
        np.concatenate(medians),
        float(capture.means().min()),
    )
    return survival_with_limits(curve, asked, found, chosen)
