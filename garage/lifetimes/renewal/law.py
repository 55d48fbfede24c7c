"""What renewal theory needs of a law of life."""

from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike

from garage.lifetimes.arrays import FloatArray


class Law(Protocol):
    """Lives given by their cumulative hazard and its logarithmic slope."""

    def cumulative_hazard(self, clock: ArrayLike) -> FloatArray:
        """Minus the logarithm of survival to `clock`, 0 at clock 0."""
        ...

    def log_hazard(self, clock: ArrayLike) -> FloatArray:
        """Natural logarithm of the failure rate at `clock` above 0."""
        ...

    def quantile(self, share_failed: ArrayLike) -> FloatArray:
        """Clock by which a share, from 0 and below 1, has failed."""
        ...


def density(law: Law, clock: FloatArray) -> FloatArray:
    """Share of lives failing per clock unit at `clock` above 0."""
    log_density = law.log_hazard(clock) - law.cumulative_hazard(clock)
    return np.asarray(np.exp(log_density), np.float64)
