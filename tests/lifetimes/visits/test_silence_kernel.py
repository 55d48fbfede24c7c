"""The chances summed from the gap's density against the incomplete beta function."""

import numpy as np
import pytest

from garage.lifetimes.visits.input import VisitHistories
from garage.lifetimes.visits.law import VisitLaw
from garage.lifetimes.visits.silence_kernel import SPIKE_RULE, SPIKE_RUNNING, GapLaw


def gaps_after(law: VisitLaw, seed: int) -> tuple[GapLaw, np.ndarray]:
    rng, n = np.random.default_rng(seed), 60
    visits = rng.integers(0, 15, n)
    last = np.where(visits > 0, visits * rng.gamma(5, 1 / 5, n), 0.0)
    silence = rng.exponential(3, n) * rng.choice([0.1, 1, 10], n)
    known = VisitHistories.from_sums(visits, last, last + silence)
    return GapLaw.after(law, known), silence


@pytest.mark.parametrize("rate_shape", [0.1, 2.0, 500.0])
@pytest.mark.parametrize("regularity", [0.4, 1.0, 1.3, 6.0, 30.0])
def test_summed_chances_equal_the_incomplete_beta_function(
    regularity: float, rate_shape: float
) -> None:
    gap, silence = gaps_after(VisitLaw(regularity, 1.0, rate_shape, 0.2), seed=1)
    begin = np.where(np.arange(silence.size) % 3 == 0, 0.3 * silence, 0.0)
    times, weights, chances = gap.outlasting(begin, silence)
    # Between the nodes of a sharp spike a sum knows a little less; late beginnings are exact.
    exact = gap.outlasts(times)
    np.testing.assert_allclose(chances, exact, atol=1e-4 if regularity == 30 else 2e-7)
    np.testing.assert_array_equal(chances[:, begin > 0], exact[:, begin > 0])
    assert np.all(np.diff(times, axis=0) >= 0)
    np.testing.assert_allclose(weights.sum(axis=0), silence - begin, rtol=1e-6)


def test_running_integral_of_a_polynomial_is_exact() -> None:
    at, step = SPIKE_RULE
    values = 3 * at**2 + at
    np.testing.assert_allclose(SPIKE_RUNNING @ (step * values), at**3 + at**2 / 2, atol=1e-13)
