"""The families of laws that lives are fitted with."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from garage.lifetimes.laws.law import Law
from garage.lifetimes.laws.loglogistic import LogLogisticLaw
from garage.lifetimes.laws.lognormal import LognormalLaw
from garage.lifetimes.laws.standard import LOGISTIC, NORMAL, SMALLEST_EXTREME, StandardLaw
from garage.lifetimes.laws.weibull import WeibullLaw

FamilyName = Literal["exponential", "weibull", "lognormal", "log-logistic"]


@dataclass(frozen=True, slots=True)
class Family:
    """One family: the standard law of its log life, and how a law is made.

    Attributes
    ----------
    spoken : str
        The name as written in a sentence.
    make : callable
        Law from shape (1 / sigma) and scale (exp mu).
    fixed_shape : float or None
        The shape that the family itself knows.
    """

    name: FamilyName
    spoken: str
    standard: StandardLaw
    make: Callable[[float, float], Law]
    fixed_shape: float | None = None


def _weibull(shape: float, scale: float) -> Law:
    return WeibullLaw(shape, scale)


def _lognormal(shape: float, scale: float) -> Law:
    return LognormalLaw(median=scale, sigma=1 / shape)


def _log_logistic(shape: float, scale: float) -> Law:
    return LogLogisticLaw(median=scale, shape=shape)


FAMILIES: dict[FamilyName, Family] = {
    "exponential": Family(
        "exponential", "exponential", SMALLEST_EXTREME, _weibull, fixed_shape=1.0
    ),
    "weibull": Family("weibull", "Weibull", SMALLEST_EXTREME, _weibull),
    "lognormal": Family("lognormal", "lognormal", NORMAL, _lognormal),
    "log-logistic": Family("log-logistic", "log-logistic", LOGISTIC, _log_logistic),
}


def family_of(name: str) -> Family:
    """The family of this name; another name is refused."""
    for known, family in FAMILIES.items():
        if known == name:
            return family
    raise ValueError(f"a family is one of {', '.join(FAMILIES)}; got {name!r}")
