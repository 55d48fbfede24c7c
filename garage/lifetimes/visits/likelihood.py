"""The log-likelihood of the visit model, vehicle by vehicle, with its slopes."""

from collections.abc import Callable
from typing import Any

import numpy as np
from scipy.special import betainc, digamma, gammaln

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.visits.input import VisitHistories
from garage.lifetimes.visits.law import VisitLaw
from garage.lifetimes.visits.silence_kernel import GapLaw

PARAMETERS = ("regularity", "visit_rate", "rate_shape", "leaving_rate", "leaving_shape")
"""Order of the slopes, each taken in the parameter's logarithm."""

CHUNK = 1_024
"""Vehicles worked on at once, so that the arrays over the nodes stay in the processor's cache;
tried from 128 to 4 096."""

SHAPE_STEP = 1e-5
"""Share by which a shape of the incomplete beta is moved for its slope, which has no closed
form; near the cube root of the accuracy of float64, where central differences are best."""


def log_likelihood(law: VisitLaw, known: VisitHistories) -> tuple[FloatArray, FloatArray]:
    """How well a law explains each vehicle's visits and silence.

    Parameters
    ----------
    law : VisitLaw
    known : VisitHistories
        Weights play no part here.

    Returns
    -------
    values : array, shape (n,)
        Natural logarithm of the density of the gaps and the silence, given the first visit.
    slopes : array, shape (n, 5)
        Their slopes in the logarithms of `PARAMETERS`; the last column is 0 for a law whose
        customers all leave at one rate.

    Notes
    -----
    A vehicle with rate r (gamma, shape c, mean v) has gaps that are gamma with shape k and mean
    1 / r; with x gaps of sum t, r is then gamma with shape a = c + k x, rate b = c / v + k t.
    With G the chance to stay, P and p the chance that the next gap outlasts a time and its
    density (beta prime), and d the silence, the likelihood is that of the gaps times

        G(t) P(d) + integral from 0 to d of (G(t) - G(t + u)) p(u) du :

    still silent by chance, or a gap that would have ended earlier had not leaving come first.
    For k = 1 it is the Pareto/NBD model of Schmittlein, Morrison and Colombo, Management
    Science 33(1), 1987; for other k, Platzer and Reutterer, Marketing Science 35(5), 2016,
    with one k for all (both from memory; values checked, see the project's check values).

    Examples
    --------
    >>> law = VisitLaw(1.0, 0.05, 0.5, 0.02)
    >>> values, _ = log_likelihood(law, VisitHistories.from_sums([2], [30.43], [38.86]))
    >>> round(float(values[0]), 4)
    -9.4252
    """
    n = known.repeats.size
    values, slopes = np.empty(n), np.zeros((n, len(PARAMETERS)))
    for first in range(0, n, CHUNK):
        here = slice(first, first + CHUNK)
        values[here], slopes[here] = _of_chunk(law, known.part(here))
    return values, slopes


def _of_chunk(law: VisitLaw, known: VisitHistories) -> tuple[FloatArray, FloatArray]:
    gap = GapLaw.after(law, known)
    visits, in_visits = _visits(law, known, gap)
    silence, in_silence = _silence(law, known, gap)
    k, c, v = law.regularity, law.rate_shape, law.visit_rate
    in_k, in_a, in_b = (in_visits[each] + in_silence[each] for each in "kab")
    slopes = np.zeros((known.repeats.size, len(PARAMETERS)))
    slopes[:, 0] = k * (in_k + in_a * known.repeats + in_b * known.last_visit)
    slopes[:, 1] = v * in_visits["v"] - in_b * c / v
    slopes[:, 2] = c * (in_visits["c"] + in_a + in_b / v)
    stay, in_rate, in_shape = _staying(law, np.zeros_like(known.last_visit), known.last_visit)
    slopes[:, 3] = in_rate + in_silence["leaving_rate"]
    slopes[:, 4] = in_shape + in_silence["leaving_shape"]
    return visits + stay + silence, slopes


def _visits(
    law: VisitLaw, known: VisitHistories, gap: GapLaw
) -> tuple[FloatArray, dict[str, FloatArray]]:
    """Log density of the gaps, with slopes in k, c, v, a and b, each for itself."""
    k, c, v, x = law.regularity, law.rate_shape, law.visit_rate, known.repeats
    log_rate = np.log(c / v)
    value = (
        x * (k * np.log(k) - gammaln(k))
        + (k - 1) * known.log_gaps
        + gammaln(gap.a)
        - gammaln(c)
        + c * log_rate
        - gap.a * np.log(gap.b)
    )
    slopes = {
        "k": x * (np.log(k) + 1 - digamma(k)) + known.log_gaps,
        "c": log_rate + 1 - digamma(c) + np.zeros_like(x),
        "v": -c / v + np.zeros_like(x),
        "a": digamma(gap.a) - np.log(gap.b),
        "b": -gap.a / gap.b,
    }
    return value, slopes


def _silence(
    law: VisitLaw, known: VisitHistories, gap: GapLaw
) -> tuple[FloatArray, dict[str, FloatArray]]:
    """Log chance of the silence of one who was a customer at the last visit, with slopes."""
    silence = known.silence
    k, a, b = gap.regularity, gap.a, gap.b
    times, weights = gap.nodes(np.zeros_like(silence), silence)
    density = weights * gap.density(times)
    log_stay, in_rate, in_shape = _staying(law, known.last_visit, times)
    left = -np.expm1(log_stay) * density
    stayed = np.exp(log_stay) * density
    outlasting = gap.outlasts(silence)
    chance = outlasting + left.sum(axis=0)

    ratio = k * times / b
    log_ratio, log_more, share = np.log(ratio), np.log1p(ratio), ratio / (1 + ratio)
    both = digamma(k + a)
    density_in_k = log_ratio + 1 - log_more - (k + a) / k * share - digamma(k) + both
    density_in_a = -log_more - digamma(a) + both
    density_in_b = ((k + a) * share - k) / b
    at_end = np.where(silence > 0, silence * gap.density(np.maximum(silence, 1e-300)), 0.0)
    part = b / (b + k * silence)
    slopes = {
        "k": _slope_in_shape(lambda moved: betainc(a, k * moved, part), k) - at_end / k,
        "a": _slope_in_shape(lambda moved: betainc(a * moved, k, part), a),
        "b": at_end / b,
    }
    for name, slope in (("k", density_in_k), ("a", density_in_a), ("b", density_in_b)):
        slopes[name] = (slopes[name] + np.sum(left * slope, axis=0)) / chance
    slopes["leaving_rate"] = -np.sum(stayed * in_rate, axis=0) / chance
    slopes["leaving_shape"] = -np.sum(stayed * in_shape, axis=0) / chance
    return np.log(chance), slopes


def _slope_in_shape(of_share: Callable[[float], Any], shape: FloatArray | float) -> FloatArray:
    above, below = of_share(1 + SHAPE_STEP), of_share(1 - SHAPE_STEP)
    return np.asarray((above - below) / (2 * SHAPE_STEP * shape), np.float64)


def _staying(
    law: VisitLaw, since: FloatArray, further: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Log chance to stay `further`, with its slopes in the logs of leaving rate and shape."""
    value = law.log_staying_further(since, further)
    if law.leaving_shape is None:
        return value, value, np.zeros_like(value)
    shape, rate = law.leaving_shape, law.leaving_rate
    base = shape + rate * since
    more = rate * further / base
    in_rate = -shape * more / (1 + more) * (shape / base)
    in_shape = value + shape * more / (1 + more) * (shape / base)
    return value, in_rate, in_shape
