"""The search for the coefficients at which a partial likelihood is highest."""

from dataclasses import dataclass

import numpy as np
from scipy.linalg import LinAlgError, cho_factor, cho_solve

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.comparison.exact_ties import ExactLikelihood, ExactPoint
from garage.lifetimes.comparison.partial_likelihood import LikelihoodPoint, PartialLikelihood
from garage.lifetimes.status import Status

SETTLED = 1e-12
"""Newton decrement (twice what the next step would raise the log-likelihood by) at which one
more step is the last: it is then a millionth of a standard error, and its own error a square of
that."""

NEARLY_SETTLED = 1e-6
"""Newton decrement at which a step is a thousandth of a standard error. Where it still moves
some log relative hazard by `STILL_MOVING`, that one's standard error is above 100: the likelihood
rises without end, by ever less. Judgement, no source."""

STILL_MOVING = 0.1
"""Of a log relative hazard, in one step."""

BEYOND_ANY = 100.0
"""Of log relative hazards at which a search that can go no further was running off: no lives
fail exp(100) times as fast as others beside them. Judgement, no source."""

DEPENDENT = 1e-9
"""Of a scaled covariate's information, what is left of it beside the covariates before it;
below, the rest is rounding. Judgement, no source."""

MOST_STEPS = 80
MOST_HALVINGS = 30

AnyPoint = LikelihoodPoint | ExactPoint
"""On a likelihood under any treatment of ties."""


@dataclass(frozen=True, slots=True)
class SearchEnd:
    """Where a search ended; `point` is the highest found, None only where nothing was tried."""

    null: AnyPoint | None
    point: AnyPoint | None
    steps: int
    status: Status
    reason: str


def highest(likelihood: PartialLikelihood | ExactLikelihood) -> SearchEnd:
    """Climb from coefficients of 0 by Newton's steps, halved where they lead down."""
    names = likelihood.grid.names
    null = point = likelihood.at(np.zeros(likelihood.grid.p))
    if null is None or point is None:
        return SearchEnd(None, None, 0, Status.NOT_CONVERGED, "the weights differ too much")
    grid = likelihood.grid
    empty = _without_contrast(null.information, float(grid.weight.take(grid.failed).sum()))
    if empty is not None:
        return SearchEnd(null, null, 0, Status.CANNOT_TELL_APART, _dependent(names, empty))
    for count in range(1, MOST_STEPS + 1):
        step = _newton_step(point)
        if step is None:
            # The information was there at 0 and has gone on the way.
            return SearchEnd(null, point, count, Status.RUNS_OFF, _running(point, names))
        decrement = float(point.score @ step)
        moving = np.abs(step @ likelihood.grid.columns).max() > STILL_MOVING
        if decrement < NEARLY_SETTLED and moving:
            return SearchEnd(null, point, count, Status.RUNS_OFF, _running(point, names))
        higher = _climbed(point, step)
        if higher is None and _spread(point) > BEYOND_ANY:
            return SearchEnd(null, point, count, Status.RUNS_OFF, _running(point, names))
        if higher is None:
            return SearchEnd(
                null,
                point,
                count,
                Status.NOT_CONVERGED,
                f"no step from {count} on raises the likelihood; look for covariates that "
                "nearly repeat each other, or spread over many powers of ten",
            )
        point = higher
        if decrement < SETTLED and _newton_step(point) is not None:
            return SearchEnd(null, point, count, Status.OK, "")
    return SearchEnd(
        null, point, MOST_STEPS, Status.NOT_CONVERGED, f"not settled after {MOST_STEPS} steps"
    )


def _spread(point: AnyPoint) -> float:
    return float(np.ptp(point.coefficients @ point.likelihood.grid.columns))


def _newton_step(point: AnyPoint) -> FloatArray | None:
    try:
        factor = cho_factor(point.information)
    except LinAlgError:
        return None
    step = np.asarray(cho_solve(factor, point.score), np.float64)
    return step if np.all(np.isfinite(step)) else None


def _climbed(point: AnyPoint, step: FloatArray) -> AnyPoint | None:
    for halving in range(MOST_HALVINGS):
        found = point.likelihood.at(point.coefficients + step / 2**halving)
        if found is not None and found.value >= point.value - point.rounding:
            return found
    return None


def _without_contrast(information: FloatArray, failed: float) -> int | None:
    """The first covariate that those before it determine among lives at risk together."""
    left = information.copy()
    for each in range(len(left)):
        if left[each, each] <= DEPENDENT * failed:
            return each
        column = left[each:, each] / np.sqrt(left[each, each])
        left[each:, each:] -= np.outer(column, column)
    return None


def _dependent(names: tuple[str, ...], number: int) -> str:
    name = names[number]
    if number == 0:
        return f"{name!r} does not differ between lives at risk together; leave it out"
    return (
        f"among lives at risk together {name!r} does not differ, or follows from "
        f"{', '.join(map(repr, names[:number]))}; leave one of them out"
    )


def _running(point: AnyPoint, names: tuple[str, ...]) -> str:
    """Name the covariates whose coefficients went far."""
    columns = point.likelihood.grid.columns
    far = np.abs(point.coefficients) * np.ptp(columns, axis=1)
    mostly = [name for name, each in zip(names, far, strict=True) if each > far.max() / 2]
    return (
        f"no failure speaks against a hazard without bound along {', '.join(map(repr, mostly))}: "
        "where one kind never failed while another did there is no finite ratio; leave it out, "
        "join kinds, or use a log-rank test"
    )
