"""Usage against published figures: the same models, printed for other data on a common scale."""

import numpy as np
import pytest

from garage.lifetimes.usage.annual_distance import YEAR_LOG_SD, AnnualDistances, annual_distance
from garage.lifetimes.usage.yearly_change import YearlyChange, yearly_change

KM = 12_000.0
"""What a value of 0 is on the scale of annual distances, whose logarithm carries the values."""


def shrunk(values: np.ndarray, variances: np.ndarray) -> AnnualDistances:
    """Values of known variance as vehicles of one group, watched as long as gives that variance;
    the last vehicle is unmeasured and so has the group's mean."""
    years = np.append(YEAR_LOG_SD**2 / variances, 0.0)
    km = np.append(np.exp(values), 0.0) * KM * years
    return annual_distance(km, years, np.zeros(len(km)))


def values_of(found: AnnualDistances) -> np.ndarray:
    return np.log(found.km_per_year / KM)


def test_six_trials_equal_the_printed_spread_mean_and_error() -> None:
    # DerSimonian and Kacker, Contemporary Clinical Trials 28, 2007, tables 3 and 4, pages 111-112
    # (data and figures as in the tests of R's package metafor): log odds ratios of pre-eclampsia in
    # six trials; Paule and Mandel's spread 0.3681, mean -0.3811, its error 0.2060.
    treated, cases = np.array([156, 303, 565, 1570, 103, 4659]), np.array([5, 5, 12, 69, 9, 313])
    control, others = np.array([74, 303, 477, 1565, 105, 4650]), np.array([8, 17, 9, 94, 11, 352])
    well, sound = treated - cases, control - others
    found = shrunk(
        np.log(cases * sound / (well * others)), 1 / cases + 1 / well + 1 / others + 1 / sound
    )
    assert found.vehicle_log_sd == pytest.approx(0.3681, abs=6e-5)
    assert values_of(found)[-1] == pytest.approx(-0.3811, abs=6e-5)
    # An unmeasured vehicle has the spread and the error of the mean in its doubt.
    assert found.log_sd[-1] == pytest.approx(np.hypot(0.3681, 0.2060), abs=1e-4)


def test_nine_laboratories_equal_the_printed_spread() -> None:
    # Kacker, Metrologia 41, 2004, table 1, first row, page 135 (as in the tests of statsmodels):
    # nine laboratories' means with their variances; Paule and Mandel's spread 0.8399.
    means = np.array([61.00, 61.40, 62.21, 62.30, 62.34, 62.60, 62.70, 62.84, 65.90])
    spreads = np.array([0.2025, 1.21, 0.09, 0.2025, 0.3844, 0.5625, 0.0676, 0.0225, 1.8225])
    assert shrunk(means - 62, spreads).vehicle_log_sd == pytest.approx(0.8399, abs=6e-5)


def test_eighteen_averages_equal_the_printed_shrinkage() -> None:
    # Efron and Morris, Scientific American 236, May 1977 (data and 0.212 second-hand; the grand
    # average 0.265 from memory): hits in 45 tries, of variance grand (1 - grand) / 45. They keep
    # 1 - (k - 3) / S of each difference, S the squared differences over the variance, which is here
    # (k - 1) (1 + spread / variance); this register keeps 1 - (k - 1) / S.
    average = np.array([18, 17, 16, 15, 14, 14, 13, 12, 11, 11, *[10] * 5, 9, 8, 7]) / 45
    grand = average.mean()
    variance = grand * (1 - grand) / 45
    found = shrunk(average, np.full(18, variance))
    squares = 17 * (1 + found.vehicle_log_sd**2 / variance)
    assert values_of(found)[-1] == pytest.approx(0.265, abs=6e-4)
    assert 1 - 15 / squares == pytest.approx(0.212, abs=6e-4)
    assert values_of(found)[:18] - grand == pytest.approx((1 - 17 / squares) * (average - grand))


def lines(rows: str, years: float, unit: float) -> YearlyChange:
    """Rows of values, in units of the logarithm, each a vehicle in intervals of so many years."""
    values = np.array([row.split() for row in rows.strip().splitlines()], float)
    n, intervals = values.shape
    km = np.cumsum(np.exp(values / unit) * KM * years, axis=1)
    km = np.hstack([np.zeros((n, 1)), km])
    at = np.tile(np.arange(intervals + 1) * years, n)
    return yearly_change(np.repeat(np.arange(n), intervals + 1), at, km.ravel())


