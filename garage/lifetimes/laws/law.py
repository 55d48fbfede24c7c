"""What every law of life answers."""

from typing import Protocol

from numpy.typing import ArrayLike

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.renewal.law import Law as HazardLaw


class Law(HazardLaw, Protocol):
    """A law of life with a few parameters: all that may be asked of one.

    Cumulative hazard, log hazard and quantile stand in the protocol it extends. All methods
    take a number or an array and return a float64 array of its shape.
    """

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


def refuse_parameter(name: str, number: float) -> None:
    """Refuse a parameter of a law that is not a finite number above 0."""
    if not (number > 0 and number < float("inf")):
        raise ValueError(f"a {name} must be a finite number above 0; got {number}")
