"""Predicted hazards against R, the Nelson–Aalen estimate, and their own laws."""

from dataclasses import replace

import numpy as np
import pytest

from garage.lifetimes.comparison.hazard_lives import HazardLives
from garage.lifetimes.comparison.partial_likelihood import TiesKind
from garage.lifetimes.comparison.predicted_hazard import predicted_hazard
from garage.lifetimes.comparison.proportional_hazards import proportional_hazards
from garage.lifetimes.status import Status
from tests.lifetimes.comparison.small_lives import STRATUM, small_lives

# R 4.2.2, survival 3.5-3: survfit(fit, newdata = data.frame(cleaned = 1, load = 0.5)), its time,
# cumhaz and std.chaz where something failed.
CLOCK = [2, 3, 4, 5, 6, 7, 9, 10, 11, 12, 14, 15]
EFRON = [
    *(0.0771158795963, 0.160493574285, 0.337437942782, 0.441985867952, 0.560372039163),
    *(0.833718918865, 1.3377522938, 1.68564170836, 2.16349733429, 3.50776594837),
    *(6.1014276685, 9.0311661328),
]
EFRON_ERROR = [
    *(0.0783672995972, 0.115667926125, 0.17461861971, 0.206824358517, 0.242850017141),
    *(0.320784508251, 0.510299767577, 0.652665042648, 0.884244895244, 1.55518710879),
    *(3.94933943108, 6.20955203758),
]
BRESLOW = [
    *(0.0776076559439, 0.160809638486, 0.327653731887, 0.431428578159, 0.548430589456),
    *(0.786874501873, 1.24783936084, 1.58197589691, 2.03596969627, 3.08682202633),
    *(5.41532528575, 8.05879403401),
]
BRESLOW_ERROR = [
    *(0.0787871080604, 0.115748033295, 0.168985131184, 0.201492681692, 0.237466371364),
    *(0.300910168522, 0.472025313213, 0.613568491046, 0.838009865093, 1.29388606182),
    *(3.46254249406, 5.49365851723),
]
STRATUM_1 = [
    *(0.137906341844, 0.312888314788, 0.536703497672, 0.766107102532),
    *(1.85672548231, 4.25784787376, 8.97661363651, 27.1260344156),
]


@pytest.mark.parametrize(
    ("ties", "hazard", "error"),
    [("efron", EFRON, EFRON_ERROR), ("breslow", BRESLOW, BRESLOW_ERROR)],
)
def test_hazard_and_error_equal_r(ties: TiesKind, hazard: list[float], error: list[float]) -> None:
    found = predicted_hazard(proportional_hazards(small_lives(), ties=ties), [1, 0.5])
    assert found.clock.tolist() == CLOCK
    np.testing.assert_allclose(found.cumulative_hazard, hazard, rtol=1e-9)
    np.testing.assert_allclose(found.standard_error, error, rtol=1e-9)
    assert (found.n, found.failed, found.failed_here) == (24, 16, 16)


def test_hazard_of_a_stratum_equals_r() -> None:
    lives = small_lives(stratum=[7 if each else 3 for each in STRATUM])
    found = predicted_hazard(proportional_hazards(lives), [1, 0.5], stratum=7)
    assert found.clock.tolist() == [4, 5, 6, 7, 9, 11, 12, 14]
    np.testing.assert_allclose(found.cumulative_hazard, STRATUM_1, rtol=1e-9)
    assert found.failed_here == 8


def test_lives_of_one_kind_each_in_its_stratum_give_nelson_and_aalens_estimate() -> None:
    # A covariate whose coefficient is 0 by symmetry leaves the plain sum of 1 / at risk.
    lives = HazardLives([0] * 4, [1, 1, 2, 2], [1, 1, 1, 1], [[0], [1], [0], [1]], ("x",))
    found = predicted_hazard(proportional_hazards(lives, ties="breslow"), [0.5])
    np.testing.assert_allclose(found.cumulative_hazard, [2 / 4, 2 / 4 + 2 / 2], atol=1e-12)


def test_one_unit_more_multiplies_the_hazard_by_the_ratio() -> None:
    fit = proportional_hazards(small_lives())
    less, more = (predicted_hazard(fit, [0, each]) for each in (0.0, 1.0))
    ratio = fit.ratio_of("load").value
    np.testing.assert_allclose(more.cumulative_hazard / less.cumulative_hazard, ratio)


def test_survival_at_lies_between_its_limits_and_ends_with_the_failures() -> None:
    found = predicted_hazard(proportional_hazards(small_lives()), [0, 0.0])
    for clock in (2, 4.5, 10, 15):
        here = found.at(clock)
        assert here.lower is not None
        assert here.value is not None
        assert here.upper is not None
        assert 0 <= here.lower < here.value < here.upper <= 1
        step = np.flatnonzero(found.clock <= clock)[-1]
        assert here.value == pytest.approx(found.survival[step])
    before = found.at(1)
    assert (before.value, before.lower, before.status) == (1.0, None, Status.NO_FAILURES)
    beyond = found.at(16)
    assert (beyond.value, beyond.status) == (None, Status.BEYOND_WATCH)
    assert "beyond 15" in beyond.reason


def test_fit_without_figures_hands_on_its_reason() -> None:
    fit = proportional_hazards(replace(small_lives(), failed=[0] * 24))
    found = predicted_hazard(fit, [0, 0])
    assert (found.clock.tolist(), found.status) == ([], Status.NO_FAILURES)
    here = found.at(3)
    assert (here.value, here.status, here.reason) == (None, Status.NO_FAILURES, fit.reason)


def test_refuses_covariates_and_strata_that_the_fit_does_not_have() -> None:
    fit = proportional_hazards(small_lives(stratum=STRATUM))
    with pytest.raises(ValueError, match="one finite number for each"):
        predicted_hazard(fit, [1], stratum=0)
    with pytest.raises(ValueError, match="one finite number for each"):
        predicted_hazard(fit, [1, float("nan")], stratum=0)
    with pytest.raises(ValueError, match="say which one is meant"):
        predicted_hazard(fit, [1, 0])
    with pytest.raises(ValueError, match=r"are \[0, 1\]; got 5"):
        predicted_hazard(fit, [1, 0], stratum=5)
