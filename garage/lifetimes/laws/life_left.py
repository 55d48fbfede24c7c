"""How much further a part goes whose law and distance run are known."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.laws.further import FurtherDistances, refuse_further, refuse_now
from garage.lifetimes.laws.law import HazardLaw


@dataclass(frozen=True, slots=True)
class LifeLeft(FurtherDistances):
    """The further distance of a part that is sound now, under a law taken as given.

    Parameters
    ----------
    law : HazardLaw
        Any law of life; taken as known, so the figures have no number of lives and no limits.
        For a law fitted to few failures see `FittedLifeLeft`.
    now : float
        At least 0; what the part has run, in the unit of the law's clock.

    Raises
    ------
    ValueError
        A negative or infinite `now`.

    Notes
    -----
    Given survival to `now`, a part lasts d further with chance exp(H(now) - H(now + d)), H the
    law's cumulative hazard. For a constant hazard that does not depend on `now`; with wear it is
    less the further a part has run, with early failures more.
    Source: Meeker and Escobar, Statistical Methods for Reliability Data, 1998, section 2.2
    (from memory); it follows from the definition of the cumulative hazard.

    Examples
    --------
    A filter of shape 2.5 and scale 300 000 km, sound at 200 000 km:

    >>> from garage.lifetimes.laws.weibull import WeibullLaw
    >>> left = LifeLeft(WeibullLaw(shape=2.5, scale=300_000.0), now=200_000.0)
    >>> left.lasting([20_000, 100_000]).round(3).tolist()
    [0.907, 0.529]
    >>> round(left.quantile(0.5)), round(left.mean_within(100_000))
    (106614, 76322)
    """

    law: HazardLaw
    now: float

    def __post_init__(self) -> None:
        refuse_now(self.now)

    def lasting(self, further: ArrayLike) -> FloatArray:
        """Chance of lasting each further distance, at least 0; an array of its shape."""
        ahead = refuse_further(further)
        start = self.law.cumulative_hazard(self.now)
        gained = self.law.cumulative_hazard(self.now + ahead) - start
        return np.asarray(np.exp(-gained), np.float64)

    @property
    def _guess(self) -> float:
        return float(self.law.quantile(0.5))
