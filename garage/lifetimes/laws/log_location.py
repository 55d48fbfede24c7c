"""Laws whose log life is a standard law moved and stretched: the arithmetic they share."""

from abc import ABC, abstractmethod

import numpy as np
from numpy.typing import ArrayLike

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.laws.standard import StandardLaw


class LogLocationLaw(ABC):
    """Answers of a law with z = (log clock - mu) / sigma.

    A clock value below 0 counts as 0, where every life is still sound.
    """

    __slots__ = ()

    @property
    @abstractmethod
    def _standard(self) -> StandardLaw: ...

    @property
    @abstractmethod
    def _mu_sigma(self) -> tuple[float, float]: ...

    def _reduced(self, clock: ArrayLike) -> FloatArray:
        mu, sigma = self._mu_sigma
        with np.errstate(divide="ignore"):
            logs = np.log(np.maximum(np.asarray(clock, np.float64), 0.0))
        return np.asarray((logs - mu) / sigma, np.float64)

    def cumulative_hazard(self, clock: ArrayLike) -> FloatArray:
        """Minus the logarithm of survival to `clock`, 0 at clock 0."""
        return np.asarray(0.0 - self._standard.log_survival(self._reduced(clock)), np.float64)

    def survival(self, clock: ArrayLike) -> FloatArray:
        """Share of lives still sound at `clock`, from 1 down to 0."""
        return np.asarray(np.exp(self._standard.log_survival(self._reduced(clock))), np.float64)

    def log_hazard(self, clock: ArrayLike) -> FloatArray:
        """Natural logarithm of the failure rate per clock unit at `clock` above 0."""
        at = np.asarray(clock, np.float64)
        if np.any(at <= 0):
            raise ValueError(
                "the hazard is asked at clock values above 0; got "
                f"{float(np.min(at))}. Ask from half a clock unit on."
            )
        z = self._reduced(at)
        of_z = self._standard.log_density(z) - self._standard.log_survival(z)
        return np.asarray(of_z - np.log(self._mu_sigma[1]) - np.log(at), np.float64)

    def hazard(self, clock: ArrayLike) -> FloatArray:
        """Failure rate per clock unit at `clock` above 0, among lives still sound there."""
        return np.asarray(np.exp(self.log_hazard(clock)), np.float64)

    def quantile(self, share_failed: ArrayLike) -> FloatArray:
        """Clock by which `share_failed` (from 0, below 1) of the lives have failed."""
        share = np.asarray(share_failed, np.float64)
        if np.any(~((share >= 0) & (share < 1))):
            raise ValueError(
                f"a share of failed lives lies from 0 to below 1; got {share.tolist()}"
            )
        mu, sigma = self._mu_sigma
        with np.errstate(divide="ignore"):
            return np.asarray(np.exp(mu + sigma * self._standard.deviate(share)), np.float64)
