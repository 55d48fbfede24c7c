"""Rates of groups watched alike, told from how many groups had each count."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from garage.lifetimes.life_rows import refuse_first
from garage.lifetimes.rates.columns import columns_of, no_count
from garage.lifetimes.status import Status


@dataclass(frozen=True, slots=True)
class RobbinsRate:
    """Mean true rate of the `n` groups that had this count; None where `reason` says so."""

    failed: int
    n: int
    mean: float | None
    status: Status
    reason: str


def robbins_rates(failed: npt.ArrayLike) -> tuple[RobbinsRate, ...]:
    """Say what rate stands behind each count of events, without a law for the rates.

    A check on `gamma_prior`: where the two differ on counts that many groups had, the rates of
    the groups are not spread as a gamma law has it.

    Parameters
    ----------
    failed : array of int, shape (n,)
        Events of each group, 0 or more; all groups watched over the same exposure, which is
        the unit of the rates.

    Returns
    -------
    tuple of RobbinsRate
        For each count from 0 to the largest, in this order. None where no group had the count
        (nothing to divide by) or the next one (the formula would then give 0 to groups that
        had events). With few groups a count the means jump, and need not rise with the count.

    Raises
    ------
    ValueError
        A negative or broken count.

    Notes
    -----
    Mean rate given x events = (x + 1) * groups with x + 1 / groups with x. Robbins, Proceedings
    of the third Berkeley symposium 1, 1956, pages 157-163 (from memory); Efron and Hastie,
    Computer Age Statistical Inference, 2016, formula 6.5.

    Examples
    --------
    >>> [found.mean for found in robbins_rates([0] * 8 + [1] * 4 + [2] * 1)]
    [0.5, 0.5, None]
    """
    (counts,) = columns_of(failed=failed)
    refuse_first(no_count(counts), "failed must be whole numbers, at least 0", counts)
    groups = np.bincount(counts.astype(np.int64), minlength=1)
    more = np.append(groups[1:], 0)
    return tuple(
        _rate(count, int(here), int(above))
        for count, (here, above) in enumerate(zip(groups, more, strict=True))
    )


def _rate(count: int, here: int, above: int) -> RobbinsRate:
    if here == 0:
        reason = f"no group had a count of {count}"
        return RobbinsRate(count, here, None, Status.NO_LIVES, reason)
    if above == 0:
        reason = f"no group had a count of {count + 1}, of which the rate is told"
        return RobbinsRate(count, here, None, Status.FEW_CLUSTERS, reason)
    return RobbinsRate(count, here, (count + 1) * above / here, Status.OK, "")
