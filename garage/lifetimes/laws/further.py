"""Quantiles and means of a further distance, from the chance of lasting it."""

from abc import ABC, abstractmethod
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike
from scipy.optimize import brentq

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.status import Status

Lasting = Callable[[FloatArray], FloatArray]
"""Chance of lasting each further distance: 1 at 0, never rising."""

SPLITS = (1e-9, 1e-6, 1e-4, 1e-2, 0.1, 0.3, 0.5, 0.7, 0.9)
"""Shares failed between which the chance of lasting is integrated piece by piece."""

TAIL_SPLITS = tuple(1 - 10.0**-tenths for tenths in (2, 3, 4, 6, 8, 10, 12))
"""The same beyond nine tenths; the last is where a mean over all lives stops."""

HEAVIEST_TAIL = 1e-6
"""Largest share of a mean over all lives that may lie about where it stops. Judgement, no
source: beyond it the figure would hang on lives that nobody has seen."""

NODES, WEIGHTS = np.polynomial.legendre.leggauss(32)

MOST_DOUBLINGS = 900


@dataclass(frozen=True, slots=True)
class MeanFurther:
    """The mean further distance of all; None where `reason` says so."""

    value: float | None
    status: Status
    reason: str


@dataclass(frozen=True, slots=True)
class LifeLeftFigure:
    """A chance or a further distance with its limits; what is None has its reason.

    `asked` is the further distance, the share or the horizon that was asked about; `n` and
    `failed` count the lives behind the figure and the failures among them (fractions where lives
    have such weights).
    """

    asked: float
    value: float | None
    lower: float | None
    upper: float | None
    n: float
    failed: float
    status: Status
    reason: str


def refuse_now(now: float) -> None:
    """A part has run a finite distance, at least 0."""
    if not (np.isfinite(now) and now >= 0):
        raise ValueError(
            f"now must be a finite distance, at least 0; got {now}. Give what the part has run, "
            "in the unit of the law's clock."
        )


def refuse_further(further: ArrayLike) -> FloatArray:
    """Further distances as an array, or a refusal."""
    ahead = np.asarray(further, np.float64)
    bad = ~(np.isfinite(ahead) & (ahead >= 0))
    if np.any(bad):
        raise ValueError(
            f"a further distance is finite and at least 0; got {float(ahead[bad].flat[0])}. "
            "Count it from where the part is now."
        )
    return ahead


def refuse_share(share_failed: float) -> None:
    """Only a share strictly between 0 and 1 has a distance."""
    if not 0 < share_failed < 1:
        raise ValueError(
            f"a share of failed lives lies between 0 and 1; got {share_failed}. Give 0.5 for the "
            "median."
        )


def further_quantile(lasting: Lasting, share_failed: float, guess: float) -> float:
    """The further distance within which a share fails.

    Parameters
    ----------
    lasting : callable
    share_failed : float
        Between 0 and 1.
    guess : float
        Above 0; any distance of about the right size.
    """
    refuse_share(share_failed)
    goal = 1 - share_failed

    def over(further: float) -> float:
        return float(lasting(np.array([further]))[0]) - goal

    low = high = guess
    for _ in range(MOST_DOUBLINGS):
        if over(high) <= 0:
            break
        low, high = high, 2 * high
    else:
        raise ArithmeticError(
            f"no distance was found within which {share_failed} fail; ask for a smaller share"
        )
    if low == high:
        for _ in range(MOST_DOUBLINGS):
            low = low / 2
            if over(low) > 0:
                break
            high = low
        else:
            return low
    return float(brentq(over, low, high, xtol=1e-300, rtol=1e-13))


def mean_within(lasting: Lasting, horizon: float, guess: float) -> float:
    """Mean further distance, those that last the horizon ending there.

    Parameters
    ----------
    lasting : callable
    horizon : float
        Above 0.
    guess : float
        Above 0; about the distance within which half fail.
    """
    if not (np.isfinite(horizon) and horizon > 0):
        raise ValueError(
            f"a horizon is a finite distance above 0; got {horizon}. Give the further distance "
            "that matters, in the unit of the clock."
        )
    at_end = 1 - float(lasting(np.array([horizon]))[0])
    inside = [share for share in SPLITS + TAIL_SPLITS if share < at_end]
    edges = [0.0, *(further_quantile(lasting, share, guess) for share in inside), horizon]
    return _integral(lasting, np.minimum(np.array(edges), horizon))


def mean_of_all(lasting: Lasting, guess: float) -> MeanFurther:
    """Mean further distance of all, if it does not hang on lives that nobody has seen."""
    edges = np.array(
        [0.0, *(further_quantile(lasting, share, guess) for share in SPLITS + TAIL_SPLITS)]
    )
    mean = _integral(lasting, edges)
    # About what a tail that falls like a power of the distance holds beyond its last edge.
    beyond = float(edges[-1]) * (1 - TAIL_SPLITS[-1])
    if beyond > HEAVIEST_TAIL * mean:
        return MeanFurther(
            None,
            Status.NOT_REACHED,
            "the mean hangs on lives so long that nobody sees them; ask for the median, or for "
            "the mean within a horizon",
        )
    return MeanFurther(mean, Status.OK, "")


def _integral(lasting: Lasting, edges: FloatArray) -> float:
    # Where a heavy tail takes a piece over more than a doubling, it is cut at the doublings.
    pieces = [edges[:2]]
    for low, high in pairwise(edges[1:]):
        doublings = max(1, int(np.ceil(np.log2(max(high / low, 1.0)))))
        pieces.append(low * (high / low) ** (np.arange(1, doublings + 1) / doublings))
    cut = np.concatenate(pieces)
    half = np.diff(cut)[:, None] / 2
    points = cut[:-1, None] + half * (1 + NODES)
    heights = lasting(points.ravel()).reshape(points.shape)
    return float(np.sum(half * WEIGHTS * heights))


class FurtherDistances(ABC):
    """Quantiles and means for a part whose chance of lasting is known at every distance."""

    __slots__ = ()

    @abstractmethod
    def lasting(self, further: ArrayLike) -> FloatArray:
        """Chance of lasting each further distance, at least 0; an array of its shape."""

    @property
    @abstractmethod
    def _guess(self) -> float:
        """Any distance of about the right size."""

    def quantile(self, share_failed: float) -> float:
        """Further distance within which a share (between 0 and 1) of such parts fail."""
        return further_quantile(self.lasting, share_failed, self._guess)

    @property
    def median(self) -> float:
        """Further distance within which half of such parts fail."""
        return self.quantile(0.5)

    def mean_within(self, horizon: float) -> float:
        """Mean further distance, parts that last the horizon (above 0) ending there."""
        return mean_within(self.lasting, horizon, self._guess)

    @property
    def mean(self) -> MeanFurther:
        """Mean further distance of all; None where a law's tail is too heavy for one."""
        return mean_of_all(self.lasting, self._guess)
