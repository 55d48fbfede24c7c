"""The fault mixture: normal life with the faults taken out, and how far faults explain a life."""

from dataclasses import replace

import numpy as np

from garage.lifetimes.arrays import IntArray
from garage.lifetimes.laws.weibull import WeibullLaw
from garage.lifetimes.status import Status
from garage.lifetimes.verdict.em import (
    Beliefs,
    MixtureData,
    MixtureState,
    expect,
    maximise,
)
from garage.lifetimes.verdict.families import rate_posterior, weak_families
from garage.lifetimes.verdict.input import MixtureLives, mixture_data
from garage.lifetimes.verdict.laws import REFERENCE_KM, Law, LawBelief, spread_pseudo_lives
from garage.lifetimes.verdict.results import FaultMixture
from garage.lifetimes.verdict.summary import (
    FitOutcome,
    summarise,
    worn_weight,
)

# All of these are judgement, no source; they were chosen before and held against the simulated
# worlds of the tests. Vehicles that ruin every filter are rare: one in a hundred, a belief worth
# this many vehicles.
FAULTY_SHARE, FAULTY_WEIGHT = 0.01, 100.0
# A workshop fits one in a hundred badly, a belief worth this many fits: one unlucky week condemns
# nobody. Twice the share blamed repair for 4 % of ordinary early failures in a world without bad
# fits.
BAD_FIT_SHARE, BAD_FIT_WEIGHT = 0.01, 30.0
# Families differ by about a half (the standard deviation of a gamma law of this shape, mean 1).
FAMILY_RATE_SHAPE = 4.0
# Origins may differ much more (a cleaned part that lasts half as long fails at five times the rate)
# and are few and well filled. A tighter belief pulls them together, and pushes what is then
# missing onto the workshops.
ORIGIN_RATE_SHAPE = 1.0
# Workshops, bad fits apart, differ less: by about a third.
FITTER_RATE_SHAPE = 8.0
# A fault shows early. Beforehand its scale is this share of the normal median, worth this many
# failures.
EARLY_SCALE_SHARE, EARLY_PSEUDO_FAILURES = 0.1, 2.0
# ... and is never above this share, or the early law would take over normal life's work.
LARGEST_EARLY_SHARE = 0.5
# Early failures come at a rate that changes little with distance; parts that wear out have shapes
# of 2 to 4.
EARLY_SHAPE, EARLY_SHAPE_LOG_SD = 1.2, 0.3
WEAR_SHAPE, WEAR_SHAPE_LOG_SD = 2.5, 0.4
# Below this many failures a law cannot be told from its faults; a normal life must be given.
FEWEST_FAILURES = 20

# Starts of the search: scale of the early laws (vehicle, repair) as a share of the normal median.
STARTS = ((0.1, 0.05), (0.3, 0.1), (0.05, 0.3))
SHORT_RUN_STEPS = 15
LARGEST_STEPS = 400
CONVERGED_GAIN = 1e-5  # of the log posterior, a step
LARGEST_ROUNDS = 5


