"""Which of many p-values to believe when not one of those believed may be chance."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from garage.lifetimes.arrays import BoolArray, FloatArray
from garage.lifetimes.comparison.p_values import checked_p_values

FAMILY_LEVEL = 0.05
"""Chance of one or more false ones among those believed; custom, no source."""


@dataclass(frozen=True, slots=True, eq=False)
class HolmResult:
    """What the step-down rule rejects among `n` hypotheses.

    Attributes
    ----------
    rejected, adjusted : arrays, shape (n,)
        In the order of the p-values given; rejected exactly where adjusted <= level.
    threshold : float or None
        Largest p-value rejected; None, with `reason`, where nothing is.
    """

    rejected: BoolArray
    adjusted: FloatArray
    threshold: float | None
    level: float
    n: int
    reason: str

    @property
    def rejected_count(self) -> int:
        """How many hypotheses are rejected."""
        return int(self.rejected.sum())


def holm(p: ArrayLike, *, level: float = FAMILY_LEVEL) -> HolmResult:
    """Say which p-values to believe, so that with chance 1 - `level` not one of them is chance.

    For a handful of comparisons of which each will be acted on. Among hundreds, where a known
    share of false ones can be borne, `benjamini_hochberg` finds more.

    Parameters
    ----------
    p : array, shape (n,)
        One p-value a hypothesis, each in [0, 1]. Pass *every* one that was looked at.
    level : float
        Chance, in (0, 1), of any false one among the rejected.

    Returns
    -------
    HolmResult

    Raises
    ------
    ValueError
        A p-value outside [0, 1] or not a number, more than one dimension, a level outside
        (0, 1).

    Notes
    -----
    Step-down: with p sorted ascending, p(i) is rejected while p(j) <= level / (n - j + 1) for
    all j up to i. Adjusted p-values are the running maximum of (n - i + 1) p(i), cut at 1;
    equal p-values get equal ones. Valid whatever the dependence. Source: Holm, Scandinavian
    Journal of Statistics 6(2), 1979, pages 65-70 (from memory; values checked).

    Examples
    --------
    >>> result = holm([0.01, 0.04, 0.03, 0.005])
    >>> result.adjusted.round(3).tolist(), result.rejected.tolist()
    ([0.03, 0.06, 0.06, 0.02], [True, False, False, True])
    """
    p_values = checked_p_values(p, level)
    n = p_values.size
    order = np.argsort(p_values, kind="stable")
    scaled = p_values[order] * np.arange(n, 0, -1)
    adjusted = np.empty(n)
    # Running maximum: a larger p-value never has the smaller adjusted one.
    adjusted[order] = np.minimum(np.maximum.accumulate(scaled), 1.0)
    rejected = adjusted <= level
    reason = ""
    if n == 0:
        reason = "there is no p-value to judge"
    elif not rejected.any():
        reason = f"no p-value is small enough among {n} at level {level}"
    return HolmResult(
        rejected=rejected,
        adjusted=adjusted,
        threshold=float(p_values[rejected].max()) if rejected.any() else None,
        level=level,
        n=n,
        reason=reason,
    )
