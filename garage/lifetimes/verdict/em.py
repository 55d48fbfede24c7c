"""Steps of the fault mixture's search: whose fault explains each life, and the laws that follow."""

from dataclasses import dataclass, replace

import numpy as np

from garage.lifetimes.arrays import BoolArray, FloatArray, IntArray
from garage.lifetimes.verdict.laws import (
    Law,
    LawBelief,
    LawLives,
    WeightedLives,
    best_law,
)


@dataclass(frozen=True)
class Beliefs:
    """What is held before any life is seen. Each is a judgement, named where it is set."""

    faulty_share: float
    faulty_weight: float
    bad_fit_share: float
    bad_fit_weight: float
    family_rate_shape: float  # of the gamma law, mean 1, of family rates; so the next two
    origin_rate_shape: float
    fitter_rate_shape: float
    vehicle_law: LawBelief
    repair_law: LawBelief
    wear_law: LawBelief
    largest_early_log_scale: float


@dataclass(frozen=True)
class MixtureData:
    """Lives and their codes. `fitter` is -1 where no workshop in view fitted the part."""

    lives: LawLives
    vehicle: IntArray
    family: IntArray
    fitter: IntArray
    origin: IntArray
    vehicles: int
    families: int
    fitters: int
    origins: int

    @property
    def fitted_here(self) -> BoolArray:
        return self.fitter >= 0

    @property
    def n(self) -> int:
        return int(self.vehicle.size)


@dataclass(frozen=True)
class MixtureState:
    """Every parameter of the mixture.

    `wear_shape` and `wear_log_scale` have one row a wear law (row 0: the base law, others: one
    family each) and one column an origin, before rates. `law_of_family` picks the row.
    `family_rate` multiplies the hazard of families on row 0.
    """

    faulty_share: float
    bad_fit_share: FloatArray
    vehicle_law: Law
    repair_law: Law
    wear_shape: FloatArray
    wear_log_scale: FloatArray
    law_of_family: IntArray
    family_rate: FloatArray
    origin_rate: FloatArray
    fitter_rate: FloatArray
    base_is_given: bool


@dataclass(frozen=True)
class Responsibilities:
    """Chances of each cause given everything, and the log posterior (up to a constant)."""

    faulty: FloatArray  # a vehicle
    bad_fit: FloatArray  # a life, given that its vehicle is sound
    sound_gain: (
        FloatArray  # a life's cumulative hazard over its watch under unit family and origin rates
    )
    log_posterior: float


