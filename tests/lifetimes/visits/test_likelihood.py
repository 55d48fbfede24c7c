"""The likelihood of the visit model against slow integrals, the random-visits form and slopes."""

from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import gammaincc, gammaln, hyp2f1
from scipy.stats import gamma

from garage.lifetimes.visits.input import VisitHistories
from garage.lifetimes.visits.law import VisitLaw
from garage.lifetimes.visits.likelihood import PARAMETERS, log_likelihood

GAPS: tuple[list[float], ...] = ([], [0.7, 0.4, 1.4], [1.1] * 12, [])
WATCHED = (0.0, 6.0, 14.0, 9.0)


def histories() -> VisitHistories:
    return VisitHistories.from_sums(
        [len(gaps) for gaps in GAPS],
        [sum(gaps) for gaps in GAPS],
        WATCHED,
        [float(np.log(gaps).sum()) for gaps in GAPS],
    )


def slow_likelihood(law: VisitLaw, gaps: list[float], watched: float) -> float:
    """Integrate over the vehicle's own rate, and within it over the time of leaving.

    Follows the story of one vehicle, with the chances that SciPy's laws give; shares no
    formula with the program but the rate's prior.
    """
    k, last = law.regularity, float(sum(gaps))

    def leaving_later(time: float) -> float:
        if law.leaving_shape is None:
            return float(np.exp(-law.leaving_rate * time))
        scale = law.leaving_rate / law.leaving_shape
        return float(
            quad(
                lambda m: np.exp(-m * time) * gamma.pdf(m, law.leaving_shape, scale=scale),
                0,
                np.inf,
                epsabs=1e-12,
            )[0]
        )

    def leaving_at(time: float) -> float:
        if law.leaving_shape is None:
            return float(law.leaving_rate * np.exp(-law.leaving_rate * time))
        scale = law.leaving_rate / law.leaving_shape
        return float(
            quad(
                lambda m: m * np.exp(-m * time) * gamma.pdf(m, law.leaving_shape, scale=scale),
                0,
                np.inf,
                epsabs=1e-12,
            )[0]
        )

    # The leaving densities do not depend on the vehicle's rate: once, on Gauss nodes.
    at, step = np.polynomial.legendre.leggauss(60)
    # To the fourth power, for the chance of silence bends at its start where gaps come in bursts.
    ends = last + (watched - last) * ((at + 1) / 2) ** 4
    steps = (watched - last) * 2 * step * ((at + 1) / 2) ** 3
    leaving = np.array([leaving_at(float(end)) for end in ends])
    stays = leaving_later(watched)

    def given_rate(rate: float) -> float:
        density = float(np.prod(gamma.pdf(gaps, k, scale=1 / (k * rate)))) if gaps else 1.0
        left = float(np.sum(steps * leaving * gammaincc(k, k * rate * (ends - last))))
        stayed = stays * float(gammaincc(k, k * rate * (watched - last)))
        prior = gamma.pdf(rate, law.rate_shape, scale=law.visit_rate / law.rate_shape)
        return density * (left + stayed) * float(prior)

    edges = [0, 0.2, 0.6, 1, 2, 4, 30]
    pieces = (quad(given_rate, a, b, epsabs=0, epsrel=1e-9)[0] for a, b in pairwise(edges))
    return float(np.log(sum(pieces)))


@pytest.mark.parametrize("leaving_shape", [None, 1.5])
@pytest.mark.parametrize("regularity", [0.7, 1.0, 5.0])
def test_likelihood_equals_a_slow_double_integral(
    regularity: float, leaving_shape: float | None
) -> None:
    law = VisitLaw(regularity, 0.9, 2.5, 0.2, leaving_shape)
    values, _ = log_likelihood(law, histories())
    for value, gaps, watched in zip(values, GAPS, WATCHED, strict=True):
        assert value == pytest.approx(slow_likelihood(law, list(gaps), watched), abs=1e-6)