def fault_mixture(
    lives: MixtureLives, *, base_laws: tuple[WeibullLaw, ...] | None = None, level: float = 0.95
) -> FaultMixture:
    """Sort faults from normal wear: vehicles that ruin every part, bad fits, weak designs.

    Parameters
    ----------
    lives : MixtureLives
        All watched lives, failed or not, of every family and workshop in view.
    base_laws : tuple of WeibullLaw, one an origin code, optional
        A normal life known from elsewhere (the organisation's own, the catalogue's). Family rates
        are then against it, so even a single family can be judged. Needed where fewer than 20 lives
        failed.
    level : float
        Of the limits.

    Returns
    -------
    FaultMixture
        With a status and a reason where nothing, or not everything, can be told.

    Raises
    ------
    ValueError
        Arrays of unequal length, exit not beyond entry, a negative distance, a code below 0 (below
        -1 for a fitter), a base law missing for an origin.

    Notes
    -----
    A share of vehicles is faulty upstream, and all their lives follow one early Weibull law. On a
    sound vehicle a part fitted by workshop w is badly fitted with chance rho_w and follows another
    early law; else its cumulative hazard is rate_family * rate_origin * rate_w * (t / scale) **
    shape. A family whose rate lies surely above 2 gets a shape and scale of its own, so that normal
    life rests on sound families only. Every component is conditional on the life's age at entry.
    The fit maximises the posterior under the weak beliefs named in this module (expectation and
    conditional maximisation: Meng and Rubin, Biometrika 80(2), 1993, from memory); the log
    posterior never falls within one round.

    Examples
    --------
    >>> rng = np.random.default_rng(1)
    >>> exit_km = 250_000 * rng.weibull(2.5, size=400)
    >>> exit_km[:8] = 15_000 * rng.weibull(1.2, size=8)  # four vehicles that ruin two parts each
    >>> code = np.zeros(400, dtype=int)
    >>> mixture = fault_mixture(MixtureLives(
    ...     entry_km=np.zeros(400), exit_km=exit_km, failed=np.ones(400, dtype=bool),
    ...     vehicle=np.arange(400) // 2, family=code, fitter=code - 1, origin=code))
    >>> [round(float(each), 1) for each in mixture.p_faulty[:6]]
    [1.0, 0.9, 1.0, 1.0, 0.0, 0.0]
    """
    data = mixture_data(lives)
    if data.n == 0:
        return FaultMixture(Status.NO_LIVES, "no life was watched", 0, 0, 0)
    if base_laws is not None and len(base_laws) < data.origins:
        raise ValueError(
            f"base_laws must hold one law an origin code; got {len(base_laws)} for {data.origins} "
            "origins. Give a law for each, or none to have them fitted."
        )
    failed = int(data.lives.failed.sum())
    if base_laws is None and failed < FEWEST_FAILURES:
        return FaultMixture(
            Status.FEW_FAILURES if failed else Status.NO_FAILURES,
            f"{failed} of {data.n} lives failed; at least {FEWEST_FAILURES} are needed to sort "
            "faults from normal wear. Give a normal life (base_laws) from elsewhere.",
            data.n,
            failed,
            data.vehicles,
        )
    return summarise(_fit(data, base_laws), level)


def _fit(data: MixtureData, base_laws: tuple[WeibullLaw, ...] | None) -> FitOutcome:
    """Search in rounds; after each, families that are surely weak get a law of their own."""
    state = _first_state(data, base_laws)
    for round_number in range(LARGEST_ROUNDS):
        beliefs = _beliefs(data, state)
        state, path, converged = _search(data, state, beliefs)
        found = expect(data, state, beliefs)
        weak = weak_families(
            state, rate_posterior(data, state, FAMILY_RATE_SHAPE, worn_weight(data, found))
        )
        if weak.size == 0 or round_number == LARGEST_ROUNDS - 1:
            break
        state = _with_own_laws(state, weak)
    return FitOutcome(data, beliefs, state, found, path, converged)


def _search(
    data: MixtureData, state: MixtureState, beliefs: Beliefs
) -> tuple[MixtureState, tuple[float, ...], bool]:
    """A short run from each start, then the best of them to the end."""
    runs = [
        _climb(data, _with_early_scales(data, state, start), beliefs, SHORT_RUN_STEPS)
        for start in STARTS
    ]
    best = max(runs, key=lambda run: run[1][-1])
    state, path, converged = _climb(data, best[0], beliefs, LARGEST_STEPS)
    return state, best[1] + path, converged


def _climb(
    data: MixtureData, state: MixtureState, beliefs: Beliefs, steps: int
) -> tuple[MixtureState, tuple[float, ...], bool]:
    path: list[float] = []
    for _ in range(steps):
        found = expect(data, state, beliefs)
        path.append(found.log_posterior)
        if len(path) > 1 and path[-1] - path[-2] < CONVERGED_GAIN:
            return state, tuple(path), True
        state = maximise(data, state, beliefs, found)
    path.append(expect(data, state, beliefs).log_posterior)
    return state, tuple(path), False


