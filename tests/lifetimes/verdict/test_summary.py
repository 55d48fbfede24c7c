"""Figures and limits of the fault mixture against SciPy's laws and numeric curvature."""

from functools import cache

import numpy as np
import pytest
from scipy.stats import beta, gamma, norm

from garage.lifetimes.verdict.em import fitter_rate_of_life
from garage.lifetimes.verdict.fault_mixture import (
    BAD_FIT_SHARE,
    BAD_FIT_WEIGHT,
    FAMILY_RATE_SHAPE,
    FITTER_RATE_SHAPE,
    LARGEST_EARLY_SHARE,
    WEAR_SHAPE_LOG_SD,
    _beliefs,
    _fit,
)
from garage.lifetimes.verdict.input import mixture_data
from garage.lifetimes.verdict.laws import REFERENCE_KM
from garage.lifetimes.verdict.results import FaultMixture
from garage.lifetimes.verdict.summary import FitOutcome, summarise, worn_weight
from tests.lifetimes.verdict.fault_mixture_world import World, simulate

TAILS = (0.05, 0.95)


@cache
def fitted() -> tuple[FitOutcome, FaultMixture]:
    outcome = _fit(mixture_data(simulate(World(vehicles=500), 2).lives), None)
    return outcome, summarise(outcome, 0.9)


def test_family_rates_are_those_of_the_gamma_law() -> None:
    outcome, found = fitted()
    worn = worn_weight(outcome.data, outcome.found)
    assert any(not each.sound for each in found.families)
    for each in found.families:
        assert each.expected > 0
        mine = outcome.data.family == each.family
        assert each.n == mine.sum()
        assert each.failed == pytest.approx((worn * outcome.data.lives.failed)[mine].sum())
        law = gamma(each.failed + FAMILY_RATE_SHAPE, scale=1 / (each.expected + FAMILY_RATE_SHAPE))
        assert (each.mean, each.lower, each.upper) == pytest.approx((law.mean(), *law.ppf(TAILS)))


def test_workshops_shares_and_rates_are_those_of_beta_and_gamma_laws() -> None:
    outcome, found = fitted()
    data, chances = outcome.data, outcome.found
    sound = 1 - chances.faulty[data.vehicle]
    for each in found.fitters:
        mine = data.fitted_here & (data.fitter == each.fitter)
        bad, well = (
            (sound * chances.bad_fit)[mine].sum(),
            (sound * (1 - chances.bad_fit))[mine].sum(),
        )
        share = beta(
            bad + BAD_FIT_WEIGHT * BAD_FIT_SHARE, well + BAD_FIT_WEIGHT * (1 - BAD_FIT_SHARE)
        )
        assert (each.n, each.bad) == (mine.sum(), pytest.approx(bad))
        assert each.bad_share == pytest.approx(share.mean())
        assert (each.bad_share_lower, each.bad_share_upper) == pytest.approx(share.ppf(TAILS))
        law = gamma(each.failed + FITTER_RATE_SHAPE, scale=1 / (each.expected + FITTER_RATE_SHAPE))
        assert each.wear_rate == pytest.approx(law.mean())
        assert (each.wear_rate_lower, each.wear_rate_upper) == pytest.approx(law.ppf(TAILS))


def test_limits_of_normal_life_are_those_of_its_numeric_curvature() -> None:
    outcome, found = fitted()
    data, state, lives = outcome.data, outcome.state, outcome.data.lives
    worn = worn_weight(data, outcome.found) * (state.law_of_family[data.family] == 0)
    rate = state.family_rate[data.family] * fitter_rate_of_life(data, state)
    seen = [each for each in found.normal_lives if each.median_lower is not None]
    assert len(seen) >= 2
    for each in seen:
        weight = worn * (data.origin == each.origin)
        at = np.array([np.log(each.law.shape), np.log(each.law.scale / REFERENCE_KM)])

        def height(
            log_shape: float, log_scale: float, weight: np.ndarray = weight, held: float = at[0]
        ) -> float:
            shape = np.exp(log_shape)
            far, near = shape * (lives.log_exit - log_scale), shape * (lives.log_entry - log_scale)
            grown = np.exp(far) - lives.delayed * np.exp(near)
            likely = lives.failed * (log_shape + far - lives.log_exit) - rate * grown
            belief = ((log_shape - held) / WEAR_SHAPE_LOG_SD) ** 2 / 2
            return float(weight @ likely - belief)

        step, curved = 1e-3, np.zeros((2, 2))
        for i, j in ((0, 0), (0, 1), (1, 0), (1, 1)):
            one, other = np.eye(2)[i] * step, np.eye(2)[j] * step
            ends = [height(*(at + a * one + b * other)) * a * b for a in (1, -1) for b in (1, -1)]
            curved[i, j] = -sum(ends) / (4 * step**2)

        def log_median(log_shape: float, log_scale: float) -> float:
            return float(log_scale + np.log(np.log(2)) / np.exp(log_shape))

        slope = np.array(
            [(log_median(*(at + d)) - log_median(*(at - d))) / (2 * step) for d in np.eye(2) * step]
        )
        error = np.sqrt(slope @ np.linalg.solve(curved, slope))
        reach = norm.ppf(0.95) * error
        wanted = np.exp(log_median(*at) + np.array([-reach, reach])) * REFERENCE_KM
        assert (each.median_lower, each.median_upper) == pytest.approx(tuple(wanted), rel=1e-4)


def test_early_laws_are_held_below_half_of_the_normal_median() -> None:
    outcome, _ = fitted()
    data, state = outcome.data, outcome.state
    shape, scale = state.wear_shape[0], np.exp(state.wear_log_scale[0])
    medians = scale * (np.log(2) / state.origin_rate) ** (1 / shape)
    bound = _beliefs(data, state).largest_early_log_scale
    assert np.exp(bound) == pytest.approx(LARGEST_EARLY_SHARE * np.median(medians[data.origin]))


def test_excess_hazards_add_up_to_the_share_that_design_and_workshop_cause() -> None:
    outcome, found = fitted()
    data, state = outcome.data, outcome.state
    exit_ = np.exp(data.lives.log_exit)
    both = np.zeros(data.n)
    for life in range(data.n):
        family, origin = data.family[life], data.origin[life]
        row = state.law_of_family[family]
        shape, scale = state.wear_shape[:, origin], np.exp(state.wear_log_scale[:, origin])
        hazard = shape / scale * (exit_[life] / scale) ** (shape - 1)
        design = hazard[row] / hazard[0] if row else found.families[family].mean
        workshop = fitter_rate_of_life(data, state)[life]
        # What is left of the hazard without either, and how their logs divide the rest.
        logs = np.maximum(np.log([design, workshop]), 0)
        both[life] = 1 - np.exp(-logs.sum())
        if logs.sum() > 0:
            parts = both[life] * logs / logs.sum()
            assert (found.design_excess[life], found.repair_excess[life]) == pytest.approx(parts)
    assert found.design_excess + found.repair_excess == pytest.approx(both)
    own = state.law_of_family[data.family] > 0
    assert own.any()
    assert found.design_excess[own].min() < found.design_excess[own].max() - 0.01
