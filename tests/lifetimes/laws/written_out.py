"""The likelihood of lives written out one by one over SciPy's distributions, for comparison."""

import numpy as np
from hypothesis import strategies as st
from scipy import stats
from scipy.optimize import minimize

from garage.lifetimes.interval_lives import IntervalLives

STANDARD = {
    "exponential": stats.gumbel_l,
    "weibull": stats.gumbel_l,
    "lognormal": stats.norm,
    "log-logistic": stats.logistic,
}

Life = tuple[float, float, float]

spans = st.tuples(
    st.integers(0, 60),
    st.integers(1, 150),
    st.sampled_from(["exact", "unfailed", "interval", "early"]),
    st.integers(1, 80),
)


def lives_of(drawn: list[tuple[int, int, str, int]], *, delayed: bool = True) -> IntervalLives:
    """Lives of every kind, from whole numbers."""
    rows: list[Life] = []
    for entry, run, kind, width in drawn:
        begin = entry if delayed else 0
        left = float(begin + run)
        ends = {
            "exact": (left, left),
            "unfailed": (left, np.inf),
            "interval": (left, left + width),
            "early": (float(begin), left),
        }
        rows.append((*ends[kind], float(begin)))
    left_, right, entry_ = (np.array(each) for each in zip(*rows, strict=True))
    return IntervalLives(left_, right, entry_)


def log_likelihood(family: str, lives: IntervalLives, mu: float, sigma: float) -> float:
    """Each life's term by its definition, summed."""
    law = STANDARD[family]

    def reduced(clock: np.ndarray) -> np.ndarray:
        return (np.log(clock) - mu) / sigma

    left, right, entry, weight = lives.left, lives.right, lives.entry, lives.weight
    exact, unfailed = left == right, np.isinf(right) & (left > 0)
    early = ~exact & ~np.isinf(right) & (left <= 0)
    between = ~exact & ~np.isinf(right) & (left > 0)
    low, high = law.logsf(reduced(left[between])), law.logsf(reduced(right[between]))
    at = right[exact]
    terms = [
        weight[exact] @ (law.logpdf(reduced(at)) - np.log(sigma) - np.log(at)),
        weight[unfailed] @ law.logsf(reduced(left[unfailed])),
        weight[early] @ law.logcdf(reduced(right[early])),
        weight[between] @ (low + np.log(-np.expm1(high - low))),
        -(weight[entry > 0] @ law.logsf(reduced(entry[entry > 0]))),
    ]
    return float(sum(terms))


def best_found(family: str, lives: IntervalLives, starts: list[tuple[float, float]]) -> float:
    """The greatest log-likelihood that a general search finds from (mu, log sigma)."""

    def loss(at: np.ndarray) -> float:
        with np.errstate(all="ignore"):
            value = log_likelihood(family, lives, at[0], np.exp(np.clip(at[1], -5, 4)))
        return -value if np.isfinite(value) else 1e10

    return -min(
        float(minimize(loss, start, method="Nelder-Mead", options={"maxfev": 200}).fun)
        for start in starts
    )