def wear_gain(
    data: MixtureData, state: MixtureState, row: IntArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Cumulative hazard of each life over its watch on wear law `row`, its shape and log scale.

    Family and origin rates are left out.
    """
    shape = state.wear_shape[row, data.origin]
    log_scale = state.wear_log_scale[row, data.origin]
    return np.exp(-shape * log_scale) * data.lives.power_gain(shape), shape, log_scale


def life_rate(data: MixtureData, state: MixtureState) -> FloatArray:
    """What multiplies each life's wear hazard: its family's, origin's and fitter's rates."""
    rate = state.family_rate[data.family] * state.origin_rate[data.origin]
    return rate * fitter_rate_of_life(data, state)


def fitter_rate_of_life(data: MixtureData, state: MixtureState) -> FloatArray:
    """The rate of the workshop that fitted each part, 1 where none in view did."""
    rate = np.ones(data.n)
    rate[data.fitted_here] = state.fitter_rate[data.fitter[data.fitted_here]]
    return rate


def _early_log_likelihood(lives: LawLives, law: Law) -> FloatArray:
    log_hazard = (
        np.log(law.shape) - law.log_scale + (law.shape - 1.0) * (lives.log_exit - law.log_scale)
    )
    hazard_gain = np.exp(-law.shape * law.log_scale) * lives.power_gain(law.shape)
    return np.asarray(lives.failed * log_hazard - hazard_gain, dtype=np.float64)


def expect(data: MixtureData, state: MixtureState, beliefs: Beliefs) -> Responsibilities:
    """Chances of a faulty vehicle and of a bad fit, given the lives and the present laws."""
    lives = data.lives
    gain, shape, log_scale = wear_gain(data, state, state.law_of_family[data.family])
    rate = life_rate(data, state)
    log_hazard = (
        np.log(rate) + np.log(shape) - log_scale + (shape - 1.0) * (lives.log_exit - log_scale)
    )
    log_wear = lives.failed * log_hazard - rate * gain

    here = data.fitted_here
    chance = state.bad_fit_share[data.fitter[here]]
    log_bad = np.log(chance) + _early_log_likelihood(lives, state.repair_law)[here]
    log_good = np.log1p(-chance) + log_wear[here]
    log_sound = log_wear.copy()
    log_sound[here] = np.logaddexp(log_bad, log_good)
    bad_fit = np.zeros(data.n)
    bad_fit[here] = np.exp(log_bad - log_sound[here])

    log_faulty = np.log(state.faulty_share) + np.bincount(
        data.vehicle, _early_log_likelihood(lives, state.vehicle_law), data.vehicles
    )
    log_fine = np.log1p(-state.faulty_share) + np.bincount(data.vehicle, log_sound, data.vehicles)
    log_vehicle = np.logaddexp(log_faulty, log_fine)
    return Responsibilities(
        faulty=np.exp(log_faulty - log_vehicle),
        bad_fit=bad_fit,
        sound_gain=gain,
        log_posterior=float(log_vehicle.sum()) + _log_belief(data, state, beliefs),
    )


def _log_belief(data: MixtureData, state: MixtureState, beliefs: Beliefs) -> float:
    def share(value: FloatArray | float, mean: float, weight: float) -> float:
        return float(
            np.sum(weight * mean * np.log(value) + weight * (1.0 - mean) * np.log1p(-value))
        )

    def rate(value: FloatArray, shape: float) -> float:
        return float(shape * (np.log(value) - value).sum())

    on_base = state.law_of_family == 0
    total = share(state.faulty_share, beliefs.faulty_share, beliefs.faulty_weight)
    total += share(state.bad_fit_share, beliefs.bad_fit_share, beliefs.bad_fit_weight)
    total += state.vehicle_law.log_belief(beliefs.vehicle_law)
    total += state.repair_law.log_belief(beliefs.repair_law)
    total += rate(state.family_rate[on_base], beliefs.family_rate_shape)
    total += rate(state.origin_rate, beliefs.origin_rate_shape)
    total += rate(state.fitter_rate, beliefs.fitter_rate_shape)
    first = 1 if state.base_is_given else 0
    for row in range(first, state.wear_shape.shape[0]):
        law = Law(float(state.wear_shape[row, 0]), float(state.wear_log_scale[row, 0]))
        total += law.log_belief(beliefs.wear_law)
    return total


def maximise(
    data: MixtureData, state: MixtureState, beliefs: Beliefs, found: Responsibilities
) -> MixtureState:
    """Raise the expected log posterior: shares, early laws, wear laws, family and origin rates."""
    lives = data.lives
    faulty = found.faulty[data.vehicle]
    sound = 1.0 - faulty
    bad = sound * found.bad_fit
    worn = sound * (1.0 - found.bad_fit)
    here = data.fitted_here
    bad_sum = np.bincount(data.fitter[here], bad[here], data.fitters)
    sound_sum = np.bincount(data.fitter[here], sound[here], data.fitters)
    largest = beliefs.largest_early_log_scale
    state = replace(
        state,
        faulty_share=(float(found.faulty.sum()) + beliefs.faulty_weight * beliefs.faulty_share)
        / (data.vehicles + beliefs.faulty_weight),
        bad_fit_share=(bad_sum + beliefs.bad_fit_weight * beliefs.bad_fit_share)
        / (sound_sum + beliefs.bad_fit_weight),
        vehicle_law=best_law(
            WeightedLives(lives, faulty), beliefs.vehicle_law, state.vehicle_law, largest
        ),
        repair_law=best_law(
            WeightedLives(lives, bad), beliefs.repair_law, state.repair_law, largest
        ),
    )
    state = _wear_laws(data, state, beliefs, worn)
    return _rates(data, state, beliefs, worn)


def _wear_laws(
    data: MixtureData, state: MixtureState, beliefs: Beliefs, worn: FloatArray
) -> MixtureState:
    shape, log_scale = state.wear_shape.copy(), state.wear_log_scale.copy()
    row_of_life = state.law_of_family[data.family]
    rate = life_rate(data, state)
    for row in range(1 if state.base_is_given else 0, shape.shape[0]):
        chosen = np.flatnonzero(row_of_life == row)
        lives = data.lives.rows(chosen)
        start = Law(float(shape[row, 0]), float(log_scale[row, 0]))
        law = best_law(WeightedLives(lives, worn[chosen], rate[chosen]), beliefs.wear_law, start)
        shape[row], log_scale[row] = law.shape, law.log_scale
    return replace(state, wear_shape=shape, wear_log_scale=log_scale)


def _rates(
    data: MixtureData, state: MixtureState, beliefs: Beliefs, worn: FloatArray
) -> MixtureState:
    row_of_life = state.law_of_family[data.family]
    gain = worn * wear_gain(data, state, row_of_life)[0]
    failed = worn * data.lives.failed
    prior = beliefs.family_rate_shape
    family_rate, origin_rate = state.family_rate, state.origin_rate
    # The last place stands for parts that no workshop in view fitted (code -1).
    fitter_rate, fitted_by = np.append(state.fitter_rate, 1.0), data.fitter
    # One family, or one origin, has nothing to be compared with unless the base law is given from
    # outside.
    if state.base_is_given or (state.law_of_family == 0).sum() > 1:
        on_base = state.law_of_family == 0
        family_failed = np.bincount(data.family, failed, data.families)
        expected = np.bincount(
            data.family, gain * origin_rate[data.origin] * fitter_rate[fitted_by], data.families
        )
        family_rate = np.where(on_base, (family_failed + prior) / (expected + prior), 1.0)
    if not state.base_is_given and data.origins > 1:
        prior = beliefs.origin_rate_shape
        origin_failed = np.bincount(data.origin, failed, data.origins)
        expected = np.bincount(
            data.origin, gain * family_rate[data.family] * fitter_rate[fitted_by], data.origins
        )
        origin_rate = (origin_failed + prior) / (expected + prior)
    if data.fitters > 1:
        here, prior = data.fitted_here, beliefs.fitter_rate_shape
        fitter_failed = np.bincount(data.fitter[here], failed[here], data.fitters)
        exposed = gain * family_rate[data.family] * origin_rate[data.origin]
        expected = np.bincount(data.fitter[here], exposed[here], data.fitters)
        fitter_rate = (fitter_failed + prior) / (expected + prior)
    state = replace(
        state,
        family_rate=family_rate,
        origin_rate=origin_rate,
        fitter_rate=fitter_rate[: data.fitters],
    )
    return state if state.base_is_given else _recentre(state)


def _recentre(state: MixtureState) -> MixtureState:
    """Move the common size of the rates into the wear laws: only the belief (mean 1) gains.

    Without it, scale and rates creep along the ridge they share and convergence takes hundreds of
    steps more.
    """
    on_base = state.law_of_family == 0
    log_scale = state.wear_log_scale.copy()
    family_rate, origin_rate = state.family_rate.copy(), state.origin_rate
    if on_base.sum() > 1:
        common = float(family_rate[on_base].mean())
        family_rate[on_base] /= common
        log_scale[0] -= np.log(common) / state.wear_shape[0]
    if origin_rate.size > 1:
        common = float(origin_rate.mean())
        origin_rate = origin_rate / common
        log_scale -= np.log(common) / state.wear_shape
    return replace(
        state, wear_log_scale=log_scale, family_rate=family_rate, origin_rate=origin_rate
    )
