"""The log-logistic law of life: what a given median and shape say about any distance."""

from dataclasses import dataclass

import numpy as np

from garage.lifetimes.laws.law import refuse_parameter
from garage.lifetimes.laws.log_location import LogLocationLaw
from garage.lifetimes.laws.standard import LOGISTIC, StandardLaw


@dataclass(frozen=True, slots=True)
class LogLogisticLaw(LogLocationLaw):
    """Lives whose share still sound at clock t is 1 / (1 + (t / median) ** shape).

    Parameters
    ----------
    median : float
        Above 0, in the unit of the clock: the distance by which half have failed.
    shape : float
        Above 0, no unit. Up to 1 the hazard only falls; above, it rises and then falls like
        shape / clock, so that its tail is heavier than a lognormal one.

    Raises
    ------
    ValueError
        If median or shape is not a finite number above 0.

    Notes
    -----
    All methods take a number or an array and return a float64 array of its shape.
    Source: Meeker and Escobar, Statistical Methods for Reliability Data, 1998, section 4.10
    (from memory).

    Examples
    --------
    >>> law = LogLogisticLaw(median=100.0, shape=2.0)
    >>> law.survival([50, 100, 200]).round(4).tolist()
    [0.8, 0.5, 0.2]
    >>> round(float(law.quantile(0.1)), 2)
    33.33
    """

    median: float
    shape: float

    def __post_init__(self) -> None:
        refuse_parameter("log-logistic median", self.median)
        refuse_parameter("log-logistic shape", self.shape)

    @property
    def _standard(self) -> StandardLaw:
        return LOGISTIC

    @property
    def _mu_sigma(self) -> tuple[float, float]:
        return float(np.log(self.median)), 1 / self.shape
