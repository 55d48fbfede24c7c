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
    # Uno, vignette of R's package survRM2, ten years: difference -0.137, p 0.738, limits 0.939 and
    # 0.665 either way (its text has lost a sign); 7.15 years in the first arm. From memory: the
    # third digits of the means, and their errors.
    years = [found.first.value, found.first.standard_error]
    years += [found.second.value, found.second.standard_error]
    assert found.difference is not None
    years += [found.difference.value, found.difference.lower, found.difference.upper]
    np.testing.assert_allclose(
        np.array(years, float) / YEAR_DAYS,
        [7.146, 0.283, 7.283, 0.295, -0.137, -0.939, 0.665],
        atol=6e-4,
    )
    assert found.difference.p_value == pytest.approx(0.738, abs=6e-4)


def test_drawn_lives_equal_the_printed_difference_and_ratio(r: R) -> None:
    """Help page of R's package FastSurvival, `rmst_fast`: its lives drawn anew with its seed, and
    what it prints of survRM2's `rmst2(time, event, group, tau = 10)`."""
    answers = r(
        """
        set.seed(7)
        n <- 200
        give("time", c(rexp(n, 0.10), rexp(n, 0.07)))
        give("event", rbinom(2 * n, 1, 0.8))
        """
    )
    parts = 10**9
    curves = []
    for group in (slice(200), slice(200, 400)):
        ends = np.rint(answers["time"][group] * parts)
        lives = LivesArrays(np.zeros(200), ends, answers["event"][group])
        curves.append(product_limit(RiskTable.from_lives(lives, unit="parts")))
    found = restricted_means_compared(curves[1], curves[0], until=10 * parts)
    difference, ratio = found.difference, found.ratio
    assert difference is not None
    assert ratio is not None
    means = np.array([found.first.value, found.second.value], float) / parts
    assert means == pytest.approx([7.8384, 6.7572], abs=6e-5)
    figures = np.array([difference.value, difference.lower, difference.upper], float) / parts
    assert figures == pytest.approx([1.0812605, 0.4094144, 1.7531066], abs=6e-8)
    assert difference.p_value == pytest.approx(0.001608610, abs=6e-10)
    figures = np.array([ratio.value, ratio.lower, ratio.upper], float)
    assert figures == pytest.approx([1.1600165, 1.0571618, 1.2728783], abs=6e-8)
    assert ratio.p_value == pytest.approx(0.001727894, abs=6e-10)
