"""The share behind a count of cases, with exact limits or with Wilson's."""

from dataclasses import dataclass

import numpy as np
from scipy.special import betaincinv

from garage.lifetimes.confidence import LEVEL, check_level, normal_deviate
from garage.lifetimes.status import Status


@dataclass(frozen=True, slots=True)
class BinomialShare:
    """A share with limits: `failed` of `n`; all figures None where nothing was watched."""

    value: float | None
    lower: float | None
    upper: float | None
    failed: int
    n: int
    level: float
    status: Status
    reason: str


def exact_share(failed: int, n: int, *, level: float = LEVEL) -> BinomialShare:
    """Say between which shares `failed` of `n` leave the true one, never too narrowly.

    Parameters
    ----------
    failed, n : int
        Cases and chances for one, 0 <= failed <= n; each of the n on its own.
    level : float
        Two-sided; the limits cover the true share at least this often, mostly more often.

    Returns
    -------
    BinomialShare
        With no case the lower limit is 0, with nothing but cases the upper one is 1, and the
        other limit stays two-sided; the status says so. Of none there is no share.

    Raises
    ------
    ValueError
        A count that is not whole or not within its range, a level outside (0, 1).

    Notes
    -----
    Clopper and Pearson, Biometrika 26, 1934, pages 404-413 (from memory), by quantiles of the
    beta distribution.

    Examples
    --------
    >>> found = exact_share(2, 10)
    >>> round(found.lower, 4), round(found.upper, 4)
    (0.0252, 0.5561)
    """
    _check_counts(failed, n)
    check_level(level)
    if n == 0:
        return _nothing_watched(level)
    tail = (1.0 - level) / 2.0
    lower = float(betaincinv(failed, n - failed + 1, tail)) if failed else 0.0
    upper = float(betaincinv(failed + 1, n - failed, 1.0 - tail)) if failed < n else 1.0
    return _share(failed, n, level, (lower, upper))


def wilson_share(failed: int, n: int, *, level: float = LEVEL) -> BinomialShare:
    """Say between which shares `failed` of `n` leave the true one, at the level on average.

    Takes and returns what `exact_share` does. The limits are narrower: over all true shares
    they cover at about their level, for single shares a little less or more.

    Notes
    -----
    The score limits of Wilson, Journal of the American Statistical Association 22, 1927, pages
    209-212 (from memory): the shares from which `failed` lies just `normal_deviate` standard
    errors away.

    Examples
    --------
    >>> found = wilson_share(2, 10)
    >>> round(found.lower, 4), round(found.upper, 4)
    (0.0567, 0.5098)
    """
    _check_counts(failed, n)
    check_level(level)
    if n == 0:
        return _nothing_watched(level)
    square = normal_deviate(level) ** 2
    centre = (failed + square / 2.0) / (n + square)
    half = np.sqrt(square * (failed * (n - failed) / n + square / 4.0)) / (n + square)
    lower = float(centre - half) if failed else 0.0
    upper = float(centre + half) if failed < n else 1.0
    return _share(failed, n, level, (lower, upper))


def _share(failed: int, n: int, level: float, limits: tuple[float, float]) -> BinomialShare:
    status, reason = Status.OK, ""
    if failed == 0:
        status, reason = Status.NO_FAILURES, "no case was seen; the upper limit says something"
    elif failed == n:
        status, reason = Status.ALL_FAILED, "nothing but cases; the lower limit says something"
    return BinomialShare(failed / n, *limits, failed, n, level, status, reason)


def _nothing_watched(level: float) -> BinomialShare:
    return BinomialShare(None, None, None, 0, 0, level, Status.NO_LIVES, "nothing was watched")


def _check_counts(failed: int, n: int) -> None:
    if not (failed == int(failed) and n == int(n) and 0 <= failed <= n):
        raise ValueError(
            f"a share counts `failed` of `n` in whole numbers, 0 <= failed <= n; got {failed} "
            f"of {n}. Count each chance once."
        )
