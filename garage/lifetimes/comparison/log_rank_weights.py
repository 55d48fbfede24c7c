"""Weights of log-rank tests: whether early or late failures shall count for more."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from garage.lifetimes.arrays import FloatArray

WeightKind = Literal["log-rank", "gehan", "tarone-ware", "peto-peto", "fleming-harrington"]
WEIGHT_KINDS: tuple[WeightKind, ...] = (
    "log-rank",
    "gehan",
    "tarone-ware",
    "peto-peto",
    "fleming-harrington",
)


@dataclass(frozen=True, slots=True)
class LogRankWeights:
    """What a failure counts for, by where on the clock it happens.

    Parameters
    ----------
    kind : str
        With Y at risk and d failures over all groups:
        ``log-rank`` 1; ``gehan`` Y; ``tarone-ware`` the root of Y; ``peto-peto`` the product
        of 1 - d / (Y + 1) to this clock value and with it; ``fleming-harrington``
        S(t-)^rho (1 - S(t-))^gamma, S the pooled product limit just before. All but the last
        look at early failures more than the log-rank; gamma above 0 looks at late ones.
    rho, gamma : float, 0 or more
        Of ``fleming-harrington`` only. rho 1, gamma 0 is what R's ``survdiff(rho = 1)`` calls
        Peto and Peto.

    Notes
    -----
    Sources: Gehan, Biometrika 52, 1965; Tarone and Ware, Biometrika 64, 1977; Peto and Peto,
    Journal of the Royal Statistical Society A 135, 1972; Fleming and Harrington, Counting
    Processes and Survival Analysis, 1991; all as in Klein and Moeschberger, Survival
    Analysis, 2nd edition 2003, section 7.3 (from memory).
    """

    kind: WeightKind = "log-rank"
    rho: float = 0.0
    gamma: float = 0.0

    def __post_init__(self) -> None:
        if self.kind not in WEIGHT_KINDS:
            raise ValueError(f"weights are one of {', '.join(WEIGHT_KINDS)}; got {self.kind!r}")
        for name in ("rho", "gamma"):
            power = getattr(self, name)
            if not (np.isfinite(power) and power >= 0):
                raise ValueError(f"`{name}` is a finite power, 0 or more; got {power}")
            if power > 0 and self.kind != "fleming-harrington":
                raise ValueError(
                    f"`{name}` belongs to fleming-harrington weights; got it with {self.kind}"
                )

    @property
    def follows_survival(self) -> bool:
        """Whether the weights come from the pooled product limit, which can collapse early."""
        return self.rho > 0 or self.gamma > 0

    def of(self, at_risk: FloatArray, failed: FloatArray) -> FloatArray:
        """Weights at clock values with failures; counts over all groups, shape (m,).

        Examples
        --------
        >>> LogRankWeights("gehan").of(np.array([9.0, 4.0]), np.array([1.0, 2.0])).tolist()
        [9.0, 4.0]
        """
        if self.kind == "gehan":
            return at_risk
        if self.kind == "tarone-ware":
            return np.asarray(np.sqrt(at_risk), np.float64)
        if self.kind == "peto-peto":
            return np.asarray(np.cumprod(1 - failed / (at_risk + 1)), np.float64)
        if not self.follows_survival:
            return np.ones_like(at_risk)
        before = survival_before(at_risk, failed)
        return np.asarray(before**self.rho * (1 - before) ** self.gamma, np.float64)


def survival_before(at_risk: FloatArray, failed: FloatArray) -> FloatArray:
    """The product limit just before each clock value with a failure."""
    before = np.ones_like(at_risk)
    before[1:] = np.cumprod(1 - failed / at_risk)[:-1]
    return before


LOG_RANK = LogRankWeights()
GEHAN = LogRankWeights("gehan")
TARONE_WARE = LogRankWeights("tarone-ware")
PETO_PETO = LogRankWeights("peto-peto")
