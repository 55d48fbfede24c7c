"""The integrals over a silence that the visit model's likelihood and its answers share."""

from dataclasses import dataclass
from typing import Self

import numpy as np
from scipy.special import betainc, betaln

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.visits.input import VisitHistories
from garage.lifetimes.visits.law import VisitLaw

SPIKE_NODES = 32
TAIL_NODES = 24
"""Gauss-Legendre nodes below and above twice the typical gap. Tried: within 1e-9 of adaptive
quadrature, as a share, for regularities 0.3 to 30 and silences up to 70 gaps."""

SPIKE_POWER = 3
"""The gap's density behaves as u ** (k - 1) near 0; u proportional to this power of the node
smooths that for k below 1."""


def _rule(nodes: int) -> tuple[FloatArray, FloatArray]:
    """Gauss-Legendre nodes and weights on 0 to 1, as columns."""
    at, step = np.polynomial.legendre.leggauss(nodes)
    return (at[:, None] + 1) / 2, step[:, None] / 2


SPIKE_RULE, TAIL_RULE = _rule(SPIKE_NODES), _rule(TAIL_NODES)


def _running(nodes: int) -> FloatArray:
    """Turns weighted values at the nodes into integrals from the beginning to each node.

    Of the polynomial through the values: a sum of Legendre polynomials, whose integral from -1
    is (P[m + 1] - P[m - 1]) / (2 m + 1).
    """
    at, _ = np.polynomial.legendre.leggauss(nodes)
    heights = np.polynomial.legendre.legvander(at, nodes)
    order = np.arange(1, nodes)
    integrals = np.column_stack([at + 1, heights[:, 2:] - heights[:, :-2]])
    integrals[:, 1:] /= 2 * order + 1
    sizes = heights[:, :-1] * (2 * np.arange(nodes) + 1)
    return np.asarray(integrals @ sizes.T / 2, np.float64)


def _times(matrix: FloatArray, columns: FloatArray) -> FloatArray:
    # A product so small is not worth waking other cores, as the matrix operator does.
    return np.asarray(np.einsum("ij,jn->in", matrix, columns), np.float64)


SPIKE_RUNNING, TAIL_RUNNING = _running(SPIKE_NODES), _running(TAIL_NODES)


@dataclass(frozen=True, slots=True, eq=False)
class GapLaw:
    """Each vehicle's next gap, its own rate unknown but judged from its visits.

    The rate is gamma with shape `a` and rate `b`, so k * gap / b is beta prime (k, a).
    """

    regularity: float
    a: FloatArray
    b: FloatArray

    @classmethod
    def after(cls, law: VisitLaw, known: VisitHistories) -> Self:
        """The law of the gap that follows what is known of each vehicle."""
        k = law.regularity
        return cls(
            k,
            law.rate_shape + k * known.repeats,
            law.rate_shape / law.visit_rate + k * known.last_visit,
        )

    def outlasts(self, time: FloatArray) -> FloatArray:
        """Chance that the gap is longer than `time`, for one who stays a customer."""
        share = self.b / (self.b + self.regularity * time)
        return np.asarray(betainc(self.a, self.regularity, share), np.float64)

    def density(self, time: FloatArray) -> FloatArray:
        """Density of the gap at times above 0, shape (m, n) for n vehicles."""
        k = self.regularity
        ratio = k * time / self.b
        log = k * np.log(ratio) - (k + self.a) * np.log1p(ratio) - betaln(k, self.a)
        return np.asarray(np.exp(log) / time, np.float64)

    def nodes(self, begin: FloatArray, end: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Times and weights, shape (m, n), to integrate over `begin` to `end` of each vehicle.

        Two stretches: up to twice the typical gap, where the density may be a spike, and
        beyond, where it falls as a power and the logarithm of time is the natural scale.
        """
        typical = self.b / (self.a + 1)
        turn = np.clip(2 * typical, begin, end)
        w, dw = SPIKE_RULE
        spike = begin + (turn - begin) * w**SPIKE_POWER
        spike_weight = (turn - begin) * SPIKE_POWER * w ** (SPIKE_POWER - 1) * dw
        w, dw = TAIL_RULE
        reach = np.log1p((end - turn) / (turn + typical))
        stretched = (turn + typical) * np.exp(reach * w)
        tail, tail_weight = stretched - typical, reach * stretched * dw
        times = np.maximum(np.concatenate([spike, tail]), np.finfo(np.float64).tiny)
        return times, np.concatenate([spike_weight, tail_weight])

    def outlasting(
        self, begin: FloatArray, end: FloatArray
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        """`nodes`, and the chances that the gap outlasts each of the times.

        Summed from the density, back from the end: many times as fast as the incomplete beta
        function at each. Where the density is not smooth at 0, or begins in a tail of which a
        sum knows little, that function is taken all the same.
        """
        times, weights = self.nodes(begin, end)
        if self.regularity < 1:
            return times, weights, self.outlasts(times)
        masses = weights * self.density(times)
        spike, tail = masses[:SPIKE_NODES], masses[SPIKE_NODES:]
        beyond = self.outlasts(end)
        after_turn = beyond + tail.sum(axis=0)
        chances = [
            after_turn + spike.sum(axis=0) - _times(SPIKE_RUNNING, spike),
            after_turn - _times(TAIL_RUNNING, tail),
        ]
        found = np.clip(np.concatenate(chances), beyond, 1.0)
        late = np.flatnonzero(begin > 0)
        if late.size:
            some = GapLaw(self.regularity, self.a[late], self.b[late])
            found[:, late] = some.outlasts(times[:, late])
        return times, weights, found


def leaving_between(
    law: VisitLaw, known: VisitHistories, begin: FloatArray, end: FloatArray
) -> FloatArray:
    """Chance to leave between two times after the last visit, and to be silent to the second.

    Given that the vehicle was a customer at its last visit. A sum of terms none of which is
    negative: leave, and the gap would have outlasted the end; or the gap would have ended in
    between, but after the leaving.
    """
    gap = GapLaw.after(law, known)
    since = known.last_visit

    def staying(further: FloatArray) -> FloatArray:
        return law.log_staying_further(since, further)

    at_begin = staying(begin)
    outlasting = gap.outlasts(end) * -np.expm1(staying(end) - at_begin)
    times, weights = gap.nodes(begin, end)
    left_before = -np.expm1(staying(times) - at_begin)
    inside = np.sum(weights * gap.density(times) * left_before, axis=0)
    return np.asarray(np.exp(at_begin) * (outlasting + inside), np.float64)
