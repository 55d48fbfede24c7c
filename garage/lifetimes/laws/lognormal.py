"""The lognormal law of life: what a given median and spread say about any distance."""

from dataclasses import dataclass

import numpy as np

from garage.lifetimes.laws.law import refuse_parameter
from garage.lifetimes.laws.log_location import LogLocationLaw
from garage.lifetimes.laws.standard import NORMAL, StandardLaw


@dataclass(frozen=True, slots=True)
class LognormalLaw(LogLocationLaw):
    """Lives whose logarithm is normal, with mean log(median) and standard deviation sigma.

    Parameters
    ----------
    median : float
        Above 0, in the unit of the clock: the distance by which half have failed.
    sigma : float
        Above 0, no unit. The hazard rises from 0, then falls: what has survived long enough
        grows ever safer. The smaller sigma, the later it turns.

    Raises
    ------
    ValueError
        If median or sigma is not a finite number above 0.

    Notes
    -----
    All methods take a number or an array and return a float64 array of its shape.
    Source: Meeker and Escobar, Statistical Methods for Reliability Data, 1998, section 4.6
    (from memory).

    Examples
    --------
    >>> law = LognormalLaw(median=100.0, sigma=0.5)
    >>> law.survival([50, 100, 200]).round(4).tolist()
    [0.9172, 0.5, 0.0828]
    >>> round(float(law.quantile(0.1)), 2)
    52.69
    """

    median: float
    sigma: float

    def __post_init__(self) -> None:
        refuse_parameter("lognormal median", self.median)
        refuse_parameter("lognormal sigma", self.sigma)

    @property
    def _standard(self) -> StandardLaw:
        return NORMAL

    @property
    def _mu_sigma(self) -> tuple[float, float]:
        return float(np.log(self.median)), self.sigma
