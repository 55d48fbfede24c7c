"""Fit the visit model: how regularly vehicles come, how unequally, and how fast they leave."""

from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.confidence import LEVEL, normal_deviate
from garage.lifetimes.status import Status
from garage.lifetimes.visits.input import VisitHistories
from garage.lifetimes.visits.law import VisitLaw
from garage.lifetimes.visits.likelihood import PARAMETERS, log_likelihood
from garage.lifetimes.visits.search import (
    LEAVING_SHAPE_RANGE,
    SearchSpace,
    Top,
    climb,
    pooled_rate,
)
from garage.lifetimes.wording import spoken

Leaving = Literal["constant", "gamma", "simplest"]
LEAVING_KINDS: tuple[Leaving, ...] = ("constant", "gamma", "simplest")

FEWEST_RETURNING = 20
"""Vehicles that came again, below which five parameters are not to be had. Judgement, no
source."""

WORTH_A_PARAMETER = 2.706
"""Twice the log-likelihood that unequal leaving rates must gain: the 5 % point where the
simpler law lies on the edge of the other (half a chi-square with one degree of freedom; Self
and Liang, Journal of the American Statistical Association 82, 1987, 605-610, from memory)."""

START_REGULARITIES = (1.0, 4.0)
START_LEAVING = (0.05, 0.5)
START_LEAVING_SHAPE = 2.0
"""Starts: gap shapes, leaving rates as shares of the rate of visits, shape of these rates."""

ALIKE = "the data do not tell unequal leaving rates from one for all"

AT_AN_END = {
    ("regularity", "low"): "gaps come in bursts that the model does not know",
    ("visit_rate", "low"): "the rate of visits ran away downwards",
    ("visit_rate", "high"): "the rate of visits ran away upwards",
    ("rate_shape", "low"): "vehicles differ more than the model knows",
    ("leaving_rate", "high"): "the rate of leaving ran away upwards",
    ("leaving_shape", "low"): "leaving rates differ more than the model knows",
}
"""Ends of the ranges that make a fit worthless. The other ends are answers: very regular, all
vehicles alike, nobody seen to leave, all leaving at one rate."""


@dataclass(frozen=True, slots=True)
class VisitParameter:
    """A parameter with limits symmetric in its logarithm; None where it ended its range."""

    value: float
    lower: float | None
    upper: float | None


@dataclass(frozen=True, slots=True, eq=False)
class VisitFit:
    """What `visit_fit` found.

    Attributes
    ----------
    n, repeats : int, float
        Vehicles, and their visits after the first.
    law : VisitLaw or None
        None where `status` and `reason` say why.
    log_likelihood : float or None
    gained : float or None
        Twice the log-likelihood that leaving rates unequal between vehicles gained over one
        rate for all; None where they were not compared.
    reason : str
        With a law: why this kind of leaving, where it was chosen.
    """

    n: int
    repeats: float
    status: Status
    reason: str
    level: float
    law: VisitLaw | None = None
    log_likelihood: float | None = None
    gained: float | None = None
    _known: VisitHistories | None = field(default=None, repr=False)
    _space: SearchSpace | None = field(default=None, repr=False)
    _top: Top | None = field(default=None, repr=False)
    _scores: FloatArray | None = field(default=None, init=False, repr=False)

    def parameter(self, name: str) -> VisitParameter | None:
        """One of the law's parameters with its limits; None without it in the law.

        A parameter that was given, and one that ended its range, has no limits.
        """
        if name not in PARAMETERS:
            raise ValueError(f"a parameter is one of {', '.join(PARAMETERS)}; got {name!r}")
        value = None if self.law is None else getattr(self.law, name)
        if value is None or self._space is None or self._top is None:
            return None
        place = PARAMETERS.index(name)
        if not self._space.free[place]:
            return VisitParameter(value, None, None)
        at = int(self._space.free[:place].sum())
        if not self._top.inside[at]:
            return VisitParameter(value, None, None)
        error = float(np.sqrt(self._top.covariance[at, at]))
        width = float(np.exp(normal_deviate(self.level) * error))
        return VisitParameter(value, value / width, value * width)

    def scores(self) -> FloatArray:
        """Each vehicle's pull on the law, shape (n, free parameters), for `redrawn`."""
        if self.law is None or self._space is None or self._known is None:
            raise ValueError(f"there is no law to pull on: {self.reason}")
        found = self._scores
        if found is None:
            # Kept, for they are asked for again with each group of lives that is resampled.
            found = log_likelihood(self.law, self._known)[1][:, self._space.free]
            object.__setattr__(self, "_scores", found)
        return found

    @property
    def weight(self) -> FloatArray:
        """How often each vehicle (or group) fitted counts, in the order of `scores`."""
        if self._known is None:
            raise ValueError(f"no vehicle was fitted: {self.reason}")
        return self._known.weight

    def redrawn(self, weight: ArrayLike, scores: FloatArray) -> VisitLaw:
        """The law of a resample of the vehicles, by one Newton step from this one.

        Parameters
        ----------
        weight : array, shape (n,)
            How often each vehicle (or group) was drawn, in the order of the histories fitted.
        scores : array
            What `scores()` returned.

        Notes
        -----
        A refit to many resamples would take minutes; one step is right to first order in the
        change of weights, as is resampling itself. Parameters at an end stay there.
        """
        if self.law is None or self._space is None or self._top is None or self._known is None:
            raise ValueError(f"there is no law to redraw: {self.reason}")
        drawn = np.asarray(weight, np.float64)
        if drawn.shape != self._known.weight.shape:
            raise ValueError(
                f"one weight a vehicle, shape {self._known.weight.shape}; got {drawn.shape}"
            )
        pull = (drawn - self._known.weight) @ scores
        free = self._space.free
        point = np.clip(
            self._top.point + self._top.covariance @ pull,
            self._space.lower[free],
            self._space.upper[free],
        )
        return self._space.law_at(point, self.law)


