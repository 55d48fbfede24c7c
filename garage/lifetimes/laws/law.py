"""What every law of life answers."""

from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike

from garage.lifetimes.arrays import FloatArray


class HazardLaw(Protocol):
    """The least that may be asked of a law: enough to renew parts and to say what is left.

    All methods take a number or an array and return a float64 array of its shape.
    """

    def cumulative_hazard(self, clock: ArrayLike) -> FloatArray:
        """Minus the logarithm of survival to `clock`, 0 at clock 0."""
        ...

    def log_hazard(self, clock: ArrayLike) -> FloatArray:
        """Natural logarithm of the failure rate per clock unit at `clock` above 0."""
        ...

    def quantile(self, share_failed: ArrayLike) -> FloatArray:
        """Clock by which `share_failed` (from 0, below 1) of the lives have failed."""
        ...


class Law(HazardLaw, Protocol):
    """A law of life with a few parameters: all that may be asked of one."""

    def survival(self, clock: ArrayLike) -> FloatArray:
        """Share of lives still sound at `clock`, from 1 down to 0."""
        ...

    def hazard(self, clock: ArrayLike) -> FloatArray:
        """Failure rate per clock unit at `clock` above 0, among lives still sound there."""
        ...

    @property
    def median(self) -> float:
        """Clock by which half of the lives have failed."""
        ...


def density(law: HazardLaw, clock: FloatArray) -> FloatArray:
    """Share of lives failing per clock unit at `clock` above 0."""
    return np.asarray(np.exp(law.log_hazard(clock) - law.cumulative_hazard(clock)), np.float64)


def refuse_parameter(name: str, number: float) -> None:
    """Refuse a parameter of a law that is not a finite number above 0."""
    if not (number > 0 and number < float("inf")):
        raise ValueError(f"a {name} must be a finite number above 0; got {number}")