# Reaction times of 18 people without sleep, ten days (Belenky and others, Journal of Sleep Research
# 12, 2003; `sleepstudy` of R's package lme4), milliseconds.
REACTIONS = """
249.56 258.7047 250.8006 321.4398 356.8519 414.6901 382.2038 290.1486 430.5853 466.3535
222.7339 205.2658 202.9778 204.707 207.7161 215.9618 213.6303 217.7272 224.2957 237.3142
199.0539 194.3322 234.32 232.8416 229.3074 220.4579 235.4208 255.7511 261.0125 247.5153
321.5426 300.4002 283.8565 285.133 285.7973 297.5855 280.2396 318.2613 305.3495 354.0487
287.6079 285 301.8206 320.1153 316.2773 293.3187 290.075 334.8177 293.7469 371.5811
234.8606 242.8118 272.9613 309.7688 317.4629 309.9976 454.1619 346.8311 330.3003 253.8644
283.8424 289.555 276.7693 299.8097 297.171 338.1665 332.0265 348.8399 333.36 362.0428
265.4731 276.2012 243.3647 254.6723 279.0244 284.1912 305.5248 331.5229 335.7469 377.299
241.6083 273.9472 254.4907 270.8021 251.4519 254.6362 245.4523 235.311 235.7541 237.2466
312.3666 313.8058 291.6112 346.1222 365.7324 391.8385 404.2601 416.6923 455.8643 458.9167
236.1032 230.3167 238.9256 254.922 250.7103 269.7744 281.5648 308.102 336.2806 351.6451
256.2968 243.4543 256.2046 255.5271 268.9165 329.7247 379.4445 362.9184 394.4872 389.0527
250.5265 300.0576 269.8939 280.5891 271.8274 304.6336 287.7466 266.5955 321.5418 347.5655
221.6771 298.1939 326.8785 346.8555 348.7402 352.8287 354.4266 360.4326 375.6406 388.5417
271.9235 268.4369 257.2424 277.6566 314.8222 317.2135 298.1353 348.1229 340.28 366.5131
225.264 234.5235 238.9008 240.473 267.5373 344.1937 281.1481 347.5855 365.163 372.2288
269.8804 272.4428 277.8989 281.7895 279.1705 284.512 259.2658 304.6306 350.7807 369.4692
269.4117 273.474 297.5968 310.6316 287.1726 329.6076 334.4818 343.2199 369.1417 364.1236
"""


def test_days_without_sleep_equal_the_printed_mixed_model() -> None:
    # Bates and others, Journal of Statistical Software 67(1), 2015: `lmer(Reaction ~ Days + (Days |
    # Subject))` by REML prints slope 10.467, its error 1.546, its spread 5.922, residual 25.592
    # (read in a course that prints it). Everybody has the same days, so REML is the way of moments.
    found = lines(REACTIONS, 1.0, 1_000)
    ours = (found.drift, found.drift_error, found.drift_sd, found.year_log_sd)
    assert np.array(ours) * 1_000 == pytest.approx([10.467, 1.546, 5.922, 25.592], abs=6e-4)
    assert (found.n, found.intervals) == (18, 180)


# Distances in the jaws of 27 children at ages 8, 10, 12 and 14 (Potthoff and Roy, Biometrika 51,
# 1964; `Orthodont` of R's package nlme), millimetres.
JAWS = """
26 25 29 31
21.5 22.5 23 26.5
23 22.5 24 27.5
25.5 27.5 26.5 27
20 23.5 22.5 26
24.5 25.5 27 28.5
22 22 24.5 26.5
24 21.5 24.5 25.5
23 20.5 31 26
27.5 28 31 31.5
23 23 23.5 25
21.5 23.5 24 28
17 24.5 26 29.5
22.5 25.5 25.5 26
23 24.5 26 30
22 21.5 23.5 25
21 20 21.5 23
21 21.5 24 25.5
20.5 24 24.5 26
23.5 24.5 25 26.5
21.5 23 22.5 23.5
20 21 21 22.5
21.5 22.5 23 25
23 23 23.5 24
20 21 22 21.5
16.5 19 19 19.5
24.5 25 28 28
"""


def test_growing_jaws_equal_the_printed_mixed_model() -> None:
    # `lme(distance ~ age, data = Orthodont, random = ~ age | Subject)` by REML (Pinheiro and Bates,
    # Mixed-Effects Models in S and S-PLUS, 2000; printed in several courses): slope 0.660185, its
    # error 0.0712533, its spread 0.2264278, residual 1.3100397 for each value of two years.
    found = lines(JAWS, 2.0, 10)
    ours = (found.drift, found.drift_error, found.drift_sd, found.year_log_sd / np.sqrt(2))
    printed = [0.660185, 0.0712533, 0.2264278, 1.3100397]
    assert np.array(ours) * 10 == pytest.approx(printed, abs=6e-7)
    assert (found.n, found.intervals) == (27, 108)
