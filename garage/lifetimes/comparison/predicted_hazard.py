"""The cumulative hazard and survival that a proportional-hazards model predicts."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from garage.lifetimes.arrays import BoolArray, FloatArray, IntArray
from garage.lifetimes.comparison.exact_ties import ExactPoint
from garage.lifetimes.comparison.proportional_hazards import ProportionalHazards
from garage.lifetimes.confidence import normal_deviate
from garage.lifetimes.status import Status


@dataclass(frozen=True, slots=True)
class PredictedSurvival:
    """Survival to one clock value; `value` is None where `reason` says so."""

    clock: float
    value: float | None
    lower: float | None
    upper: float | None
    n: int
    failed: int
    status: Status
    reason: str


@dataclass(frozen=True, slots=True, eq=False)
class PredictedHazard:
    """What the model foretells of lives with given covariates; made by `predicted_hazard`.

    Attributes
    ----------
    clock, cumulative_hazard, standard_error : arrays, shape (f,)
        Just after each clock value at which a life of the stratum failed.
    n, failed : int
        Of the fit. `failed_here` are those of the stratum.
    """

    clock: FloatArray
    cumulative_hazard: FloatArray
    standard_error: FloatArray
    n: int
    failed: int
    failed_here: int
    level: float
    status: Status
    reason: str

    @property
    def survival(self) -> FloatArray:
        """exp(- cumulative hazard), shape (f,)."""
        return np.asarray(np.exp(-self.cumulative_hazard), np.float64)

    def at(self, clock: float) -> PredictedSurvival:
        """Survival to `clock`, none beyond the stratum's last failure.

        Limits are symmetric on the scale of the logarithm of the cumulative hazard.
        """
        status, reason = self.status, self.reason
        if not len(self.clock):
            return PredictedSurvival(clock, None, None, None, self.n, self.failed, status, reason)
        figures: tuple[float | None, float | None, float | None] = (1.0, None, 1.0)
        step = int(np.searchsorted(self.clock, clock, side="right")) - 1
        if step < 0:
            status, reason = Status.NO_FAILURES, "none failed so soon: there is no lower limit"
        if clock > self.clock[-1]:
            status, figures = Status.BEYOND_WATCH, (None, None, None)
            reason = f"none failed beyond {self.clock[-1]:g}"
        elif step >= 0:
            hazard, error = self.cumulative_hazard[step], self.standard_error[step]
            reach = normal_deviate(self.level) * error / hazard
            figures = (
                float(np.exp(-hazard)),
                float(np.exp(-hazard * np.exp(min(reach, 700.0)))),
                float(np.exp(-hazard * np.exp(-reach))),
            )
        return PredictedSurvival(clock, *figures, self.n, self.failed, status, reason)


def predicted_hazard(
    fit: ProportionalHazards, covariates: Sequence[float], *, stratum: int | None = None
) -> PredictedHazard:
    """Foretell the hazard of lives with these covariates, by the fitted model.

    Parameters
    ----------
    fit : ProportionalHazards
    covariates : p numbers
        In the order of the fit's names.
    stratum : int, optional
        Its label; needed where the fit has several.

    Returns
    -------
    PredictedHazard
        Without any clock values, and with the fit's status, where the fit has no figures.

    Raises
    ------
    ValueError
        For covariates that are not p finite numbers, a stratum that the fit does not have, or
        a fit of exact ties: their form leaves the baseline out altogether.

    Notes
    -----
    The baseline's steps are the weights of the failures over the sum of relative hazards at
    risk (Breslow, Biometrics 30, 1974), with Efron's form of ties where the fit has it. The
    standard error has two parts, of the steps and of the coefficients, and takes lives as
    independent (Klein and Moeschberger, Survival Analysis, 2nd edition 2003, section 8.8; from
    memory; values checked against R's ``survfit``). Prediction far from any covariates seen is
    the model's word alone.

    Examples
    --------
    >>> from garage.lifetimes.comparison.hazard_lives import HazardLives
    >>> from garage.lifetimes.comparison.proportional_hazards import proportional_hazards
    >>> lives = HazardLives(entry=[0] * 6, exit=[1, 1, 6, 6, 8, 9], failed=[1, 0, 1, 1, 0, 1],
    ...                     covariates=[[1], [1], [1], [0], [0], [0]], names=["cleaned"])
    >>> replaced = predicted_hazard(proportional_hazards(lives), [0])
    >>> replaced.clock.tolist(), replaced.survival.round(3).tolist()
    ([1.0, 6.0, 9.0], [0.949, 0.694, 0.255])
    """
    values = np.asarray(covariates, np.float64)
    if values.shape != (len(fit.names),) or not np.all(np.isfinite(values)):
        raise ValueError(
            f"a prediction takes one finite number for each of {list(fit.names)}; got "
            f"{list(covariates)}"
        )
    point = fit._point
    if point is None:
        none = np.zeros(0)
        return PredictedHazard(
            none, none, none, fit.n, fit.failed, 0, fit.level, fit.status, fit.reason
        )
    if isinstance(point, ExactPoint):
        raise ValueError(
            "a hazard is predicted from a fit with ties='efron' or 'breslow'; got 'exact', whose "
            "likelihood says nothing of the baseline"
        )
    likelihood, grid = point.likelihood, point.likelihood.grid
    strata = grid.strata.tolist()
    if stratum is None and len(strata) > 1:
        raise ValueError(f"this fit has strata {strata}; say which one is meant")
    if stratum is not None and stratum not in strata:
        raise ValueError(f"the strata of this fit are {strata}; got {stratum}")
    number = 0 if stratum is None else strata.index(stratum)
    mine = grid.stratum == number
    at = (values - grid.centre) / grid.scale
    # Sums at risk are relative to the middle of the log hazards; so is this life.
    relative = np.exp(at @ point.coefficients - point.middle)
    rate = likelihood.weight / point.total
    steps, square = (
        _summed(point.likelihood.number, each, mine) for each in (rate, rate / point.total)
    )
    means = np.stack([_summed(likelihood.number, rate * row, mine) for row in point.means])
    drift = at[:, None] * steps - means
    spread = square + np.einsum("pf,pq,qf->f", drift, np.linalg.inv(point.information), drift)
    return PredictedHazard(
        clock=grid.clock[mine],
        cumulative_hazard=relative * steps,
        standard_error=relative * np.sqrt(spread),
        n=fit.n,
        failed=fit.failed,
        failed_here=int(grid.ties[mine].sum()),
        level=fit.level,
        status=fit.status,
        reason=fit.reason,
    )


def _summed(number: IntArray, per_term: FloatArray, mine: BoolArray) -> FloatArray:
    """Running sum over the failures of one stratum."""
    return np.asarray(np.cumsum(np.bincount(number, per_term, len(mine))[mine]), np.float64)
