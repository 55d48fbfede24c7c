"""Limits by resampling vehicles, for lives that are not independent of one another."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from garage.lifetimes.capture.draws import ALL_CAPTURED, CaptureDraws
from garage.lifetimes.curves.cumulative_incidence import cumulative_incidence
from garage.lifetimes.curves.product_limit import REACHED_SLACK, product_limit
from garage.lifetimes.resampling.limits import (
    Drawn,
    ResampledCurve,
    ResamplingOptions,
    percentiles,
    survival_with_limits,
    with_limits,
)
from garage.lifetimes.resampling.steps import (
    FAILED,
    ClusteredLives,
    ResampledSteps,
    step_values,
)

__all__ = [
    "ALL_CAPTURED",
    "CaptureDraws",
    "ClusteredLives",
    "ResampledCurve",
    "ResamplingOptions",
    "resample_incidence",
    "resample_survival",
]


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
    from its law, and of `lives.projected` the distance that each vehicle has gone since it was
    read; limits are percentiles of the repeats.

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
    `product_limit` stands. The estimate counts projected lives to their `exit`. Memory is
    that of the lives, whatever the repeats.
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
    repeats = chosen.repeats_over(steps.clusters)
    drawn = np.empty((repeats, len(asked)))
    medians = np.empty(repeats)
    for repeat in range(repeats):
        heights = steps.survival(
            steps.draw(rng), capture.draw(rng), chosen.given_survival_to, steps.draw_stops(rng)
        )
        drawn[repeat] = step_values(steps.clock, heights, asked, before=1.0)
        reached = np.flatnonzero(heights <= 0.5 + REACHED_SLACK)
        medians[repeat] = steps.clock[reached[0]] if len(reached) else np.inf
    found = Drawn(steps.clusters, drawn, medians, float(capture.means().min()))
    return survival_with_limits(curve, asked, found, chosen)


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
    repeats = chosen.repeats_over(steps.clusters)
    drawn = np.empty((repeats, len(asked)))
    for repeat in range(repeats):
        heights = steps.incidence(steps.draw(rng), capture.draw(rng))
        drawn[repeat] = np.minimum(step_values(steps.clock, heights, asked, before=0.0), 1.0)
    limit = percentiles(drawn, chosen.level)
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
        points_found.append(with_limits(plain, *limit(number), steps.clusters, untouched=0.0))
    return ResampledCurve(
        curves.n,
        curves.failed_by_cause[0],
        steps.clusters,
        chosen.repeats,
        chosen.level,
        tuple(points_found),
    )


def _scaled(limit: float | None, ratio: float) -> float | None:
    return None if limit is None else min(limit * ratio, 1.0)
