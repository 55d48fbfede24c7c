"""Small invented lives with covariates: made, drawn, and read back from a fit."""

from collections.abc import Iterator

import numpy as np
import pytest
from hypothesis import strategies as st

from garage.lifetimes.comparison.hazard_lives import HazardLives
from garage.lifetimes.comparison.partial_likelihood_search import AnyPoint
from garage.lifetimes.comparison.proportional_hazards import ProportionalHazards

# Twelve vehicles with two lives each: late entries, ties, strata and weights.
ENTRY = [0, 0, 2, 0, 5, 0, 3, 0, 0, 4, 0, 0, 1, 0, 0, 6, 0, 2, 0, 0, 8, 0, 3, 0]
EXIT = [4, 9, 7, 7, 12, 3, 9, 11, 7, 15, 5, 12, 9, 4, 15, 14, 7, 10, 2, 13, 15, 9, 6, 12]
FAILED = [1, 1, 0, 1, 1, 1, 0, 1, 1, 0, 1, 0, 1, 1, 0, 1, 0, 1, 1, 0, 1, 0, 1, 1]
CLEANED = [1, 0, 1, 1, 0, 1, 0, 0, 1, 0, 1, 0, 1, 1, 0, 0, 0, 1, 1, 0, 0, 1, 0, 1]
LOAD = [
    *(0.5, 1.2, -0.3, 2.1, 0.7, -1.1, 0.4, 1.6, 0.2, -0.8, 0.9, 1.3),
    *(-0.6, 1.1, 0.3, -1.4, 0.8, 0.1, 1.9, -0.2, 0.6, -0.9, 1.0, 0.4),
]
STRATUM = [0, 1, 0, 1, 1, 0] * 4
VEHICLE = [*range(1, 13)] * 2
WEIGHT = [1, 2, 1, 3] * 6


def small_lives(**further: object) -> HazardLives:
    """The lives with covariates cleaned and load; strata, clusters, weights if asked for."""
    columns = np.column_stack([CLEANED, LOAD])
    return HazardLives(ENTRY, EXIT, FAILED, columns, ("cleaned", "load"), **further)  # type: ignore[arg-type]


# How R 4.2.2 with survival 3.5-3 was asked for the numbers that the tests compare with:
#   Y <- Surv(entry, exit, failed); coxph(Y ~ cleaned + load), ties = "breslow", + strata(s),
#   ties = "exact", + cluster(v), weights = w; cox.zph(fit, transform = ); survfit(fit, newdata = )


def coefficients(fit: ProportionalHazards) -> list[float]:
    return [float(each.coefficient or 0.0) for each in fit.ratios]


def errors(fit: ProportionalHazards) -> list[float]:
    return [float(each.standard_error or 0.0) for each in fit.ratios]


def one_column(
    exit_: list[float], failed: list[int], x: list[float], entry: list[float] | None = None
) -> HazardLives:
    return HazardLives(entry or [0] * len(x), exit_, failed, np.array([x]).T, ("x",))


DrawnLife = tuple[int, int, bool, int, int]
life = st.tuples(
    st.integers(0, 6), st.integers(1, 8), st.booleans(), st.integers(-2, 2), st.integers(0, 1)
)
some_lives = st.lists(life, min_size=4, max_size=30)


def lives_of(drawn: list[DrawnLife], step: float = 1.0) -> HazardLives:
    entry, length, failed, x, stratum = (np.array(each) for each in zip(*drawn, strict=True))
    x2 = (np.arange(len(x)) * 7 % 5).astype(float)
    columns = np.column_stack([x, x2])
    return HazardLives(
        entry * step, (entry + length) * step, failed, columns, ("x", "y"), stratum=stratum
    )


def moments_of_failure(
    lives: HazardLives, slope: np.ndarray
) -> Iterator[tuple[np.ndarray, np.ndarray]]:
    """Log hazards of those at risk, and of those that fail, stratum by stratum, clock by clock."""
    entry, exit_, stratum = (np.asarray(v) for v in (lives.entry, lives.exit, lives.stratum))
    failed, relative = np.asarray(lives.failed, bool), np.asarray(lives.covariates) @ slope
    for label in np.unique(stratum):
        for clock in np.unique(exit_[failed & (stratum == label)]):
            at_risk = (entry < clock) & (clock <= exit_) & (stratum == label)
            yield relative[at_risk], relative[at_risk & failed & (exit_ == clock)]


def slopes_equal_differences(point: AnyPoint) -> None:
    """Hold slope and curvature against finite differences of value and slope."""
    far = 1e-5
    for column in range(len(point.score)):
        move = np.zeros(len(point.score))
        move[column] = far
        low, high = (point.likelihood.at(point.coefficients + each) for each in (-move, move))
        assert low is not None
        assert high is not None
        assert point.score[column] == pytest.approx((high.value - low.value) / (2 * far), abs=1e-5)
        bend = (low.score - high.score) / (2 * far)
        np.testing.assert_allclose(point.information[column], bend, atol=1e-5)
