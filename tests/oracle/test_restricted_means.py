"""Difference of restricted means on R's own trial data, against R and a published contrast."""

import numpy as np
import pytest

from garage.lifetimes.comparison.restricted_means import restricted_means_compared
from garage.lifetimes.curves.product_limit import product_limit
from garage.lifetimes.risk_table import LivesArrays, RiskTable
from tests.oracle.conftest import R

pytestmark = pytest.mark.oracle

YEAR_DAYS = 365.25


def test_trial_of_two_treatments_equals_r_and_the_published_difference(r: R) -> None:
    answers = r(
        """
        d <- pbc[!is.na(pbc$trt), ]
        for (arm in 1:2) {
          here <- d[d$trt == arm, ]
          give(paste("days", arm), here$time); give(paste("died", arm), here$status == 2)
          m <- summary(survfit(Surv(time, status == 2) ~ 1, here), rmean = 3652.5)$table
          give(paste("mean", arm), m[c("rmean", "se(rmean)")])
        }
        """
    )
    curves = []
    for arm in (1, 2):
        days, died = answers[f"days {arm}"], answers[f"died {arm}"]
        lives = LivesArrays(np.zeros(len(days)), days, died)
        curves.append(product_limit(RiskTable.from_lives(lives, unit="days")))
    found = restricted_means_compared(curves[0], curves[1], until=10 * YEAR_DAYS)
    for arm, mean in ((1, found.first), (2, found.second)):
        np.testing.assert_allclose(
            [mean.value, mean.standard_error], answers[f"mean {arm}"], rtol=1e-9
        )
    # Uno, vignette of R's package survRM2, ten years: 7.146 and 7.283 years, errors 0.283 and
    # 0.295, difference -0.137 (the difference quoted where it was read, the rest from memory).
    years = [found.first.value, found.first.standard_error]
    years += [found.second.value, found.second.standard_error]
    assert found.difference is not None
    years.append(found.difference.value)
    np.testing.assert_allclose(
        np.array(years, float) / YEAR_DAYS, [7.146, 0.283, 7.283, 0.295, -0.137], atol=6e-4
    )
