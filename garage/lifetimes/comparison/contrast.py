"""Chi-squares of scores, measured by their variance."""

from dataclasses import dataclass

import numpy as np
from scipy.special import chdtrc

from garage.lifetimes.arrays import FloatArray

SMALLEST_EIGENVALUE = 1e-10
"""Of a variance against its largest; below it a contrast between groups has no spread of its
own, only rounding. Judgement, no source."""


def contrast_statistic(score: FloatArray, variance: FloatArray) -> float | None:
    """Chi-square of scores that add up to 0; None where some contrast has no variance.

    Examples
    --------
    >>> contrast_statistic(np.array([3.0, -3.0]), np.array([[2.25, -2.25], [-2.25, 2.25]]))
    4.0
    """
    # Scores add up to 0, so the last group says nothing that the others do not.
    return score_statistic(score[:-1], variance[:-1, :-1])


def score_statistic(score: FloatArray, variance: FloatArray) -> float | None:
    """Chi-square of free scores; None where some combination of them has no variance.

    Examples
    --------
    >>> score_statistic(np.array([3.0]), np.array([[2.25]]))
    4.0
    """
    spread = np.linalg.eigvalsh(variance)
    if spread[-1] <= 0 or spread[0] <= SMALLEST_EIGENVALUE * spread[-1]:
        return None
    return float(score @ np.linalg.solve(variance, score))


@dataclass(frozen=True, slots=True)
class ChiSquare:
    """A chi-square, its degrees of freedom, and how often chance alone gives as much.

    Examples
    --------
    >>> round(ChiSquare(3.841459, 1).p_value, 6), ChiSquare(None, 1).p_value
    (0.05, None)
    """

    statistic: float | None
    degrees_of_freedom: int

    @property
    def p_value(self) -> float | None:
        """Upper tail of the chi-square law; None where there is no statistic."""
        if self.statistic is None:
            return None
        return float(chdtrc(self.degrees_of_freedom, self.statistic))
