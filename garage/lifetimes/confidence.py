"""Normal-theory limits for a share, on the scale where they behave."""

from typing import Literal

import numpy as np
from scipy.special import ndtri

from garage.lifetimes.arrays import FloatArray

LimitsKind = Literal["log-log", "log", "plain"]
LIMITS_KINDS: tuple[LimitsKind, ...] = ("log-log", "log", "plain")

LEVEL = 0.95
"""Share of intervals that are to hold the truth; custom, no source."""

LARGEST_EXPONENT = 700.0
"""Of a number that float64 still holds; a limit so far out is cut to 0 or 1 anyway."""


def check_level(level: float) -> None:
    """Refuse a level of limits or tests that is none.

    Examples
    --------
    >>> check_level(1.0)
    Traceback (most recent call last):
    ValueError: a level lies between 0 and 1, such as 0.95; got 1.0
    """
    if not 0 < level < 1:
        raise ValueError(f"a level lies between 0 and 1, such as 0.95; got {level}")


def normal_deviate(level: float) -> float:
    """How many standard errors a two-sided interval of this level reaches out.

    Examples
    --------
    >>> round(normal_deviate(0.95), 4)
    1.96
    """
    check_level(level)
    return float(ndtri(0.5 + level / 2))


def share_limits(
    share: FloatArray, standard_error: FloatArray, *, level: float, kind: LimitsKind
) -> tuple[FloatArray, FloatArray]:
    """Lower and upper limits of shares strictly between 0 and 1, cut to [0, 1].

    Parameters
    ----------
    share, standard_error : arrays of one shape
        Estimates strictly between 0 and 1, and their standard errors on the plain scale.
    level : float
        Two-sided, such as 0.95.
    kind : {"log-log", "log", "plain"}
        Scale on which the limits are symmetric: log(-log share), log share, or the share.

    Notes
    -----
    Source: Kalbfleisch and Prentice, The Statistical Analysis of Failure Time Data, 1980,
    section 1.3 (from memory); names as in R's survival package.
    """
    if kind not in LIMITS_KINDS:
        raise ValueError(f"limits are one of {', '.join(LIMITS_KINDS)}; got {kind!r}")
    reach = normal_deviate(level)
    if kind == "log-log":
        # log share is negative, so the larger exponent belongs to the lower limit. In place,
        # for curves of many steps: memory for each intermediate takes longer than the sum.
        log_share = np.log(share)
        width = share * log_share
        # A width beyond float64 is infinite, and the limits are 0 and 1.
        with np.errstate(over="ignore"):
            np.divide(standard_error, width, out=width)
            width *= -reach
            np.exp(width, out=width)
            lower, upper = log_share * width, np.divide(log_share, width, out=width)
        return np.exp(lower, out=lower), np.exp(upper, out=upper)
    if kind == "plain":
        lower, upper = share - reach * standard_error, share + reach * standard_error
    else:
        width = np.exp(np.minimum(reach * standard_error / share, LARGEST_EXPONENT))
        lower, upper = share / width, share * width
    return np.clip(lower, 0.0, 1.0, out=lower), np.clip(upper, 0.0, 1.0, out=upper)


def none_failed_lower(at_risk: float, level: float) -> float | None:
    """Lower limit of survival where none of `at_risk` lives has failed; None for no lives.

    Exact binomial (Clopper and Pearson, Biometrika 26, 1934; from memory): the share at
    which seeing no failure would be as rare as half of what the level leaves out.

    Examples
    --------
    >>> round(none_failed_lower(20, 0.95), 4)
    0.8316
    """
    if at_risk <= 0:
        return None
    return float(((1 - level) / 2) ** (1 / at_risk))
