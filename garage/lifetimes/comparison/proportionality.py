"""The test of proportionality: does a hazard ratio change along the clock?"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.comparison.contrast import ChiSquare, score_statistic
from garage.lifetimes.comparison.hazard_lives import FailureGrid
from garage.lifetimes.comparison.log_rank_weights import survival_before
from garage.lifetimes.comparison.partial_likelihood_search import DEPENDENT, AnyPoint
from garage.lifetimes.comparison.proportional_hazards import ProportionalHazards
from garage.lifetimes.status import Status

ClockKind = Literal["rank", "survival", "identity", "log"]
CLOCK_KINDS: tuple[ClockKind, ...] = ("rank", "survival", "identity", "log")


@dataclass(frozen=True, slots=True)
class ProportionalityTest:
    """Whether the ratio of one covariate, or any of them, changes along the clock.

    `name` is None for the test of all together. `slope` has the sign in which the
    coefficient moves as the clock goes on, in units of the score; None for all together.
    """

    name: str | None
    statistic: float | None
    degrees_of_freedom: int
    p_value: float | None
    slope: float | None
    n: int
    failed: int
    status: Status
    reason: str


@dataclass(frozen=True, slots=True)
class Proportionality:
    """A test for each covariate, and one for all together; made by `proportionality`."""

    covariates: tuple[ProportionalityTest, ...]
    together: ProportionalityTest
    against: ClockKind

    def of(self, name: str) -> ProportionalityTest:
        """The test of one covariate."""
        names = [each.name for each in self.covariates]
        if name not in names:
            raise ValueError(f"the covariates are {names}; got {name!r}")
        return self.covariates[names.index(name)]


def proportionality(fit: ProportionalHazards, *, against: ClockKind = "rank") -> Proportionality:
    """Judge whether hazard ratios stay the same along the clock, as the model takes for granted.

    Parameters
    ----------
    fit : ProportionalHazards
    against : {"rank", "survival", "identity", "log"}
        What the coefficients may move along: the rank of the failure among all failures, 1
        less the pooled product limit just before it, the clock itself, or its logarithm. With
        delayed entry survival may collapse at a small early risk set; ranks do not.

    Returns
    -------
    Proportionality
        Figures are None, with the fit's status, where it has none; and where all failures
        share one clock value (``ONE_DISTANCE``).

    Raises
    ------
    ValueError
        For the logarithm of a failure at clock 0 or before.

    Notes
    -----
    The score test of Grambsch and Therneau's model b + c g(t), that c = 0: the sum of
    Schoenfeld residuals times g, with its exact information at the estimate. It is what R's
    ``cox.zph`` computes from version 3.0 of survival on; versions before printed an
    approximation that took the information as the same at all failures. R's ``rank`` counts
    the ends of unfailed lives as well. Clusters are not allowed for. Source: Grambsch and
    Therneau, Biometrika 81, 1994, 515-526 (from memory; values checked).

    Examples
    --------
    >>> from garage.lifetimes.comparison.hazard_lives import HazardLives
    >>> from garage.lifetimes.comparison.proportional_hazards import proportional_hazards
    >>> lives = HazardLives(entry=[0] * 6, exit=[1, 1, 6, 6, 8, 9], failed=[1, 0, 1, 1, 0, 1],
    ...                     covariates=[[1], [1], [1], [0], [0], [0]], names=["cleaned"])
    >>> found = proportionality(proportional_hazards(lives), against="identity")
    >>> round(found.of("cleaned").statistic, 4)
    0.2387
    """
    if against not in CLOCK_KINDS:
        raise ValueError(f"the clock is one of {', '.join(CLOCK_KINDS)}; got {against!r}")
    point = fit._point
    names: tuple[str | None, ...] = (*fit.names, None)
    if point is None:
        status = fit.status, fit.reason
        return _told(fit, against, [(name, None, None) for name in names], status)
    grid = point.likelihood.grid
    if np.ptp(grid.clock) == 0:
        status = Status.ONE_DISTANCE, "all failures share one clock value"
        return _told(fit, against, [(name, None, None) for name in names], status)
    along = _along(grid, against)
    score, spread = _score_along(point, along.take(point.likelihood.number))
    whole = score_statistic(score, spread)
    figures: list[tuple[str | None, float | None, float | None]] = [
        (name, float(each**2 / own) if own > 0 else None, float(each))
        for name, each, own in zip(fit.names, score, np.diag(spread), strict=True)
    ]
    return _told(fit, against, [*figures, (None, whole, None)], (fit.status, fit.reason))


def _score_along(point: AnyPoint, along: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Score of coefficients moving along the clock, and its variance given the estimate."""
    likelihood = point.likelihood
    grid = likelihood.grid
    part = along * likelihood.weight
    at = np.zeros(len(grid.ties))
    at[likelihood.number] = along
    weight = grid.weight.take(grid.failed)
    seen = grid.columns.take(grid.failed, axis=1) @ (
        weight * at.take(grid.last.take(grid.failed) - 1)
    )
    score = seen - point.means @ part
    cross = point.weighted_information(along)
    whole = point.weighted_information(along**2)
    spread = whole - cross @ np.linalg.solve(point.information, cross)
    own = np.diag(spread)
    # A covariate that differs at one clock value only has nothing left; the rest is rounding.
    np.fill_diagonal(spread, np.where(own > DEPENDENT * np.diag(whole), own, 0.0))
    return score, spread


def _along(grid: FailureGrid, against: ClockKind) -> FloatArray:
    """What coefficients may move along, at each failure number; its mean is 0."""
    clock = grid.clock
    if against == "log":
        if clock.min() <= 0:
            raise ValueError(
                f"the clock has a logarithm above 0 only; got a failure at {clock.min():g}"
            )
        along = np.log(clock)
    elif against == "identity":
        along = clock
    else:
        along = _pooled(grid, against)
    middle = float(along @ grid.ties) / float(grid.ties.sum())
    return np.asarray((along - middle) / max(np.ptp(along), np.finfo(np.float64).tiny), np.float64)


def _pooled(grid: FailureGrid, against: ClockKind) -> FloatArray:
    """Mean rank of the failures at each clock value over all strata, or the share failed before."""
    clocks, place = np.unique(grid.clock, return_inverse=True)
    failed: FloatArray = np.asarray(np.bincount(place, grid.ties, len(clocks)), np.float64)
    if against == "rank":
        return np.asarray((np.cumsum(failed) - (failed - 1) / 2).take(place), np.float64)
    at_risk = np.zeros(len(clocks))
    at_risk[place] = grid.watched
    return np.asarray(1 - survival_before(at_risk, failed).take(place), np.float64)


def _told(
    fit: ProportionalHazards,
    against: ClockKind,
    figures: list[tuple[str | None, float | None, float | None]],
    status: tuple[Status, str],
) -> Proportionality:
    tests = []
    for name, statistic, slope in figures:
        degrees = 1 if name is not None else len(fit.names)
        chance = ChiSquare(statistic, degrees).p_value
        said = status
        if statistic is None and fit._point is not None and status[0] is not Status.ONE_DISTANCE:
            said = Status.CANNOT_TELL_APART, "it differs among those at risk at one failure only"
        tests.append(
            ProportionalityTest(name, statistic, degrees, chance, slope, fit.n, fit.failed, *said)
        )
    return Proportionality(tuple(tests[:-1]), tests[-1], against)
