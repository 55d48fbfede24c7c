"""The expected failures of a Weibull law by its power series, in as many digits as it needs."""

from decimal import Decimal, localcontext
from fractions import Fraction
from math import comb

DIGITS = 120
SHIFT = 120
STIRLING_TERMS = 60


def weibull_series(shape: str, distances: list[str], terms: int = 400) -> list[float]:
    """M(t) at scale 1 (Smith and Leadbetter, Technometrics 5, 1963, 393-396; from memory).

    M = sum of (-1)^(k-1) A_k t^(k shape) / Gamma(1 + k shape), with g_k = Gamma(1 + k shape) / k!
    and A_k = g_k - sum of g_j A_(k-j) over j from 1 to k - 1. The terms alternate and are large,
    hence the digits.
    """
    with localcontext() as context:
        context.prec = DIGITS
        bernoulli = _bernoulli()
        gammas = [_gamma(1 + k * Decimal(shape), bernoulli) for k in range(terms + 1)]
        g, factorial = [Decimal(1)], Decimal(1)
        for k in range(1, terms + 1):
            factorial *= k
            g.append(gammas[k] / factorial)
        a = [Decimal(0)]
        for k in range(1, terms + 1):
            a.append(g[k] - sum((g[j] * a[k - j] for j in range(1, k)), Decimal(0)))
        return [float(_sum(a, gammas, Decimal(t) ** Decimal(shape))) for t in distances]


def _sum(a: list[Decimal], gammas: list[Decimal], step: Decimal) -> Decimal:
    total, power, term = Decimal(0), Decimal(-1), Decimal(0)
    for k in range(1, len(a)):
        power *= -step
        term = power * a[k] / gammas[k]
        total += term
    assert abs(term) < Decimal("1e-25"), "the series needs more terms"
    return total


def _bernoulli() -> list[Fraction]:
    found = [Fraction(1)]
    for m in range(1, 2 * STIRLING_TERMS + 1):
        found.append(-sum((comb(m + 1, j) * found[j] for j in range(m)), Fraction(0)) / (m + 1))
    return found


def _gamma(x: Decimal, bernoulli: list[Fraction]) -> Decimal:
    """Stirling's series far out, brought back by the recurrence."""
    below = Decimal(1)
    for step in range(SHIFT):
        below *= x + step
    far = x + SHIFT
    # One half of log(2 pi), to 120 digits, from the series' own recurrence: Gamma(1) = 1.
    return (_log_stirling(far, bernoulli) - _log_stirling(Decimal(1 + SHIFT), bernoulli)).exp() * (
        _factorial(SHIFT) / below
    )


def _factorial(n: int) -> Decimal:
    product = Decimal(1)
    for each in range(2, n + 1):
        product *= each
    return product


def _log_stirling(x: Decimal, bernoulli: list[Fraction]) -> Decimal:
    total = (x - Decimal("0.5")) * x.ln() - x
    for n in range(1, STIRLING_TERMS + 1):
        b = bernoulli[2 * n]
        total += Decimal(b.numerator) / (b.denominator * 2 * n * (2 * n - 1)) / x ** (2 * n - 1)
    return total
