"""The standard laws against SciPy's distributions, and in both far tails."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from garage.lifetimes.laws.standard import LOGISTIC, NORMAL, SMALLEST_EXTREME, StandardLaw

LAWS = [(SMALLEST_EXTREME, stats.gumbel_l), (NORMAL, stats.norm), (LOGISTIC, stats.logistic)]
NODES, WEIGHTS = np.polynomial.legendre.leggauss(200)
each_law = pytest.mark.parametrize(("law", "other"), LAWS)


@each_law
@given(z=st.floats(-30, 6))
def test_functions_equal_scipys_distribution(
    law: StandardLaw, other: stats.rv_continuous, z: float
) -> None:
    at = np.array([z])
    assert law.log_survival(at)[0] == pytest.approx(other.logsf(z), rel=1e-9, abs=1e-12)
    assert law.log_failed(at)[0] == pytest.approx(other.logcdf(z), rel=1e-9, abs=1e-12)
    assert law.log_density(at)[0] == pytest.approx(other.logpdf(z), rel=1e-9)


@each_law
@given(z=st.floats(-8, 3))
def test_slopes_equal_numeric_ones(law: StandardLaw, other: stats.rv_continuous, z: float) -> None:
    step = 1e-5
    beside = np.array([z - step, z, z + step])
    slope, bend = law.density_pull(beside)
    rate, rate_slope = law.hazard(beside)
    values = law.log_density(beside)
    assert slope[1] == pytest.approx((values[2] - values[0]) / 2 / step, rel=1e-6, abs=1e-6)
    assert bend[1] == pytest.approx((slope[2] - slope[0]) / 2 / step, rel=1e-6, abs=1e-6)
    alive = law.log_survival(beside)
    assert -rate[1] == pytest.approx((alive[2] - alive[0]) / 2 / step, rel=1e-6, abs=1e-6)
    assert rate_slope[1] == pytest.approx((rate[2] - rate[0]) / 2 / step, rel=1e-6, abs=1e-6)


@each_law
@given(z=st.floats(-20, 3), width=st.floats(1e-6, 10))
def test_share_between_equals_its_density_summed(
    law: StandardLaw, other: stats.rv_continuous, z: float, width: float
) -> None:
    # Second way: Gauss-Legendre quadrature of the density relative to its largest value.
    heights = other.logpdf(z + width * (NODES + 1) / 2)
    top = heights.max()
    wanted = top + np.log(width / 2 * (WEIGHTS @ np.exp(heights - top)))
    found = law.log_between(np.array([z]), np.array([z + width]))[0]
    assert found == pytest.approx(wanted, rel=1e-8, abs=1e-8)


@each_law
@pytest.mark.parametrize("z", [-35.0, -300.0])
def test_far_below_a_share_failed_keeps_its_digits(
    law: StandardLaw, other: stats.rv_continuous, z: float
) -> None:
    assert law.log_failed(np.array([z]))[0] == pytest.approx(other.logcdf(z), rel=1e-9)


@each_law
@given(share=st.floats(1e-12, 1 - 1e-9))
def test_deviate_undoes_the_share(
    law: StandardLaw, other: stats.rv_continuous, share: float
) -> None:
    z = law.deviate(np.array([share]))
    assert np.exp(law.log_failed(z))[0] == pytest.approx(share, rel=1e-9)
