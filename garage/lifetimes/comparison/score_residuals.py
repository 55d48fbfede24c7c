"""What each life adds to the slope of a partial likelihood, and the variance that follows."""

import numpy as np

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.comparison.partial_likelihood import LikelihoodPoint


def score_residuals(point: LikelihoodPoint) -> FloatArray:
    """Weighted score residuals of the lives on the grid, scaled covariates, shape (p, m).

    A life that failed adds its covariates less the mean of those at risk; every life takes
    off the same of each failure it was at risk at, in the measure of its hazard. They sum to
    the score, which is 0 at the estimate.
    """
    likelihood = point.likelihood
    grid = likelihood.grid
    rate = likelihood.weight / point.total
    gathered = point.gathered(rate)
    tied = np.bincount(likelihood.number, minlength=len(grid.ties))
    where = grid.last.take(grid.failed) - 1
    weight = grid.weight.take(grid.failed)
    residuals = np.empty_like(grid.columns)
    for row, column, mean in zip(residuals, grid.columns, point.means, strict=True):
        row[:] = point.gathered(rate * mean)
        row -= column * gathered
        row *= point.hazard
        mean_at = np.bincount(likelihood.number, mean, len(tied)) / tied
        row[grid.failed] += weight * (column.take(grid.failed) - mean_at.take(where))
    return residuals


def robust_covariance(point: LikelihoodPoint, model: FloatArray) -> FloatArray:
    """Variance of the scaled coefficients that allows for what the lives of a cluster share.

    Parameters
    ----------
    point : LikelihoodPoint
        At the estimate; its grid has clusters.
    model : array, shape (p, p)
        The inverse of the information.

    Notes
    -----
    Residuals are summed by cluster, U; the variance is model U U' model, without a
    correction for the number of clusters (Lin and Wei, Journal of the American Statistical
    Association 84, 1989, 1074-1078; from memory; as R's survival).
    """
    grid = point.likelihood.grid
    assert grid.cluster is not None
    summed = np.stack(
        [np.bincount(grid.cluster, row, grid.clusters) for row in score_residuals(point)]
    )
    moved = model @ summed
    return np.asarray(moved @ moved.T, np.float64)
