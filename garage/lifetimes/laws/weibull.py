"""The Weibull law of life: what a given shape and scale say about any distance."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from garage.lifetimes.arrays import FloatArray


@dataclass(frozen=True, slots=True)
class WeibullLaw:
    """Lives whose cumulative hazard at clock t is (t / scale) ** shape.

    Parameters
    ----------
    shape : float
        Above 0, no unit. Below 1 early failures dominate, 1 is pure chance, above 1 wear.
    scale : float
        Above 0, in the unit of the clock: the distance by which 63.2 % have failed.

    Raises
    ------
    ValueError
        If shape or scale is not a finite number above 0.

    Notes
    -----
    All methods take a number or an array and return a float64 array of its shape. A clock
    value below 0 counts as 0, where every life is still sound. At clock 0 the hazard of a
    shape below 1 has no finite value and is refused.
    Source: Meeker and Escobar, Statistical Methods for Reliability Data, 1998, section 4.8
    (from memory); formulas follow from the definition of the cumulative hazard.

    Examples
    --------
    >>> law = WeibullLaw(shape=2.0, scale=100.0)
    >>> round(float(law.survival(100.0)), 4)
    0.3679
    >>> round(law.median, 2)
    83.26
    """

    shape: float
    scale: float

    def __post_init__(self) -> None:
        for name, number in (("shape", self.shape), ("scale", self.scale)):
            if not (np.isfinite(number) and number > 0):
                raise ValueError(f"a Weibull {name} must be a finite number above 0; got {number}")

    def cumulative_hazard(self, clock: ArrayLike) -> FloatArray:
        """Expected failures per life by `clock`, were each failed life replaced as it was."""
        reduced = np.maximum(np.asarray(clock, dtype=np.float64), 0.0) / self.scale
        return np.asarray(reduced**self.shape, dtype=np.float64)

    def survival(self, clock: ArrayLike) -> FloatArray:
        """Share of lives still sound at `clock`, from 1 down to 0."""
        return np.asarray(np.exp(-self.cumulative_hazard(clock)), dtype=np.float64)

    def log_hazard(self, clock: ArrayLike) -> FloatArray:
        """Natural logarithm of the failure rate per clock unit at `clock` above 0."""
        at = np.asarray(clock, dtype=np.float64)
        if np.any(at <= 0):
            raise ValueError(
                "the hazard is asked at clock values above 0; got "
                f"{float(np.min(at))}. Ask from half a clock unit on."
            )
        reduced = np.log(at) - np.log(self.scale)
        log_rate = np.log(self.shape / self.scale) + (self.shape - 1.0) * reduced
        return np.asarray(log_rate, dtype=np.float64)

    def hazard(self, clock: ArrayLike) -> FloatArray:
        """Failure rate per clock unit at `clock` above 0, among lives still sound there."""
        return np.asarray(np.exp(self.log_hazard(clock)), dtype=np.float64)

    def quantile(self, share_failed: ArrayLike) -> FloatArray:
        """Clock by which `share_failed` (from 0, below 1) of the lives have failed."""
        share = np.asarray(share_failed, dtype=np.float64)
        if np.any((share < 0) | (share >= 1)):
            raise ValueError(
                f"a share of failed lives lies from 0 to below 1; got {share.tolist()}"
            )
        life = self.scale * (-np.log1p(-share)) ** (1.0 / self.shape)
        return np.asarray(life, dtype=np.float64)

    @property
    def median(self) -> float:
        """Clock by which half of the lives have failed."""
        return float(self.quantile(0.5))
