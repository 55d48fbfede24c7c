"""How much further a part goes whose law and distance run are known."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.laws.further import (
    MeanFurther,
    further_quantile,
    mean_of_all,
    mean_within,
    refuse_further,
    refuse_now,
    refuse_share,
)
from garage.lifetimes.laws.law import HazardLaw


@dataclass(frozen=True, slots=True)
class LifeLeft:
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

    def quantile(self, share_failed: float) -> float:
        """Further distance within which a share (between 0 and 1) of such parts fail."""
        refuse_share(share_failed)
        return further_quantile(self.lasting, share_failed, self._guess)

    @property
    def median(self) -> float:
        """Further distance within which half of such parts fail."""
        return self.quantile(0.5)

    def mean_within(self, horizon: float) -> float:
        """Mean further distance, parts that last the horizon (above 0) ending there."""
        return mean_within(self.lasting, horizon, self._guess)

    @property
    def mean(self) -> MeanFurther:
        """Mean further distance of all; None where the law's tail is too heavy for one."""
        return mean_of_all(self.lasting, self._guess)

    @property
    def _guess(self) -> float:
        return float(self.law.quantile(0.5))
