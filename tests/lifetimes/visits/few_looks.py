"""How far a capture share found from few looks is off, and how often its limits hold the truth.

Exact: every number of failures that may have come here, of so many looked at again, is tried and
weighed by its binomial chance.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from scipy.stats import binom

from garage.lifetimes.capture.share import CapturePrior, capture_share, looked_at_share

TRUE_SHARES = (0.5, 0.6, 0.75, 0.9, 1.0)
LOOKED_AT = (0, 1, 3, 10, 20, 50)
PLACES = 3
"""Limits are compared as printed: where all came here the upper one is 1 but for rounding."""


@dataclass(frozen=True, slots=True)
class Found:
    """Of one true share and number of failures looked at again: means over what may be seen."""

    true: float
    looked_at: int
    bias: float
    error: float
    held: float
    width: float


def few_looks(prior: CapturePrior) -> Iterator[Found]:
    """All true shares and numbers looked at; those who stay away are as the prior says."""
    for true in TRUE_SHARES:
        for looked_at in LOOKED_AT:
            yield found(prior, true, looked_at)


def found(prior: CapturePrior, true: float, looked_at: int) -> Found:
    """The share as found, its error and its limits."""
    here = np.arange(looked_at + 1)
    chance = binom.pmf(here, looked_at, looked_at_share(true, prior.stay_away))
    shares = [capture_share(int(each), int(looked_at - each), prior=prior) for each in here]
    value = np.array([share.value for share in shares], np.float64)
    lower = np.array([share.lower for share in shares], np.float64)
    upper = np.array([share.upper for share in shares], np.float64)
    holds = (lower.round(PLACES) <= true) & (true <= upper.round(PLACES))
    return Found(
        true,
        looked_at,
        float(chance @ (value - true)),
        float(np.sqrt(chance @ (value - true) ** 2)),
        float(chance @ holds),
        float(chance @ (upper - lower)),
    )
