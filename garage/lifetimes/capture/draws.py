"""Capture shares as laws to draw from, so that limits know how little is known of them."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Self

import numpy as np

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.capture.share import CaptureShare, captured_share


@dataclass(frozen=True, slots=True)
class CaptureDraws:
    """Laws of capture shares, one a capture group; `beta` 0 is a share known to be 1.

    Of the failures looked at again the share that came here has the Beta law (`alpha`, `beta`);
    of those repaired elsewhere `stay_away` are never looked at again. Without `stay_away` all
    are, and the Beta law is the capture share's own.
    """

    alpha: Sequence[float]
    beta: Sequence[float]
    stay_away: Sequence[float] | None = None
    _alpha: FloatArray = field(init=False, repr=False, compare=False)
    _beta: FloatArray = field(init=False, repr=False, compare=False)
    _away: FloatArray = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        alpha, beta = np.asarray(self.alpha, np.float64), np.asarray(self.beta, np.float64)
        if alpha.shape != beta.shape or np.any(~(alpha > 0)) or np.any(~(beta >= 0)):
            raise ValueError(
                "Beta laws have one alpha above 0 and one beta from 0 on a group; got "
                f"{alpha.tolist()} and {beta.tolist()}"
            )
        none_away = np.zeros(alpha.shape)
        away = none_away if self.stay_away is None else np.asarray(self.stay_away, np.float64)
        if away.shape != alpha.shape or np.any(~((away >= 0) & (away < 1))):
            raise ValueError(
                f"each of {alpha.size} groups has a stay-away share from 0 to below 1; got "
                f"{away.tolist()}"
            )
        object.__setattr__(self, "_alpha", alpha)
        object.__setattr__(self, "_beta", beta)
        object.__setattr__(self, "_away", away)

    @classmethod
    def from_shares(cls, shares: Sequence[CaptureShare]) -> Self:
        """The laws of estimated shares, in the order of the capture groups."""
        return cls(
            [share.alpha for share in shares],
            [share.beta for share in shares],
            [share.stay_away for share in shares],
        )

    def means(self) -> FloatArray:
        """Shares as estimated: those at the mean of their law."""
        return captured_share(self._alpha / (self._alpha + self._beta), self._away)

    def draw(self, rng: np.random.Generator) -> FloatArray:
        """One share a group, drawn from its law."""
        known = self._beta == 0
        looked_at = rng.beta(self._alpha, np.where(known, 1.0, self._beta))
        drawn = captured_share(looked_at, self._away)
        return np.where(known, 1.0, np.maximum(drawn, np.finfo(np.float64).tiny))


ALL_CAPTURED = CaptureDraws([1.0], [0.0])
