"""How much more than by chance the figures of units differ from their target."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import gammaincc

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.rates.funnel_limits import FunnelKind, FunnelLaw, checked_sizes
from garage.lifetimes.status import Status

WINSORISED = 0.1
"""Share of the units at either end that are drawn in to the quantile there, so that the very
units that stick out do not widen the funnel. Spiegelhalter's usual value (from memory)."""

FEWEST_UNITS = 10
"""Units under which no over-dispersion is told. Judgement, no source: a tenth at either end of
fewer is no unit at all."""


@dataclass(frozen=True, slots=True)
class OverDispersion:
    """How the units of a funnel are spread about their target.

    Attributes
    ----------
    ratio : float or None
        Mean square of the winsorised z-scores, phi. About 0.7 where there is chance alone and a
        tenth is drawn in at either end; None with a reason for too few units.
    between_variance : float or None
        Variance of the units' true figures, tau squared; 0 where chance explains all.
    chance : float or None
        Chance of a sum of squares (not winsorised) this large if there were chance alone.
    n, failed : int
        Units and events.
    """

    ratio: float | None
    between_variance: float | None
    chance: float | None
    winsorised: float
    n: int
    failed: int
    status: Status
    reason: str


def z_scores(failed: npt.ArrayLike, size: npt.ArrayLike, law: FunnelLaw) -> FloatArray:
    """How many standard errors of chance alone each figure lies from the target.

    Examples
    --------
    >>> z_scores([20, 5], [100, 100], FunnelLaw(FunnelKind.SHARE, 0.1)).round(2).tolist()
    [3.33, -1.67]
    """
    sizes = checked_sizes(size, law.kind)
    figure = np.asarray(failed, np.float64) / sizes
    return np.asarray((figure - law.target) / np.sqrt(chance_variance(sizes, law)), np.float64)


def chance_variance(sizes: FloatArray, law: FunnelLaw) -> FloatArray:
    """Variance by chance alone of the figure of a unit like the target."""
    spread = law.target * (1 - law.target) if law.kind is FunnelKind.SHARE else law.target
    return spread / sizes


def over_dispersion(
    failed: npt.ArrayLike, size: npt.ArrayLike, law: FunnelLaw, *, winsorised: float = WINSORISED
) -> OverDispersion:
    """Say by how much the units differ beyond chance, the outermost of them drawn in.

    Parameters
    ----------
    failed, size : arrays, shape (n,)
        Events and size of each unit, as for `funnel`.
    law : FunnelLaw
        Its kind and target; what it says of over-dispersion is not used.
    winsorised : float
        Share of the units at either end, in [0, 0.5).

    Returns
    -------
    OverDispersion
        Without figures for fewer than ten units.

    Raises
    ------
    ValueError
        A winsorised share outside its range, a size that is none.

    Notes
    -----
    phi = sum of winsorised z^2 / n; tau^2 = (n phi - (n - 1)) / (sum w - sum w^2 / sum w), w = 1
    / variance by chance, and 0 where that is negative. z beyond the quantile (linear between
    order statistics, R's type 7) are set to it. Drawing in makes phi too small where there is
    little over-dispersion: some is left unfound (about 30 % of the variance by chance).
    Source: Spiegelhalter, Statistics in Medicine 24, 2005, pages 1185-1202, appendix A.3; and
    Spiegelhalter, Quality and Safety in Health Care 14, 2005, 347-351 (both from memory);
    tau^2: DerSimonian and Laird, Controlled Clinical Trials 7, 1986.

    Examples
    --------
    >>> law = FunnelLaw(FunnelKind.RATIO, 1.0)
    >>> failed, size = [4, 9, 22, 31, 12, 7, 40, 18, 11, 26], [10.0] * 3 + [20.0] * 7
    >>> found = over_dispersion(failed, size, law)
    >>> round(found.ratio, 2), round(found.between_variance, 3)
    (5.27, 0.288)
    """
    if not 0.0 <= winsorised < 0.5:
        raise ValueError(f"a winsorised share lies in [0, 0.5); got {winsorised}")
    z = z_scores(failed, size, law)
    n, events = len(z), int(np.sum(failed))
    if n < FEWEST_UNITS:
        reason = f"over-dispersion is told from {FEWEST_UNITS} units on; there are {n}"
        status = Status.FEW_CLUSTERS if n else Status.NO_LIVES
        return OverDispersion(None, None, None, winsorised, n, events, status, reason)
    drawn_in = np.clip(z, *np.quantile(z, [winsorised, 1.0 - winsorised]))
    ratio = float((drawn_in**2).mean())
    weight = 1.0 / chance_variance(checked_sizes(size, law.kind), law)
    room = float(weight.sum() - (weight**2).sum() / weight.sum())
    between = max(0.0, (n * ratio - (n - 1)) / room)
    chance = float(gammaincc(n / 2.0, float((z**2).sum()) / 2.0))
    return OverDispersion(ratio, between, chance, winsorised, n, events, Status.OK, "")
