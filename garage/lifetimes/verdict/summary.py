"""From the fitted parameters of the fault mixture to figures with their limits."""

from dataclasses import dataclass

import numpy as np
from scipy.special import betaincinv, gammaincinv, ndtri

from garage.lifetimes.arrays import FloatArray, IntArray
from garage.lifetimes.laws.weibull import WeibullLaw
from garage.lifetimes.status import Status
from garage.lifetimes.verdict.em import (
    Beliefs,
    MixtureData,
    MixtureState,
    Responsibilities,
    fitter_rate_of_life,
    wear_gain,
)
from garage.lifetimes.verdict.families import RatePosterior, rate_posterior
from garage.lifetimes.verdict.laws import REFERENCE_KM, Law
from garage.lifetimes.verdict.results import (
    FamilyRate,
    FaultMixture,
    FitQuality,
    LifeCodes,
    NormalLife,
)

# A normal life on fewer effective failures than this is stated with a caution. Judgement: its
# relative error in scale is then about 1 / (shape * sqrt(10)), 13 % for shape 2.5.
FEW_EFFECTIVE_FAILURES = 10.0


@dataclass(frozen=True)
class FitOutcome:
    """What the search left behind: parameters, chances, and how it went."""

    data: MixtureData
    beliefs: Beliefs
    state: MixtureState
    found: Responsibilities
    path: tuple[float, ...]
    converged: bool


def worn_weight(data: MixtureData, found: Responsibilities) -> FloatArray:
    """Chance that a life belongs to neither a faulty vehicle nor a bad fit."""
    weight = (1.0 - found.faulty[data.vehicle]) * (1.0 - found.bad_fit)
    return np.asarray(weight, dtype=np.float64)


def public_law(law: Law) -> WeibullLaw:
    """The same law in km."""
    return WeibullLaw(law.shape, float(np.exp(law.log_scale)) * REFERENCE_KM)


def summarise(outcome: FitOutcome, level: float) -> FaultMixture:
    """State the fit's figures with their numbers of lives, limits and reasons."""
    data, state, found = outcome.data, outcome.state, outcome.found
    worn = worn_weight(data, found)
    posterior = rate_posterior(data, state, outcome.beliefs.family_rate_shape, worn)
    design_excess, fitter_excess = _excess(data, state, posterior)
    cannot_tell = _cannot_tell(data, state)
    status, reason = Status.OK, ""
    if not outcome.converged:
        status = Status.NOT_CONVERGED
        reason = (
            f"the search had not settled after {len(outcome.path)} steps; shares may still move"
        )
    elif cannot_tell:
        status, reason = Status.CANNOT_TELL_APART, "; ".join(cannot_tell)
    failed = data.lives.failed > 0.0
    return FaultMixture(
        status=status,
        reason=reason,
        n=data.n,
        failed=int(failed.sum()),
        vehicles=data.vehicles,
        cannot_tell=cannot_tell,
        normal_lives=_normal_lives(outcome, worn, level),
        families=_families(outcome, posterior, level),
        fitters=_fitters(outcome, worn, level),
        faulty_share=state.faulty_share,
        vehicle_law=public_law(state.vehicle_law),
        repair_law=public_law(state.repair_law),
        p_faulty=found.faulty,
        p_bad_fit=found.bad_fit,
        repair_excess=fitter_excess,
        design_excess=design_excess,
        codes=LifeCodes(data.vehicle, data.family, data.fitter, failed),
        converged=outcome.converged,
        log_posterior_path=outcome.path,
    )


def _cannot_tell(data: MixtureData, state: MixtureState) -> tuple[str, ...]:
    said = []
    if not state.base_is_given and np.unique(data.family).size < 2:
        said.append(
            "design cannot be told from normal wear: there is one family only, and no normal "
            "life was given"
        )
    fitters = np.unique(data.fitter[data.fitted_here]).size
    if fitters == 0:
        said.append("repair cannot be judged: no workshop in view fitted any of these parts")
    elif fitters == 1:
        said.append(
            "repair rests on how early the parts failed alone: there is one workshop only, none to "
            "compare it with"
        )
    if np.bincount(data.vehicle).max() < 2:
        said.append(
            "a faulty vehicle can hardly be told from a bad fit or chance: no vehicle has two "
            "watched lives"
        )
    return tuple(said)


def _families(
    outcome: FitOutcome, posterior: RatePosterior, level: float
) -> tuple[FamilyRate, ...]:
    state = outcome.state
    lower, upper = (posterior.limit(p) for p in ((1 - level) / 2, (1 + level) / 2))
    rates = []
    for family in range(outcome.data.families):
        row = int(state.law_of_family[family])
        n = int(posterior.n[family])
        rates.append(
            FamilyRate(
                family=family,
                mean=float(posterior.mean[family]),
                lower=float(lower[family]),
                upper=float(upper[family]),
                n=n,
                failed=float(posterior.failed[family]),
                expected=float(posterior.expected[family]),
                sound=row == 0,
                own_law=public_law(
                    Law(float(state.wear_shape[row, 0]), float(state.wear_log_scale[row, 0]))
                )
                if row
                else None,
                status=Status.OK if n else Status.NO_LIVES,
                reason="" if n else "no life of this family was watched; the belief alone speaks",
            )
        )
    return tuple(rates)


