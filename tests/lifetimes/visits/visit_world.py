"""Simulated customers with a known truth: how they come, and when they left."""

from dataclasses import dataclass

import numpy as np

from garage.lifetimes.arrays import BoolArray, FloatArray
from garage.lifetimes.visits.input import VisitHistories
from garage.lifetimes.visits.law import VisitLaw

MOST_VISITS = 150


@dataclass(frozen=True, slots=True, eq=False)
class Customers:
    """What was seen of each vehicle, and beside it what nobody sees."""

    known: VisitHistories
    left_at: FloatArray
    """After the first visit; may lie beyond the watch."""

    @property
    def still(self) -> BoolArray:
        """Customers when the watch ends."""
        return self.left_at > self.known.watched_until


def customers(law: VisitLaw, n: int, years: float, rng: np.random.Generator) -> Customers:
    """Draw vehicles that came first at any time within these years, rates per year."""
    watched = rng.uniform(0.3, years, n)
    rate = rng.gamma(law.rate_shape, law.visit_rate / law.rate_shape, n)
    if law.leaving_shape is None:
        leaving = np.full(n, law.leaving_rate)
    else:
        leaving = rng.gamma(law.leaving_shape, law.leaving_rate / law.leaving_shape, n)
    left_at = rng.exponential(1 / np.maximum(leaving, 1e-12))
    gaps = rng.gamma(law.regularity, 1 / law.regularity, (n, MOST_VISITS)) / rate[:, None]
    gaps = np.maximum(gaps, 1e-6)
    at = np.cumsum(gaps, axis=1)
    came = at < np.minimum(left_at, watched)[:, None]
    assert not came[:, -1].any(), "a vehicle came more often than the simulation allows for"
    known = VisitHistories.from_sums(
        came.sum(axis=1),
        np.where(came, at, 0).max(axis=1),
        watched,
        np.where(came, np.log(gaps), 0).sum(axis=1),
    )
    return Customers(known, left_at)
