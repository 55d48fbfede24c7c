"""What lives still say that cannot carry a law."""

import numpy as np
from scipy.optimize import brentq
from scipy.special import gammaincinv

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.laws.law_search import FURTHEST, place_line
from garage.lifetimes.laws.log_likelihood import LogLikelihood
from garage.lifetimes.status import Status
from garage.lifetimes.wording import spoken

FEWEST_FAILING_DISTANCES = 2
"""Different clock values with failures; with one, any large shape fits ever better."""


def shape_refused(
    failed: float, n: float, distances: FloatArray | None, unit: str
) -> tuple[Status, str] | None:
    """Why failures at these exact clock values cannot show a shape; None where they may.

    Without `distances`, where failures lie in intervals, only their number is judged.
    """
    if failed < FEWEST_FAILING_DISTANCES:
        return (
            Status.FEW_FAILURES,
            f"{spoken(failed)} failure of {spoken(n)} lives cannot show a shape; fix one",
        )
    if distances is not None and len(distances) < FEWEST_FAILING_DISTANCES:
        where = spoken(float(distances[0]), unit)
        return Status.ONE_DISTANCE, f"all {spoken(failed)} failures fell on {where}"
    return None


def rate_upper_bound(failed: float, exposure: float, level: float) -> float | None:
    """The constant rate that would have shown more failures than these with chance `level`.

    One-sided and exact (Poisson counts: Garwood, Biometrika 28, 1936, from memory); None
    where nothing was watched for any distance. Where nothing failed it is
    -log(1 - level) / exposure, the rule of three.

    Examples
    --------
    >>> round(rate_upper_bound(0, 3000.0, 0.95), 6)
    0.000999
    """
    return float(gammaincinv(failed + 1, level)) / exposure if exposure > 0 else None


def scale_lower_bound(likelihood: LogLikelihood, shape: float, level: float) -> float | None:
    """The scale, for a known shape, that would have shown a failure with chance `level`.

    For lives of which none failed; None where no scale would have.
    """
    goal = float(np.log1p(-level))
    line = place_line(shape, FURTHEST)

    def over(beta: float) -> float:
        # Where the chance of no failure has no value left in float64 it is below any goal.
        return max(likelihood.at(shape, beta).value, goal - 1e3) - goal

    if not len(likelihood.alive) or over(line.low) < 0 or over(line.high) > 0:
        return None
    beta = float(brentq(over, line.low, line.high, xtol=1e-12))
    return float(np.exp(likelihood.reference - beta / shape))
