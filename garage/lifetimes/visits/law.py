"""The law of visits and of leaving, with its parameters in the trade's terms."""

from dataclasses import dataclass

import numpy as np

from garage.lifetimes.arrays import FloatArray


@dataclass(frozen=True, slots=True)
class VisitLaw:
    """How vehicles come while they are customers, and how they leave.

    Attributes
    ----------
    regularity : float
        Gamma shape k of every vehicle's gaps: 1 is visits at random, above 1 more regular
        than that; the gaps' coefficient of variation is 1 / sqrt(k).
    visit_rate : float
        Mean of the vehicles' rates, visits per unit of time.
    rate_shape : float
        Gamma shape of the rates between vehicles: the larger, the more alike they are.
    leaving_rate : float
        Mean rate at which customers leave, per unit of time, 0 or more.
    leaving_shape : float or None
        Gamma shape of the leaving rates between vehicles; None where all leave at one rate.
    """

    regularity: float
    visit_rate: float
    rate_shape: float
    leaving_rate: float
    leaving_shape: float | None = None

    def __post_init__(self) -> None:
        for name in ("regularity", "visit_rate", "rate_shape", "leaving_shape"):
            value = getattr(self, name)
            if value is not None and not (np.isfinite(value) and value > 0):
                raise ValueError(f"`{name}` is a finite number above 0; got {value}")
        if not (np.isfinite(self.leaving_rate) and self.leaving_rate >= 0):
            raise ValueError(
                f"`leaving_rate` is a finite number, 0 or more; got {self.leaving_rate}"
            )

    @property
    def gap_spread(self) -> float:
        """The gaps' coefficient of variation, within one vehicle."""
        return float(1 / np.sqrt(self.regularity))

    def share_leaving_within(self, time: float) -> float:
        """Share of customers who have left within this time of their first visit.

        Examples
        --------
        >>> round(VisitLaw(1, 0.01, 2, 0.001).share_leaving_within(100), 4)
        0.0952
        """
        return float(-np.expm1(self.log_staying(np.asarray([float(time)]))[0]))

    def log_staying(self, time: FloatArray) -> FloatArray:
        """Logarithm of the chance to be still a customer this long after the first visit."""
        return self.log_staying_further(np.zeros_like(time), time)

    def log_staying_further(self, since_first: FloatArray, further: FloatArray) -> FloatArray:
        """Log chance that a customer at `since_first` still is one `further` later."""
        if self.leaving_shape is None:
            return -self.leaving_rate * further
        shape = self.leaving_shape
        left = -shape * np.log1p(
            self.leaving_rate * further / (shape + self.leaving_rate * since_first)
        )
        return np.asarray(left, np.float64)

    def leaving_rate_at(self, time: FloatArray) -> FloatArray:
        """Rate of leaving of those who are still customers this long after the first visit.

        It falls where rates differ, for those who leave fast have left.
        """
        if self.leaving_shape is None:
            return np.full_like(time, self.leaving_rate)
        slowed = self.leaving_shape / (self.leaving_shape + self.leaving_rate * time)
        return np.asarray(self.leaving_rate * slowed, np.float64)
