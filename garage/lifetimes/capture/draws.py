"""Capture shares as laws to draw from, so that limits know how little is known of them."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Self

import numpy as np

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.capture.share import CaptureShare


@dataclass(frozen=True, slots=True)
class CaptureDraws:
    """Beta laws of capture shares, one a capture group; `beta` 0 is a share known to be 1."""

    alpha: Sequence[float]
    beta: Sequence[float]
    _alpha: FloatArray = field(init=False, repr=False, compare=False)
    _beta: FloatArray = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        alpha, beta = np.asarray(self.alpha, np.float64), np.asarray(self.beta, np.float64)
        if alpha.shape != beta.shape or np.any(~(alpha > 0)) or np.any(~(beta >= 0)):
            raise ValueError(
                "Beta laws have one alpha above 0 and one beta from 0 on a group; got "
                f"{alpha.tolist()} and {beta.tolist()}"
            )
        object.__setattr__(self, "_alpha", alpha)
        object.__setattr__(self, "_beta", beta)

    @classmethod
    def from_shares(cls, shares: Sequence[CaptureShare]) -> Self:
        """The laws of estimated shares, in the order of the capture groups."""
        return cls([share.alpha for share in shares], [share.beta for share in shares])

    def means(self) -> FloatArray:
        """Expected shares."""
        return self._alpha / (self._alpha + self._beta)

    def draw(self, rng: np.random.Generator) -> FloatArray:
        """One share a group, drawn from its law."""
        known = self._beta == 0
        drawn = rng.beta(self._alpha, np.where(known, 1.0, self._beta))
        return np.where(known, 1.0, np.maximum(drawn, np.finfo(np.float64).tiny))


ALL_CAPTURED = CaptureDraws([1.0], [0.0])
