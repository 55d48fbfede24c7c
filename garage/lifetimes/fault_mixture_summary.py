"""From the fitted parameters of the fault mixture to figures with their limits."""

from dataclasses import dataclass

import numpy as np
from scipy.special import betaincinv, gammaincinv, ndtri

from garage.lifetimes.arrays import FloatArray, IntArray
from garage.lifetimes.fault_mixture_em import (
    Beliefs,
    MixtureData,
    MixtureState,
    Responsibilities,
    wear_gain,
)
from garage.lifetimes.fault_mixture_laws import REFERENCE_KM, Law
from garage.lifetimes.fault_mixture_results import (
    BadFitShare,
    FamilyRate,
    FaultMixture,
    LifeCodes,
    NormalLife,
)
from garage.lifetimes.status import Status
from garage.lifetimes.weibull import WeibullLaw

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
    design_limit: float


@dataclass(frozen=True)
class RatePosterior:
    """Gamma posterior of every family's rate against the base law, by family code."""

    n: FloatArray
    failed: FloatArray
    expected: FloatArray
    mean: FloatArray
    lower: FloatArray
    upper: FloatArray


def rate_posterior(
    data: MixtureData, state: MixtureState, beliefs: Beliefs, worn: FloatArray, level: float
) -> RatePosterior:
    """Failures of each family against those that the base law expects of the same parts."""
    base_gain, _, _ = wear_gain(data, state, np.zeros(data.n, dtype=np.int64))
    exposed = worn * base_gain * state.origin_rate[data.origin]
    failed = summed(data.family, worn * data.lives.failed, data.families)
    expected = summed(data.family, exposed, data.families)
    shape, rate = failed + beliefs.rate_shape, expected + beliefs.rate_shape
    return RatePosterior(
        n=np.bincount(data.family, minlength=data.families).astype(np.float64),
        failed=failed,
        expected=expected,
        mean=shape / rate,
        lower=gammaincinv(shape, (1.0 - level) / 2.0) / rate,
        upper=gammaincinv(shape, (1.0 + level) / 2.0) / rate,
    )


def summed(code: IntArray, amount: FloatArray, size: int) -> FloatArray:
    """Sum of `amount` by code."""
    return np.asarray(np.bincount(code, amount, size), dtype=np.float64)


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
    posterior = rate_posterior(data, state, outcome.beliefs, worn, level)
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
        families=_families(outcome, posterior),
        fitters=_fitters(outcome, level),
        faulty_share=state.faulty_share,
        vehicle_law=public_law(state.vehicle_law),
        repair_law=public_law(state.repair_law),
        p_faulty=found.faulty,
        p_bad_fit=found.bad_fit,
        design_excess=_design_excess(data, state, posterior),
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


def _families(outcome: FitOutcome, posterior: RatePosterior) -> tuple[FamilyRate, ...]:
    state = outcome.state
    rates = []
    for family in range(outcome.data.families):
        row = int(state.law_of_family[family])
        n = int(posterior.n[family])
        rates.append(
            FamilyRate(
                family=family,
                mean=float(posterior.mean[family]),
                lower=float(posterior.lower[family]),
                upper=float(posterior.upper[family]),
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


def _fitters(outcome: FitOutcome, level: float) -> tuple[BadFitShare, ...]:
    data, beliefs = outcome.data, outcome.beliefs
    here = data.fitted_here
    sound = (1.0 - outcome.found.faulty[data.vehicle])[here]
    bad = np.bincount(data.fitter[here], sound * outcome.found.bad_fit[here], data.fitters)
    n = np.bincount(data.fitter[here], minlength=data.fitters)
    all_sound = np.bincount(data.fitter[here], sound, data.fitters)
    alpha = bad + beliefs.bad_fit_weight * beliefs.bad_fit_share
    beta = np.maximum(all_sound - bad, 0.0) + beliefs.bad_fit_weight * (1.0 - beliefs.bad_fit_share)
    lower, upper = (betaincinv(alpha, beta, p) for p in ((1 - level) / 2, (1 + level) / 2))
    return tuple(
        BadFitShare(
            fitter=fitter,
            mean=float(alpha[fitter] / (alpha[fitter] + beta[fitter])),
            lower=float(lower[fitter]),
            upper=float(upper[fitter]),
            n=int(n[fitter]),
            bad=float(bad[fitter]),
        )
        for fitter in range(data.fitters)
    )


def _design_excess(data: MixtureData, state: MixtureState, posterior: RatePosterior) -> FloatArray:
    """Share of the family's hazard at each life's exit that normal life would not have shown."""
    row = state.law_of_family[data.family]
    log_exit = data.lives.log_exit

    def log_hazard(of_row: IntArray) -> FloatArray:
        _, shape, log_scale = wear_gain(data, state, of_row)
        found = np.log(shape) - log_scale + (shape - 1.0) * (log_exit - log_scale)
        return np.asarray(found, dtype=np.float64)

    own = log_hazard(row) - log_hazard(np.zeros_like(row))
    log_ratio = np.where(row > 0, own, np.log(posterior.mean)[data.family])
    return np.asarray(-np.expm1(-np.maximum(log_ratio, 0.0)), dtype=np.float64)


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
