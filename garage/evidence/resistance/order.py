"""Limits of a quantile from the values' order alone, whatever their distribution."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import bdtr

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Ranks:
    """Ranks, counted from 1, whose values hold the quantile between them; None: not reached."""

    low: int | None
    high: int | None
    coverage: float | None


def quantile_ranks(n: int, share: float, confidence: float = 0.95) -> Ranks:
    """Which two of n values in order hold a quantile between them?

    The number of values below the quantile is binomial with `n` and `share`; each end is allowed
    half of what confidence leaves (Conover, Practical Nonparametric Statistics, from memory).

    Parameters
    ----------
    n : int
        Values, 0 or more.
    share : float
        Of the quantile, between 0 and 1: 0.5 for the median.
    confidence : float
        Between 0 and 1, both ends together.

    Returns
    -------
    Ranks
        An end is None where even the extreme value does not reach it: a 95 % quantile has an upper
        limit at 95 % from 72 values on. `coverage` is that of both ends, None without them.

    Raises
    ------
    ValueError
        For a share or confidence that is not between 0 and 1, or a negative count.

    Examples
    --------
    >>> found = quantile_ranks(10, 0.5)
    >>> found.low, found.high, round(found.coverage, 3)
    (2, 9, 0.979)
    """
    if n < 0:
        raise ValueError(f"`n` is 0 or more; got {n}")
    for name, value in (("share", share), ("confidence", confidence)):
        if not 0.0 < value < 1.0:
            raise ValueError(
                f"`{name}` lies between 0 and 1; got {value:g}. Divide a percentage by 100."
            )
    if n == 0:
        return Ranks(None, None, None)
    tail = (1.0 - confidence) / 2.0
    below = np.asarray(bdtr(np.arange(n + 1, dtype=np.float64), n, share), dtype=np.float64)
    # below[k]: chance that at most k values lie below the quantile. Rank r is above the quantile
    # when at most r - 1 do.
    under = int(np.count_nonzero(below[:n] <= tail))
    reached = np.flatnonzero(below[:n] >= 1.0 - tail)
    low = under if under > 0 else None
    high = int(reached[0]) + 1 if reached.size else None
    coverage = float(below[high - 1] - below[low - 1]) if low and high else None
    return Ranks(low, high, coverage)


def values_needed(share: float, confidence: float = 0.95) -> int:
    """How many values until the greatest lies above a quantile, one-sided?

    ``share ** n <= 1 - confidence``: 59 for 95 % at 95 % (Wilks).

    Examples
    --------
    >>> values_needed(0.95), values_needed(0.90)
    (59, 29)
    """
    if not (0.0 < share < 1.0 and 0.0 < confidence < 1.0):
        raise ValueError(
            f"share and confidence lie between 0 and 1; got {share:g} and {confidence:g}"
        )
    # Less a hair, so that an exact power is not rounded up by the last bit.
    return int(np.ceil(np.log1p(-confidence) / np.log(share) - 1e-9))


def one_sided_high(values: Floats, share: float, confidence: float = 0.95) -> float | None:
    """Below what value does a quantile lie, one-sided?

    None, not reached, with fewer than `values_needed` values.

    Examples
    --------
    >>> one_sided_high(np.arange(1.0, 60.0), 0.95)
    59.0
    >>> one_sided_high(np.arange(1.0, 59.0), 0.95) is None
    True
    """
    two_sided = 2.0 * confidence - 1.0
    if two_sided <= 0.0:
        raise ValueError(f"`confidence` lies above 0.5 for one side; got {confidence:g}")
    rank = quantile_ranks(int(values.size), share, two_sided).high
    return None if rank is None else float(np.sort(values)[rank - 1])