def _fitters(outcome: FitOutcome, worn: FloatArray, level: float) -> tuple[FitQuality, ...]:
    data, state, beliefs = outcome.data, outcome.state, outcome.beliefs
    here = data.fitted_here

    def of_fitter(amount: FloatArray) -> FloatArray:
        summed = np.bincount(data.fitter[here], amount[here], data.fitters)
        return np.asarray(summed, dtype=np.float64)

    sound = 1.0 - outcome.found.faulty[data.vehicle]
    bad = of_fitter(sound * outcome.found.bad_fit)
    alpha = bad + beliefs.bad_fit_weight * beliefs.bad_fit_share
    beta = of_fitter(sound * (1.0 - outcome.found.bad_fit))
    beta += beliefs.bad_fit_weight * (1.0 - beliefs.bad_fit_share)
    rate = state.family_rate[data.family] * state.origin_rate[data.origin]
    failed = of_fitter(worn * data.lives.failed)
    expected = of_fitter(worn * rate * outcome.found.sound_gain)
    gamma_shape = failed + beliefs.fitter_rate_shape
    gamma_rate = expected + beliefs.fitter_rate_shape
    tails = ((1.0 - level) / 2.0, (1.0 + level) / 2.0)
    share = [betaincinv(alpha, beta, tail) for tail in tails]
    wear = [gammaincinv(gamma_shape, tail) / gamma_rate for tail in tails]
    n = np.bincount(data.fitter[here], minlength=data.fitters)
    return tuple(
        FitQuality(
            fitter=fitter,
            n=int(n[fitter]),
            bad_share=float(alpha[fitter] / (alpha[fitter] + beta[fitter])),
            bad_share_lower=float(share[0][fitter]),
            bad_share_upper=float(share[1][fitter]),
            bad=float(bad[fitter]),
            wear_rate=float(gamma_shape[fitter] / gamma_rate[fitter]),
            wear_rate_lower=float(wear[0][fitter]),
            wear_rate_upper=float(wear[1][fitter]),
            failed=float(failed[fitter]),
            expected=float(expected[fitter]),
        )
        for fitter in range(data.fitters)
    )


def _excess(
    data: MixtureData, state: MixtureState, posterior: RatePosterior
) -> tuple[FloatArray, FloatArray]:
    """Shares of each life's hazard at its exit that design and fitter add to normal life's.

    A product of two rates has no one division; it is divided as their logs are.
    """
    row = state.law_of_family[data.family]
    log_exit = data.lives.log_exit

    def log_hazard(of_row: IntArray) -> FloatArray:
        _, shape, log_scale = wear_gain(data, state, of_row)
        found = np.log(shape) - log_scale + (shape - 1.0) * (log_exit - log_scale)
        return np.asarray(found, dtype=np.float64)

    own = log_hazard(row) - log_hazard(np.zeros_like(row))
    design = np.maximum(np.where(row > 0, own, np.log(posterior.mean)[data.family]), 0.0)
    fitter = np.maximum(np.log(fitter_rate_of_life(data, state)), 0.0)
    both = design + fitter
    share = -np.expm1(-both) / np.where(both > 0.0, both, 1.0)
    return share * design, share * fitter


def _normal_lives(outcome: FitOutcome, worn: FloatArray, level: float) -> tuple[NormalLife, ...]:
    data, state = outcome.data, outcome.state
    sound_family = state.law_of_family[data.family] == 0
    normal = []
    for origin in range(data.origins):
        chosen = sound_family & (data.origin == origin)
        shape = float(state.wear_shape[0, origin])
        log_scale = float(state.wear_log_scale[0, origin])
        log_scale -= float(np.log(state.origin_rate[origin])) / shape
        failed = float((worn * data.lives.failed)[chosen].sum())
        limits: tuple[float | None, float | None] = (None, None)
        status, reason = Status.OK, ""
        if state.base_is_given:
            reason = "the law was given from outside; its limits are its source's to state"
        elif failed < FEW_EFFECTIVE_FAILURES:
            status = Status.FEW_FAILURES
            reason = (
                f"{failed:.1f} ordinary failures of this origin; "
                "its scale leans on the other origins"
            )
        else:
            limits = _median_limits(outcome, worn * chosen, Law(shape, log_scale), level)
        normal.append(
            NormalLife(
                origin=origin,
                law=public_law(Law(shape, log_scale)),
                n=int(chosen.sum()),
                failed=failed,
                median_lower=limits[0],
                median_upper=limits[1],
                status=status,
                reason=reason,
            )
        )
    return tuple(normal)


def _median_limits(
    outcome: FitOutcome, weight: FloatArray, law: Law, level: float
) -> tuple[float, float]:
    """Wald limits of the median, log scale, from the curvature of one origin's likelihood."""
    lives = outcome.data.lives
    exposed = weight * outcome.state.family_rate[outcome.data.family]
    exposed = exposed * fitter_rate_of_life(outcome.data, outcome.state)
    curved = np.zeros((2, 2))
    logs = [(lives.log_exit - law.log_scale, exposed)]
    logs.append((lives.log_entry - law.log_scale, -exposed * lives.delayed))
    failing = weight * lives.failed
    k = law.shape
    curved[0, 0] = -k * float(failing @ logs[0][0]) + outcome.beliefs.wear_law.shape_log_sd**-2.0
    curved[0, 1] = k * float(failing.sum())
    for z, w in logs:
        grown = w * np.exp(k * z)
        curved[0, 0] += k * float(grown @ z) + k**2 * float(grown @ z**2)
        curved[0, 1] -= k * float(grown.sum()) + k**2 * float(grown @ z)
        curved[1, 1] += k**2 * float(grown.sum())
    curved[1, 0] = curved[0, 1]
    log_log2 = float(np.log(np.log(2.0)))
    slope = np.array([-log_log2 / k, 1.0])
    spread = float(ndtri((1.0 + level) / 2.0)) * float(
        np.sqrt(slope @ np.linalg.solve(curved, slope))
    )
    log_median = law.log_scale + log_log2 / k
    return (
        float(np.exp(log_median - spread)) * REFERENCE_KM,
        float(np.exp(log_median + spread)) * REFERENCE_KM,
    )
