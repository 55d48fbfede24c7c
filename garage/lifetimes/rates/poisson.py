"""The rate behind a count of events, with exact Poisson limits."""

from dataclasses import dataclass

import numpy as np
from scipy.special import gammaincinv

from garage.lifetimes.confidence import check_level
from garage.lifetimes.status import Status


@dataclass(frozen=True, slots=True)
class PoissonRate:
    """A rate with exact limits: `failed` events over `exposure`."""

    value: float | None
    lower: float | None
    upper: float | None
    failed: int
    exposure: float
    level: float
    status: Status
    reason: str


def poisson_rate(failed: int, exposure: float, *, level: float = 0.95) -> PoissonRate:
    """Say between which rates `failed` events over `exposure` leave the true one.

    Parameters
    ----------
    failed : int
        Events, at least 0.
    exposure : float
        At least 0, in any unit (thousand km, jobs); the rate is a unit of it.
    level : float
        Two-sided; the limits cover the true rate at least this often.

    Returns
    -------
    PoissonRate
        With no event the lower limit is 0 and the upper one still two-sided. With no exposure
        there is no rate.

    Raises
    ------
    ValueError
        A negative count or exposure, a level outside (0, 1).

    Notes
    -----
    Limits from gamma quantiles; they contain the chi-square form of Garwood, Biometrika 28(3/4),
    1936, pages 437-442 (from memory).

    Examples
    --------
    >>> found = poisson_rate(4, 1.0)
    >>> round(found.lower, 4), round(found.upper, 4)
    (1.0899, 10.2416)
    """
    if failed < 0 or not (np.isfinite(exposure) and exposure >= 0.0):
        raise ValueError(
            f"failed and exposure must be at least 0; got {failed} and {exposure}. "
            "Count events, and what they were watched over."
        )
    check_level(level)
    if exposure == 0.0:
        return PoissonRate(
            None, None, None, failed, exposure, level, Status.NO_LIVES, "nothing was watched"
        )
    tail = (1.0 - level) / 2.0
    return PoissonRate(
        value=failed / exposure,
        lower=float(gammaincinv(failed, tail)) / exposure if failed else 0.0,
        upper=float(gammaincinv(failed + 1, 1.0 - tail)) / exposure,
        failed=failed,
        exposure=exposure,
        level=level,
        status=Status.OK if failed else Status.NO_FAILURES,
        reason="" if failed else "no event was seen; the upper limit alone says something",
    )
