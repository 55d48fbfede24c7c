"""Twelve vehicles with two lives each: late entries, ties, strata and weights, all invented."""

import numpy as np

from garage.lifetimes.comparison.hazard_lives import HazardLives

ENTRY = [0, 0, 2, 0, 5, 0, 3, 0, 0, 4, 0, 0, 1, 0, 0, 6, 0, 2, 0, 0, 8, 0, 3, 0]
EXIT = [4, 9, 7, 7, 12, 3, 9, 11, 7, 15, 5, 12, 9, 4, 15, 14, 7, 10, 2, 13, 15, 9, 6, 12]
FAILED = [1, 1, 0, 1, 1, 1, 0, 1, 1, 0, 1, 0, 1, 1, 0, 1, 0, 1, 1, 0, 1, 0, 1, 1]
CLEANED = [1, 0, 1, 1, 0, 1, 0, 0, 1, 0, 1, 0, 1, 1, 0, 0, 0, 1, 1, 0, 0, 1, 0, 1]
LOAD = [
    *(0.5, 1.2, -0.3, 2.1, 0.7, -1.1, 0.4, 1.6, 0.2, -0.8, 0.9, 1.3),
    *(-0.6, 1.1, 0.3, -1.4, 0.8, 0.1, 1.9, -0.2, 0.6, -0.9, 1.0, 0.4),
]
STRATUM = [0, 1, 0, 1, 1, 0] * 4
VEHICLE = [*range(1, 13)] * 2
WEIGHT = [1, 2, 1, 3] * 6


def small_lives(**further: object) -> HazardLives:
    """The lives with covariates cleaned and load; strata, clusters, weights if asked for."""
    columns = np.column_stack([CLEANED, LOAD])
    return HazardLives(ENTRY, EXIT, FAILED, columns, ("cleaned", "load"), **further)  # type: ignore[arg-type]


# How R 4.2.2 with survival 3.5-3 was asked for the numbers that the tests compare with:
#   Y <- Surv(entry, exit, failed); coxph(Y ~ cleaned + load), ties = "breslow", + strata(s),
#   + cluster(v), weights = w; cox.zph(fit, transform = ); survfit(fit, newdata = )
