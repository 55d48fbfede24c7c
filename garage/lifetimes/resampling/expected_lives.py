"""The *expected* curve: silent vehicles stay at risk by their chance to be still customers."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from garage.lifetimes.capture.draws import CaptureDraws
from garage.lifetimes.curves.product_limit import REACHED_SLACK, product_limit
from garage.lifetimes.curves.steps import CurveSteps
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

    Parameters
    ----------
    lives : ExpectedLives
    visits : sequence of VisitGroup
        One a group, with a law each.
    capture_means : array, shape (groups,)
        Expected capture shares, in (0, 1].

    Returns
    -------
    RiskTable
        Failures divided by their group's capture share in *corrected*; fractions in
        *withdrawn*. Feed it to `product_limit`, whose own limits know nothing of vehicles, of
        the shares' doubt and of the visit law's: take those of `resample_expected`.

    Raises
    ------
    ValueError
        A group or row of histories that is not there.

    Notes
    -----
    A life is at risk for as long as its vehicle is a customer *and* the part is the one that
    was last seen. With G the chance to stay a customer, P that the next visit is yet to come
    (both by the group's law, given the vehicle's visits), S the part's survival, f its density
    and c = (1 - q) (1 - g) the share of failures repaired elsewhere on those who remain
    customers, a silent life leaves

    - unfailed with its vehicle, in proportion to -G' P S;
    - unnoticed, the part replaced elsewhere, in proportion to c f times the chance of what
      silence is left: that the vehicle leaves later, or stays silent to the end;
    - at the end of the watch, in proportion to G P S there.

    With q = 1 nothing goes unnoticed, and this is `expected_withdrawals` with S as `unfailed`.
    Those who stay away after a repair elsewhere (g) are in the fitted law's rate of leaving.
    Between the last look that found the part and the last time the vehicle was here, it may
    likewise have been replaced unnoticed, whether the life is silent or not; found gone, it
    left when such parts fail, between the two looks. That a second part, fitted elsewhere,
    would have failed here in turn is left out: it is a chance of the third order.

    S is a first estimate, with shares by the visits alone; one round of bettering is made, for
    the next changes survival at 200 thousand km by 0.001 to 0.002 in simulated workshops.

    Examples
    --------
    Forty vehicles came every 100 days or so; twenty have been silent for long:

    >>> from garage.lifetimes.visits.input import VisitHistories
    >>> from garage.lifetimes.visits.model import visit_fit
    >>> gaps = np.random.default_rng(3).gamma(4, 100 / 4, size=(40, 10))
    >>> known = VisitHistories.from_sums([10] * 40, gaps.sum(axis=1),
    ...     gaps.sum(axis=1) + [30, 900] * 20, np.log(gaps).sum(axis=1))
    >>> lives = ExpectedLives([0] * 40, [50_000] * 40, [False] * 40, range(40), [0] * 40,
    ...     [True] * 40, range(40), [50.0] * 40)
    >>> table = expected_table(lives, [VisitGroup(visit_fit(known), known)], [1.0])
    >>> table.at_risk_at([50_000, 51_000, 53_000]).round().tolist()
    [40.0, 35.0, 10.0]
    """
    return ExpectedEstimate.of(lives, visits, np.asarray(capture_means, np.float64)).table


def resample_expected(  # noqa: PLR0913 - resample_survival's, and the visits
    lives: ExpectedLives,
    visits: Sequence[VisitGroup],
    capture: CaptureDraws,
    points: Sequence[float],
    *,
    rng: np.random.Generator,
    options: ResamplingOptions | None = None,
) -> ResampledCurve:
    """Survival at `points` by the *expected* table, with limits from resampled vehicles.

    Each repeat draws as many vehicles as there are, with replacement, a capture share a group
    from its law, and one of twenty visit laws, themselves from resamples of the vehicles
    fitted; limits are percentiles of the repeats.

    Parameters
    ----------
    lives : ExpectedLives
    visits : sequence of VisitGroup
    capture : CaptureDraws
        One a group.
    points : sequence of clock values
    rng : numpy.random.Generator
        Seeded by the caller, so that a figure can be had again.
    options : ResamplingOptions, optional

    Returns
    -------
    ResampledCurve
        As of `resample_survival`. The estimate is that of `expected_table`, exactly.

    Notes
    -----
    The survival by which silences are judged, and the share of parts replaced unnoticed, stay as
    estimated: with the capture share redrawn there too, lower limits lie a little lower where
    few failures were looked at (by about a tenth of the width at 150 thousand km, in a simulated
    workshop of 600 vehicles, eight looked at). A visit law changes each number
    at risk by a factor, found on a sample of the silent lives. Of more than 4 000 vehicles random
    bags are drawn in their place, and of more than 512 failing clock values those next to each
    other are taken together: there a hazard is that of the estimate, times the failures and over
    the number at risk as the repeat has changed them. A million lives take half a minute.

    Examples
    --------
    >>> from garage.lifetimes.capture.draws import ALL_CAPTURED
    >>> from garage.lifetimes.visits.input import VisitHistories
    >>> from garage.lifetimes.visits.model import visit_fit
    >>> rng = np.random.default_rng(3)
    >>> gaps = rng.gamma(4, 100 / 4, size=(40, 10))
    >>> known = VisitHistories.from_sums([10] * 40, gaps.sum(axis=1),
    ...     gaps.sum(axis=1) + [30, 900] * 20, np.log(gaps).sum(axis=1))
    >>> failed = np.arange(40) % 4 == 1
    >>> lives = ExpectedLives([0] * 40, 50_000 + 100 * np.arange(40), failed, range(40), [0] * 40,
    ...     ~failed, np.where(failed, -1, range(40)), [50.0] * 40)
    >>> group = VisitGroup(visit_fit(known), known)
    >>> point = resample_expected(lives, [group], ALL_CAPTURED, [55_000], rng=rng).points[0]
    >>> round(point.value, 2), point.lower < point.value < point.upper
    (0.7, True)
    """
    chosen = options or ResamplingOptions()
    estimate = ExpectedEstimate.of(lives, visits, capture.means())
    curve = product_limit(
        estimate.table, level=chosen.level, given_survival_to=chosen.given_survival_to
    )
    asked = np.asarray(points, np.float64)
    cells = Cells.of_steps(CurveSteps.from_table(estimate.table, chosen.given_survival_to), asked)
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
