"""The *expected* curve: silent vehicles stay at risk by their chance to be still customers."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.capture.draws import CaptureDraws
from garage.lifetimes.capture.share import PART_PRIOR
from garage.lifetimes.curves.product_limit import REACHED_SLACK, product_limit
from garage.lifetimes.resampling.expected_input import ExpectedLives, VisitGroup
from garage.lifetimes.resampling.expected_shares import (
    FirstEstimate,
    Shares,
    Silences,
    by_first_estimate,
    by_visits_alone,
)
from garage.lifetimes.resampling.expected_steps import (
    BagCounts,
    Cells,
    Reference,
    at_points,
    median_clock,
)
from garage.lifetimes.resampling.limits import (
    Drawn,
    ResampledCurve,
    ResamplingOptions,
    survival_with_limits,
)
from garage.lifetimes.risk_table import RiskRows, RiskTable
from garage.lifetimes.visits.law import VisitLaw

__all__ = ["ExpectedLives", "VisitGroup", "expected_table", "resample_expected"]

REDRAWN_LAWS = 20
"""Visit laws drawn anew, each for as many of the resamples. Judgement, no source: the law's
doubt is the smaller part of the limits' width, and twenty show it within a sixth."""


def expected_table(
    lives: ExpectedLives,
    visits: Sequence[VisitGroup],
    capture_means: ArrayLike,
    *,
    stay_away: float = PART_PRIOR.stay_away,
) -> RiskTable:
    """Count lives, the silent ones withdrawn in shares at the times when they may have left."""
    shares = np.asarray(capture_means, np.float64)
    return _Estimate.of(lives, visits, shares, stay_away).table


@dataclass(frozen=True, slots=True, eq=False)
class _Estimate:
    """The table, and what it rests on."""

    table: RiskTable
    left: Shares
    first: FirstEstimate
    unnoticed: FloatArray

    @classmethod
    def of(
        cls,
        lives: ExpectedLives,
        visits: Sequence[VisitGroup],
        shares: FloatArray,
        stay_away: float,
    ) -> "_Estimate":
        lives.refuse_groups(visits, shares.size)
        silences = Silences.judged(lives, visits, [_law(group) for group in visits])
        first = FirstEstimate.of(_table(lives, by_visits_alone(lives, silences), shares))
        unnoticed = ((1 - shares) * (1 - stay_away))[lives.group]
        left = by_first_estimate(lives, silences, first, unnoticed)
        return cls(_table(lives, left, shares), left, first, unnoticed)


def _law(group: VisitGroup) -> VisitLaw:
    if group.fit.law is None:
        raise ValueError(f"a visit group has a law; got none: {group.fit.reason}")
    return group.fit.law


def _table(lives: ExpectedLives, left: Shares, capture: FloatArray) -> RiskTable:
    failed = np.flatnonzero(lives.failed)
    clock = np.concatenate([lives.entry, lives.exit[failed], left.clock])
    rows = np.zeros((4, clock.size))
    entries, failures = slice(0, lives.n), slice(lives.n, lives.n + failed.size)
    rows[0, entries] = 1
    rows[1, failures] = 1
    rows[2, lives.n + failed.size :] = left.share
    rows[3, failures] = 1 / capture[lives.group[failed]]
    return RiskTable.from_rows(RiskRows(clock, rows[0], rows[1], rows[2], rows[3]), unit=lives.unit)


def resample_expected(  # noqa: PLR0913 - as resample_survival, and the visits
    lives: ExpectedLives,
    visits: Sequence[VisitGroup],
    capture: CaptureDraws,
    points: Sequence[float],
    *,
    rng: np.random.Generator,
    options: ResamplingOptions | None = None,
) -> ResampledCurve:
    """Survival at `points` by the *expected* table, with limits from resampled vehicles."""
    chosen = options or ResamplingOptions()
    estimate = _Estimate.of(lives, visits, capture.means(), PART_PRIOR.stay_away)
    curve = product_limit(
        estimate.table, level=chosen.level, given_survival_to=chosen.given_survival_to
    )
    asked = np.asarray(points, np.float64)
    cells = Cells.of_curve(curve, asked)
    counts = BagCounts.of(lives, cells, rng)
    vehicles = int(np.unique(lives.cluster).size)
    everyone = np.ones((counts.bags, 1))
    reference = Reference(
        counts.failures(everyone, capture.means()[None, :])[:, 0],
        counts.risk(estimate.left).sum(axis=0),
    )
    repeats = chosen.repeats_over(vehicles)
    heights, medians = [], []
    for share in np.array_split(np.arange(repeats), min(REDRAWN_LAWS, repeats)):
        silences = Silences.judged(lives, visits, _redrawn(visits, rng))
        left = by_first_estimate(lives, silences, estimate.first, estimate.unnoticed)
        weights = counts.draw(rng, share.size)
        shares = np.stack([capture.draw(rng) for _ in share])
        drawn = reference.heights(
            cells, counts.failures(weights, shares), counts.risk(left).T @ weights
        )
        heights.append(at_points(cells, drawn, points))
        medians.append(median_clock(cells, drawn, 0.5 + REACHED_SLACK))
    found = Drawn(
        vehicles, np.concatenate(heights), np.concatenate(medians), float(capture.means().min())
    )
    return survival_with_limits(curve, asked, found, chosen)


def _redrawn(visits: Sequence[VisitGroup], rng: np.random.Generator) -> list[VisitLaw]:
    """A law of each group from a resample of its vehicles; one where they share a fit."""
    laws: dict[int, VisitLaw] = {}
    for group in visits:
        if id(group.fit) not in laws:
            weight = group.fit.weight
            drawn = rng.multinomial(round(float(weight.sum())), weight / weight.sum())
            laws[id(group.fit)] = group.fit.redrawn(drawn, group.fit.scores())
    return [laws[id(group.fit)] for group in visits]
