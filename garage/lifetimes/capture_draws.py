"""Capture shares as laws to draw from, so that limits know how little is known of them."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Self

import numpy as np

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.capture import CaptureShare


@dataclass(frozen=True, slots=True)
class CaptureDraws:
    """Beta laws of capture shares, one a capture group; `beta` 0 is a share known to be 1."""

    alpha: Sequence[float]
    beta: Sequence[float]

    @classmethod
    def from_shares(cls, shares: Sequence[CaptureShare]) -> Self:
        """The laws of estimated shares, in the order of the capture groups."""
        return cls([share.alpha for share in shares], [share.beta for share in shares])

    def means(self) -> FloatArray:
        """Expected shares."""
        alpha, beta = self._checked()
        return alpha / (alpha + beta)

    def draw(self, rng: np.random.Generator) -> FloatArray:
        """One share a group, drawn from its law."""
        alpha, beta = self._checked()
        drawn = rng.beta(alpha, np.where(beta > 0, beta, 1.0))
        return np.where(beta > 0, np.maximum(drawn, np.finfo(np.float64).tiny), 1.0)

    def _checked(self) -> tuple[FloatArray, FloatArray]:
        alpha, beta = np.asarray(self.alpha, np.float64), np.asarray(self.beta, np.float64)
        if alpha.shape != beta.shape or np.any(~(alpha > 0)) or np.any(~(beta >= 0)):
            raise ValueError(
                "Beta laws have one alpha above 0 and one beta from 0 on a group; got "
                f"{alpha.tolist()} and {beta.tolist()}"
            )
        return alpha, beta


ALL_CAPTURED = CaptureDraws([1.0], [0.0])
