"""The laws of log life, centred and of unit spread: what a likelihood needs of each."""

from abc import ABC, abstractmethod

import numpy as np
from scipy.special import expit, log_expit, log_ndtr, logit, ndtri

from garage.lifetimes.arrays import FloatArray

SQUARE_ROOT_TERM = 0.5 * float(np.log(2 * np.pi))

FAR_BELOW = -30.0
"""No unit; below it 1 - exp(-exp(z)) is exp(z) to the last digit."""


class StandardLaw(ABC):
    """A law of z = (log life - mu) / sigma, as functions of arrays of z.

    Written so that neither tail loses its digits. Derivatives are by z.
    """

    @abstractmethod
    def log_survival(self, z: FloatArray) -> FloatArray:
        """Logarithm of the share above z."""

    @abstractmethod
    def log_failed(self, z: FloatArray) -> FloatArray:
        """Logarithm of the share up to z."""

    @abstractmethod
    def log_density(self, z: FloatArray) -> FloatArray:
        """Logarithm of the density."""

    @abstractmethod
    def density_pull(self, z: FloatArray) -> tuple[FloatArray, FloatArray]:
        """First and second derivative of the log density."""

    @abstractmethod
    def log_between(self, low: FloatArray, high: FloatArray) -> FloatArray:
        """Logarithm of the share between two values."""

    @abstractmethod
    def survival_gap(self, low: FloatArray, high: FloatArray) -> FloatArray:
        """Log survival at the lower of two values less that at the higher one."""

    @abstractmethod
    def hazard(self, z: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Hazard of z, which is minus the slope of log survival, and its derivative."""

    @abstractmethod
    def deviate(self, share: FloatArray) -> FloatArray:
        """The z below which a share lies."""


class SmallestExtreme(StandardLaw):
    """Of the logarithms of Weibull lives (smallest extreme values)."""

    def log_survival(self, z: FloatArray) -> FloatArray:
        return np.asarray(-np.exp(z), np.float64)

    def log_failed(self, z: FloatArray) -> FloatArray:
        near = np.log(-np.expm1(-np.exp(np.maximum(z, FAR_BELOW))))
        return np.where(z < FAR_BELOW, z, near)

    def log_density(self, z: FloatArray) -> FloatArray:
        return np.asarray(z - np.exp(z), np.float64)

    def density_pull(self, z: FloatArray) -> tuple[FloatArray, FloatArray]:
        rate = np.exp(z)
        return 1 - rate, -rate

    def log_between(self, low: FloatArray, high: FloatArray) -> FloatArray:
        gained = self.survival_gap(low, high)
        return np.asarray(np.log(-np.expm1(-gained)) - np.exp(low), np.float64)

    def survival_gap(self, low: FloatArray, high: FloatArray) -> FloatArray:
        near = np.exp(low) * np.expm1(np.minimum(high - low, 1.0))
        return np.where(high - low < 1, near, np.exp(high) - np.exp(low))

    def hazard(self, z: FloatArray) -> tuple[FloatArray, FloatArray]:
        rate = np.exp(z)
        return rate, rate

    def deviate(self, share: FloatArray) -> FloatArray:
        return np.asarray(np.log(-np.log1p(-share)), np.float64)


class Normal(StandardLaw):
    """Of the logarithms of lognormal lives."""

    def log_survival(self, z: FloatArray) -> FloatArray:
        return np.asarray(log_ndtr(-z), np.float64)

    def log_failed(self, z: FloatArray) -> FloatArray:
        return np.asarray(log_ndtr(z), np.float64)

    def log_density(self, z: FloatArray) -> FloatArray:
        return np.asarray(-0.5 * z**2 - SQUARE_ROOT_TERM, np.float64)

    def density_pull(self, z: FloatArray) -> tuple[FloatArray, FloatArray]:
        return -z, np.full_like(z, -1.0)

    def log_between(self, low: FloatArray, high: FloatArray) -> FloatArray:
        # Taken in the tail where both shares are small; the other one has lost their difference.
        mirrored = low + high > 0
        top = log_ndtr(np.where(mirrored, -low, high))
        below = log_ndtr(np.where(mirrored, -high, low))
        return np.asarray(top + np.log(-np.expm1(below - top)), np.float64)

    def survival_gap(self, low: FloatArray, high: FloatArray) -> FloatArray:
        return self.log_survival(low) - self.log_survival(high)

    def hazard(self, z: FloatArray) -> tuple[FloatArray, FloatArray]:
        rate = np.exp(self.log_density(z) - self.log_survival(z))
        return rate, rate * (rate - z)

    def deviate(self, share: FloatArray) -> FloatArray:
        return np.asarray(ndtri(share), np.float64)


class Logistic(StandardLaw):
    """Of the logarithms of log-logistic lives."""

    def log_survival(self, z: FloatArray) -> FloatArray:
        return np.asarray(log_expit(-z), np.float64)

    def log_failed(self, z: FloatArray) -> FloatArray:
        return np.asarray(log_expit(z), np.float64)

    def log_density(self, z: FloatArray) -> FloatArray:
        return np.asarray(log_expit(z) + log_expit(-z), np.float64)

    def density_pull(self, z: FloatArray) -> tuple[FloatArray, FloatArray]:
        share = expit(z)
        return expit(-z) - share, -2 * share * expit(-z)

    def log_between(self, low: FloatArray, high: FloatArray) -> FloatArray:
        narrowed = np.log(-np.expm1(low - high))
        return np.asarray(log_expit(high) + log_expit(-low) + narrowed, np.float64)

    def survival_gap(self, low: FloatArray, high: FloatArray) -> FloatArray:
        return self.log_survival(low) - self.log_survival(high)

    def hazard(self, z: FloatArray) -> tuple[FloatArray, FloatArray]:
        share = expit(z)
        return share, share * expit(-z)

    def deviate(self, share: FloatArray) -> FloatArray:
        return np.asarray(logit(share), np.float64)


SMALLEST_EXTREME, NORMAL, LOGISTIC = SmallestExtreme(), Normal(), Logistic()
