"""Which of many p-values to believe when a set share of those believed may be wrong."""

import numpy as np
import numpy.typing as npt

from garage.lifetimes.comparison.p_values import Rejections, checked_p_values

# The share of flags that may be chance. Judgement, no source: one flag in twenty costs a technician
# a second look, and the usual 5 % is what a reader expects.
FALSE_DISCOVERY_LEVEL = 0.05


def benjamini_hochberg(p: npt.ArrayLike, *, level: float = FALSE_DISCOVERY_LEVEL) -> Rejections:
    """Say which p-values to believe, so that of those on average at most `level` are chance.

    Parameters
    ----------
    p : array, shape (n,)
        One p-value a hypothesis, each in [0, 1]. Pass *every* hypothesis that was looked at: a part
        still in use has p = 1. Among failed lives alone short ones are over-represented, and too
        many would be flagged.
    level : float
        The share, in (0, 1), of false ones among the rejected.

    Returns
    -------
    Rejections
        Rejected, adjusted p-values (capped at 1; rejected exactly where adjusted <= level), and the
        threshold.

    Raises
    ------
    ValueError
        A p-value outside [0, 1] or not a number, more than one dimension, a level outside (0, 1).

    Notes
    -----
    Step-up: with p sorted ascending, the largest i with p(i) <= i * level / n, and every p-value
    not above p(i), is rejected. Valid for independent p-values and for those positively dependent
    (as lives of one family are). Source: Benjamini and Hochberg, Journal of the Royal Statistical
    Society B 57(1), 1995, pages 289-300.

    Examples
    --------
    >>> result = benjamini_hochberg([0.5, 0.01, 0.001, 0.69, 0.02, 0.05, 0.0025], level=0.05)
    >>> [int(each) for each in result.rejected]
    [0, 1, 1, 0, 1, 0, 1]
    >>> result.threshold
    0.02
    """
    p_values = checked_p_values(p, level)
    n = p_values.size
    order = np.argsort(p_values, kind="stable")
    scaled = p_values[order] * n / np.arange(1, n + 1)
    # Running minimum from the largest down: a smaller p-value never has the larger adjusted one.
    adjusted = np.empty(n)
    adjusted[order] = np.minimum(np.minimum.accumulate(scaled[::-1])[::-1], 1.0)
    return Rejections.of(p_values, adjusted, level)