def _beliefs(data: MixtureData, state: MixtureState) -> Beliefs:
    """Beliefs about early laws, set against the round's normal life, so for any part kind."""
    medians = state.wear_log_scale[0] - np.log(state.origin_rate) / state.wear_shape[0]
    medians = medians + np.log(np.log(2.0)) / state.wear_shape[0]
    # Over lives, not over origins: an origin that hardly occurs says little about the part kind.
    log_median = float(np.median(medians[data.origin]))
    median_km = float(np.exp(log_median)) * REFERENCE_KM
    logs, weight = spread_pseudo_lives(
        EARLY_SHAPE, EARLY_SCALE_SHARE * median_km, EARLY_PSEUDO_FAILURES
    )
    early = LawBelief(EARLY_SHAPE, EARLY_SHAPE_LOG_SD, logs, weight)
    return Beliefs(
        faulty_share=FAULTY_SHARE,
        faulty_weight=FAULTY_WEIGHT,
        bad_fit_share=BAD_FIT_SHARE,
        bad_fit_weight=BAD_FIT_WEIGHT,
        family_rate_shape=FAMILY_RATE_SHAPE,
        origin_rate_shape=ORIGIN_RATE_SHAPE,
        fitter_rate_shape=FITTER_RATE_SHAPE,
        vehicle_law=early,
        repair_law=early,
        wear_law=LawBelief(WEAR_SHAPE, WEAR_SHAPE_LOG_SD, np.zeros(0), 0.0),
        largest_early_log_scale=log_median + float(np.log(LARGEST_EARLY_SHARE)),
    )


def _first_state(data: MixtureData, base_laws: tuple[WeibullLaw, ...] | None) -> MixtureState:
    if base_laws is None:
        # The closed-form scale under the believed shape: long lives govern it, so early faults
        # hardly pull it.
        gain = float(data.lives.power_gain(WEAR_SHAPE).sum())
        log_scale = float(np.log(gain / data.lives.failed.sum())) / WEAR_SHAPE
        shapes = np.full((1, data.origins), WEAR_SHAPE)
        log_scales = np.full((1, data.origins), log_scale)
    else:
        given = base_laws[: data.origins]
        shapes = np.array([[law.shape for law in given]])
        log_scales = np.array([[np.log(law.scale / REFERENCE_KM) for law in given]])
    return MixtureState(
        faulty_share=FAULTY_SHARE,
        bad_fit_share=np.full(data.fitters, BAD_FIT_SHARE),
        vehicle_law=Law(EARLY_SHAPE, 0.0),
        repair_law=Law(EARLY_SHAPE, 0.0),
        wear_shape=shapes,
        wear_log_scale=log_scales,
        law_of_family=np.zeros(data.families, dtype=np.int64),
        family_rate=np.ones(data.families),
        origin_rate=np.ones(data.origins),
        fitter_rate=np.ones(data.fitters),
        base_is_given=base_laws is not None,
    )


def _with_early_scales(
    data: MixtureData, state: MixtureState, shares: tuple[float, float]
) -> MixtureState:
    """Start the early laws afresh, at these shares (vehicle, repair) of the normal scale."""
    normal = float(np.median(state.wear_log_scale[0, data.origin]))
    return replace(
        state,
        faulty_share=FAULTY_SHARE,
        bad_fit_share=np.full(state.bad_fit_share.size, BAD_FIT_SHARE),
        vehicle_law=Law(EARLY_SHAPE, normal + float(np.log(shares[0]))),
        repair_law=Law(EARLY_SHAPE, normal + float(np.log(shares[1]))),
    )


def _with_own_laws(state: MixtureState, weak: IntArray) -> MixtureState:
    """Give each weak family a wear law of its own, started at the base law times its rate."""
    shapes, log_scales = [state.wear_shape], [state.wear_log_scale]
    law_of_family, family_rate = state.law_of_family.copy(), state.family_rate.copy()
    for row, family in enumerate(weak, start=state.wear_shape.shape[0]):
        shape = float(np.median(state.wear_shape[0]))
        log_scale = float(np.median(state.wear_log_scale[0]))
        log_scale -= float(np.log(family_rate[family])) / shape
        shapes.append(np.full((1, state.wear_shape.shape[1]), shape))
        log_scales.append(np.full((1, state.wear_shape.shape[1]), log_scale))
        law_of_family[family] = row
    family_rate[law_of_family > 0] = 1.0
    if not state.base_is_given and (law_of_family == 0).sum() == 1:
        family_rate[law_of_family == 0] = 1.0
    return replace(
        state,
        wear_shape=np.concatenate(shapes),
        wear_log_scale=np.concatenate(log_scales),
        law_of_family=law_of_family,
        family_rate=family_rate,
    )
