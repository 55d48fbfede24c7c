"""What a rule over many hypotheses is given, their p-values, and what it gives back."""

from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import ArrayLike

from garage.lifetimes.arrays import BoolArray, FloatArray
from garage.lifetimes.confidence import check_level
from garage.lifetimes.life_rows import refuse_first


@dataclass(frozen=True, slots=True, eq=False)
class Rejections:
    """What a rule rejects among `n` hypotheses.

    Attributes
    ----------
    rejected, adjusted : arrays, shape (n,)
        In the order of the p-values given; rejected exactly where adjusted <= level.
    threshold : float or None
        Largest p-value rejected; None, with `reason`, where nothing is.
    """

    rejected: BoolArray
    adjusted: FloatArray
    threshold: float | None
    level: float
    n: int
    reason: str

    @property
    def rejected_count(self) -> int:
        """How many hypotheses are rejected."""
        return int(self.rejected.sum())

    @classmethod
    def of(cls, p_values: FloatArray, adjusted: FloatArray, level: float) -> Self:
        """Reject what is small enough once adjusted."""
        rejected, n = adjusted <= level, len(p_values)
        threshold = float(p_values[rejected].max()) if rejected.any() else None
        reason = ""
        if n == 0:
            reason = "there is no p-value to judge"
        elif threshold is None:
            reason = f"no p-value is small enough among {n} at level {level}"
        return cls(rejected, adjusted, threshold, level, n, reason)


def checked_p_values(p: ArrayLike, level: float) -> FloatArray:
    """The p-values as an array; a ValueError names the first that is none.

    Examples
    --------
    >>> checked_p_values([0.2, 1], 0.05).tolist()
    [0.2, 1.0]
    """
    p_values = np.asarray(p, dtype=np.float64)
    if p_values.ndim != 1:
        raise ValueError(
            f"p must have one dimension, one p-value a hypothesis; got shape {p_values.shape}. "
            "Flatten it or call once for each row."
        )
    check_level(level)
    refuse_first(
        ~((p_values >= 0.0) & (p_values <= 1.0)),
        "every p-value must lie in [0, 1] (give 1 for a hypothesis with no evidence against it)",
        p_values,
    )
    return p_values
