"""Which of many p-values to believe when not one of those believed may be chance."""

import numpy as np
from numpy.typing import ArrayLike

from garage.lifetimes.comparison.p_values import Rejections, checked_p_values

FAMILY_LEVEL = 0.05
"""Chance of one or more false ones among those believed; custom, no source."""


def holm(p: ArrayLike, *, level: float = FAMILY_LEVEL) -> Rejections:
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
    Rejections

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
    return Rejections.of(p_values, adjusted, level)
