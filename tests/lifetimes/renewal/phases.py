"""A law with closed forms: lives of several stages of pure chance, one after the other."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.special import gammaincc, gammainccinv, gammaln, xlogy


@dataclass(frozen=True)
class StagesLaw:
    """The Erlang law: so many stages, each ending at a constant rate."""

    stages: int
    rate: float

    def cumulative_hazard(self, clock: Any) -> Any:
        return -np.log(gammaincc(self.stages, self.rate * np.asarray(clock, float)))

    def log_hazard(self, clock: Any) -> Any:
        at = np.asarray(clock, float)
        log_density = np.log(self.rate) + xlogy(self.stages - 1, self.rate * at)
        log_density = log_density - self.rate * at - gammaln(self.stages)
        return log_density + self.cumulative_hazard(at)

    def quantile(self, share_failed: Any) -> Any:
        return gammainccinv(self.stages, 1.0 - np.asarray(share_failed, float)) / self.rate
