"""P-values of many hypotheses as they are handed in, checked before a rule judges them."""

import numpy as np
from numpy.typing import ArrayLike

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.life_rows import refuse_first


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
    if not 0.0 < level < 1.0:
        raise ValueError(
            f"level must lie between 0 and 1, both excluded; got {level}. "
            "Give a share such as 0.05."
        )
    refuse_first(
        ~((p_values >= 0.0) & (p_values <= 1.0)),
        "every p-value must lie in [0, 1] (give 1 for a hypothesis with no evidence against it)",
        p_values,
    )
    return p_values