def test_random_visits_equal_the_closed_form() -> None:
    """Pareto/NBD with alpha < beta, by Gaussian hypergeometric functions (from memory)."""
    r, alpha, s, beta = 0.553, 10.578, 0.606, 11.669
    x, last, watched = (np.array(each) for each in ([2, 1, 0, 20], [30.4, 1.7, 0, 37], [38.9] * 4))

    def part(time: np.ndarray) -> np.ndarray:
        return hyp2f1(r + s + x, r + x, r + s + x + 1, (beta - alpha) / (beta + time)) / (
            (beta + time) ** (r + s + x)
        )

    base = gammaln(r + x) - gammaln(r) + r * np.log(alpha) + s * np.log(beta)
    stayed = (alpha + watched) ** -(r + x) * (beta + watched) ** -s
    closed = base + np.log(stayed + s / (r + s + x) * (part(last) - part(watched)))
    values, _ = log_likelihood(
        VisitLaw(1.0, r / alpha, r, s / beta, s), VisitHistories.from_sums(x, last, watched)
    )
    np.testing.assert_allclose(values, closed, rtol=0, atol=1e-9)


@pytest.mark.parametrize("leaving_shape", [None, 0.6, 30.0])
@pytest.mark.parametrize("regularity", [0.4, 1.0, 2.5, 20.0])
def test_slopes_equal_numeric_ones(regularity: float, leaving_shape: float | None) -> None:
    centre = np.log([regularity, 1.3, 0.8, 0.2, leaving_shape or 1.0])
    step = 1e-5

    def law_at(point: np.ndarray) -> VisitLaw:
        figures = dict(zip(PARAMETERS, (float(each) for each in np.exp(point)), strict=True))
        if leaving_shape is None:
            del figures["leaving_shape"]
        return VisitLaw(**figures)

    def values(point: np.ndarray) -> np.ndarray:
        return log_likelihood(law_at(point), histories())[0]

    _, slopes = log_likelihood(law_at(centre), histories())
    for place, name in enumerate(PARAMETERS):
        move = np.zeros(5)
        move[place] = step
        numeric = (values(centre + move) - values(centre - move)) / (2 * step)
        np.testing.assert_allclose(slopes[:, place], numeric, atol=1e-6, rtol=1e-7, err_msg=name)


def test_alike_leaving_rates_are_the_limit_of_unequal_ones() -> None:
    constant, _ = log_likelihood(VisitLaw(2, 1, 2, 0.3), histories())
    nearly, _ = log_likelihood(VisitLaw(2, 1, 2, 0.3, 1e7), histories())
    np.testing.assert_allclose(nearly, constant, atol=1e-5)


def test_nothing_watched_after_the_first_visit_says_nothing() -> None:
    values, slopes = log_likelihood(VisitLaw(2, 1, 2, 0.3), histories())
    assert values[0] == pytest.approx(0, abs=1e-12)
    np.testing.assert_allclose(slopes[0], 0, atol=1e-12)


def test_many_vehicles_equal_each_alone() -> None:
    # More than are worked on at once.
    law, few = VisitLaw(2, 1, 2, 0.3), histories()
    times = 1_500
    many = VisitHistories.from_sums(
        *(
            np.tile(values, times)
            for values in (few.repeats, few.last_visit, few.watched_until, few.log_gaps)
        )
    )
    np.testing.assert_allclose(
        log_likelihood(law, many)[0], np.tile(log_likelihood(law, few)[0], times), rtol=1e-12
    )


@pytest.mark.parametrize("place", range(5))
def test_laws_that_cannot_be_are_refused(place: int) -> None:
    figures = [2.0, 1.0, 2.0, 0.3, 1.0]
    VisitLaw(**dict(zip(PARAMETERS, figures, strict=True)))
    figures[place] = -1.0
    with pytest.raises(ValueError, match=PARAMETERS[place]):
        VisitLaw(**dict(zip(PARAMETERS, figures, strict=True)))