def visit_fit(
    known: VisitHistories,
    *,
    regularity: float | None = None,
    leaving: Leaving = "simplest",
    level: float = LEVEL,
) -> VisitFit:
    """Learn from visits and silences how vehicles come and how fast customers leave.

    Parameters
    ----------
    known : VisitHistories
        Visits that say nothing of the part in question: jobs other than its failures.
    regularity : float, optional
        Gap shape taken as known; 1 is visits at random.
    leaving : {"constant", "gamma", "simplest"}
        One leaving rate for all, rates that differ between vehicles, or the former unless the
        data tell them apart.
    level : float
        Of the limits of the parameters.

    Returns
    -------
    VisitFit
        Without a law where fewer than 20 vehicles came again, or the best law lies where the
        model says nothing (the search ran away) - then there is no *expected* either.

    Notes
    -----
    Maximum likelihood (see `log_likelihood` for the form) by quasi-Newton and Newton steps in
    the logarithms, from the best of four starts, within the ranges of the search module.
    Unequal leaving rates are not tried where the likelihood falls as they begin to differ.
    Visits at random (`regularity` 1) forced on regular ones keep too many as customers (0.79
    for a true 0.64 in a simulated workshop of yearly services): leave it to the data.

    Examples
    --------
    >>> rng = np.random.default_rng(3)
    >>> gaps = rng.gamma(4, 100 / 4, size=(50, 30))
    >>> vehicle = np.repeat(np.arange(50), 30)
    >>> at = np.cumsum(gaps, axis=1)
    >>> fit = visit_fit(VisitHistories.from_visits(vehicle, at.ravel(), at[:, -1] + 30))
    >>> round(fit.law.regularity, 1), round(1 / fit.law.visit_rate)
    (4.1, 102)
    """
    normal_deviate(level)
    if leaving not in LEAVING_KINDS:
        raise ValueError(f"leaving is one of {', '.join(LEAVING_KINDS)}; got {leaving!r}")
    if regularity is not None and not (np.isfinite(regularity) and regularity > 0):
        raise ValueError(f"a regularity is a finite number above 0; got {regularity}")
    repeats = float(known.weight @ known.repeats)

    def without_law(status: Status, reason: str) -> VisitFit:
        return VisitFit(known.n, repeats, status, reason, level)

    if known.n == 0:
        return without_law(Status.NO_LIVES, "no vehicle was watched")
    returning = float(known.weight[known.repeats > 0].sum())
    if returning < FEWEST_RETURNING:
        return without_law(
            Status.FEW_CLUSTERS,
            f"{spoken(returning)} of {spoken(float(known.weight.sum()))} vehicles came again; "
            f"{FEWEST_RETURNING} are needed to learn how they come and leave",
        )

    def searched(gamma_leaving: bool, start: VisitLaw) -> tuple[SearchSpace, Top]:
        space = SearchSpace.over(
            known, regularity_known=regularity is not None, gamma_leaving=gamma_leaving
        )
        return space, climb(space, start)

    space, top = searched(False, _best_start(known, regularity))
    gained, reason = None, ""
    if leaving == "gamma" or (leaving == "simplest" and _spread_helps(known, top.law)):
        start = replace(top.law, leaving_shape=START_LEAVING_SHAPE)
        wider_space, wider = searched(True, start)
        gained = max(2 * (wider.value - top.value), 0.0)
        worthless = _trouble(wider_space, wider)
        if leaving == "gamma" or (not worthless and gained > WORTH_A_PARAMETER):
            space, top = wider_space, wider
            reason = "" if leaving == "gamma" else "leaving rates differ between vehicles"
        else:
            reason = worthless or ALIKE
    elif leaving == "simplest":
        gained, reason = 0.0, ALIKE
    trouble = _trouble(space, top)
    if trouble:
        return without_law(Status.NOT_CONVERGED, trouble)
    return VisitFit(
        known.n, repeats, Status.OK, reason, level, top.law, top.value, gained, known, space, top
    )


def _best_start(known: VisitHistories, regularity: float | None) -> VisitLaw:
    rate = pooled_rate(known)
    shapes = START_REGULARITIES if regularity is None else (regularity,)
    starts = [
        VisitLaw(shape, rate * (1 + share), 1.5, rate * share)
        for shape in shapes
        for share in START_LEAVING
    ]
    return max(starts, key=lambda law: float(known.weight @ log_likelihood(law, known)[0]))


def _spread_helps(known: VisitHistories, alike: VisitLaw) -> bool:
    """Whether the likelihood rises as leaving rates begin to differ, from one rate for all."""
    nearly = replace(alike, leaving_shape=LEAVING_SHAPE_RANGE[1])
    in_shape = known.weight @ log_likelihood(nearly, known)[1][:, PARAMETERS.index("leaving_shape")]
    return bool(in_shape < 0)


def _trouble(space: SearchSpace, top: Top) -> str:
    """Why this end of a search is worthless, or nothing."""
    lower, upper = space.lower[space.free], space.upper[space.free]
    names = [name for name, free in zip(PARAMETERS, space.free, strict=True) if free]
    for name, point, low, high, inside in zip(
        names, top.point, lower, upper, top.inside, strict=True
    ):
        end = "low" if point - low < high - point else "high"
        if not inside and (name, end) in AT_AN_END:
            return f"the fit ran away: {AT_AN_END[name, end]}"
    return "" if top.settled else "the search for the best law did not settle"
