"""The fault mixture: its likelihood against a slow second one, its search, its limits and refusals.

Sources are named beside the checks; the shares of right verdicts are in test_fault_mixture_worlds.
"""

import math
from dataclasses import replace

import numpy as np
import pytest

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.laws.weibull import WeibullLaw
from garage.lifetimes.status import Status
from garage.lifetimes.verdict.em import MixtureState, expect, maximise
from garage.lifetimes.verdict.fault_mixture import (
    MixtureLives,
    _beliefs,
    _first_state,
    fault_mixture,
)
from garage.lifetimes.verdict.input import mixture_data
from garage.lifetimes.verdict.laws import (
    REFERENCE_KM,
    Law,
    LawBelief,
    LawLives,
    WeightedLives,
    best_law,
)
from garage.lifetimes.verdict.shares import Cause, verdict_shares
from tests.lifetimes.verdict.fault_mixture_world import World, simulate

NO_BELIEF = LawBelief(2.0, 1e6, np.zeros(0), 0.0)


def columns(lives: MixtureLives) -> dict[str, np.ndarray]:
    return {name: np.asarray(getattr(lives, name)) for name in MixtureLives.__dataclass_fields__}


def plain_lives(n: int = 60, **changed: object) -> MixtureLives:
    rng = np.random.default_rng(5)
    base: dict[str, object] = {
        "entry_km": np.zeros(n),
        "exit_km": 200_000.0 * rng.weibull(2.5, size=n),
        "failed": np.ones(n, dtype=bool),
        "vehicle": np.arange(n) // 2,
        "family": np.arange(n) // 2 % 3,
        "fitter": np.arange(n) % 3 - 1,
        "origin": np.arange(n) % 2,
    }
    return MixtureLives(**(base | changed))  # type: ignore[arg-type]


# ---------------------------------------------------------------- one law


def test_law_of_a_complete_sample_equals_the_reference_program() -> None:
    from scipy.stats import weibull_min  # reference program; slow to import

    km = 80_000.0 * np.random.default_rng(3).weibull(1.7, size=200)
    lives = LawLives.from_km(np.zeros(200), km, np.ones(200, dtype=bool))
    law = best_law(WeightedLives(lives, np.ones(200)), NO_BELIEF, Law(1.0, 0.0))
    shape, _, scale = weibull_min.fit(km, floc=0)
    assert law.shape == pytest.approx(shape, rel=1e-4)
    assert math.exp(law.log_scale) * REFERENCE_KM == pytest.approx(scale, rel=1e-4)


def slow_log_likelihood(law: Law, weighted: WeightedLives) -> float:
    """The definition, life by life: log hazard if failed, less the hazard gathered under watch."""
    total = 0.0
    scale = math.exp(law.log_scale)
    lives, multiplier = weighted.lives, np.broadcast_to(weighted.multiplier, weighted.weight.shape)
    for i, weight in enumerate(weighted.weight):
        left = math.exp(lives.log_exit[i])
        entered = math.exp(lives.log_entry[i]) if lives.delayed[i] else 0.0
        hazard = multiplier[i] * law.shape / scale * (left / scale) ** (law.shape - 1.0)
        gathered = multiplier[i] * ((left / scale) ** law.shape - (entered / scale) ** law.shape)
        total += weight * (lives.failed[i] * math.log(hazard) - gathered)
    return total


@pytest.mark.parametrize("largest", [None, math.log(0.6)])
def test_law_with_entry_weights_and_rates_is_a_maximum(largest: float | None) -> None:
    rng = np.random.default_rng(11)
    n = 150
    entry_km = np.where(rng.random(n) < 0.4, rng.uniform(0.0, 60_000.0, n), 0.0)
    exit_km = entry_km + 90_000.0 * rng.weibull(1.5, n)
    lives = LawLives.from_km(entry_km, exit_km, rng.random(n) < 0.6)
    weighted = WeightedLives(lives, rng.random(n), rng.uniform(0.5, 3.0, n))
    belief = LawBelief(1.2, 0.3, np.log(np.array([0.05, 0.2])), 0.5)

    def log_posterior(law: Law) -> float:
        return slow_log_likelihood(law, weighted) + law.log_belief(belief)

    best = best_law(weighted, belief, Law(2.5, 1.0), largest)
    reached = log_posterior(best)
    if largest is not None:
        assert best.log_scale == largest  # the bound binds, so that case is really tried
    for shape_factor in (0.97, 1.0, 1.03):
        for shift in (-0.03, 0.0, 0.03):
            other = Law(best.shape * shape_factor, best.log_scale + shift)
            if largest is None or other.log_scale <= largest:
                assert log_posterior(other) <= reached + 1e-9


# ---------------------------------------------------------------- the likelihood


def some_state(families: int, fitters: int) -> MixtureState:
    return MixtureState(
        faulty_share=0.1,
        bad_fit_share=np.linspace(0.05, 0.3, fitters),
        vehicle_law=Law(1.3, math.log(0.3)),
        repair_law=Law(0.9, math.log(0.1)),
        wear_shape=np.array([[2.4, 2.4], [1.8, 1.8]]),
        wear_log_scale=np.log(np.array([[2.2, 2.2], [1.1, 1.1]])),
        law_of_family=np.array([0, 1, 0]),
        family_rate=np.array([1.4, 1.0, 0.7]),
        origin_rate=np.array([0.8, 1.2]),
        fitter_rate=np.array([0.9, 1.5]),
        base_is_given=False,
    )


def test_chances_equal_a_slow_second_computation() -> None:
    from scipy.stats import weibull_min  # reference program; slow to import

    lives = plain_lives(24, entry_km=np.where(np.arange(24) % 4 == 0, 10_000.0, 0.0))
    lives = replace(
        lives,
        exit_km=np.asarray(lives.exit_km) + 10_001.0,
        failed=np.arange(24) % 5 != 0,
    )
    data = mixture_data(lives)
    state = some_state(3, 2)
    found = expect(data, state, _beliefs(data, state))
    col = columns(lives)

    def density(shape: float, scale: float, row: int) -> float:
        law = weibull_min(shape, scale=scale * REFERENCE_KM)
        left, entered = col["exit_km"][row], col["entry_km"][row]
        top = law.pdf(left) * REFERENCE_KM if col["failed"][row] else law.sf(left)
        return float(top / law.sf(entered))

    for vehicle in range(12):
        if_faulty, if_sound = 1.0, 1.0
        for row in np.flatnonzero(col["vehicle"] == vehicle):
            family, origin, fitter = (int(col[c][row]) for c in ("family", "origin", "fitter"))
            law = int(state.law_of_family[family])
            shape = float(state.wear_shape[law, origin])
            rate = float(state.family_rate[family] * state.origin_rate[origin])
            rate *= float(state.fitter_rate[fitter]) if fitter >= 0 else 1.0
            scale = math.exp(state.wear_log_scale[law, origin]) * rate ** (-1.0 / shape)
            good, bad = density(shape, scale, row), density(0.9, 0.1, row)
            chance = float(state.bad_fit_share[fitter]) if fitter >= 0 else 0.0
            assert found.bad_fit[row] == pytest.approx(
                chance * bad / (chance * bad + (1 - chance) * good), rel=1e-9
            )
            if_sound *= chance * bad + (1.0 - chance) * good
            if_faulty *= density(1.3, 0.3, row)
        expected = 0.1 * if_faulty / (0.1 * if_faulty + 0.9 * if_sound)
        assert found.faulty[vehicle] == pytest.approx(expected, rel=1e-9)


# ---------------------------------------------------------------- the search


def test_log_posterior_never_falls() -> None:
    for seed in range(3):
        data = mixture_data(simulate(World(vehicles=400), seed).lives)
        state = _first_state(data, None)
        beliefs = _beliefs(data, state)
        path = []
        for _ in range(60):
            found = expect(data, state, beliefs)
            path.append(found.log_posterior)
            state = maximise(data, state, beliefs, found)
        assert np.diff(path).min() > -1e-7
        assert path[-1] - path[0] > 10.0  # it did have something to climb


def test_search_ends_where_no_parameter_improves() -> None:
    data = mixture_data(simulate(World(vehicles=400), 1).lives)
    state = _first_state(data, None)
    beliefs = _beliefs(data, state)
    for _ in range(200):
        state = maximise(data, state, beliefs, expect(data, state, beliefs))
    top = expect(data, state, beliefs).log_posterior

    def nudged(array: FloatArray, index: int, factor: float) -> FloatArray:
        changed = array.copy()
        changed[index] *= factor
        return changed

    for factor in (0.98, 1.02):
        others = [replace(state, faulty_share=state.faulty_share * factor)]
        others.append(replace(state, wear_shape=state.wear_shape * factor))
        others.append(replace(state, wear_log_scale=state.wear_log_scale + math.log(factor)))
        for name in ("family_rate", "origin_rate", "fitter_rate", "bad_fit_share"):
            column = getattr(state, name)
            others.extend(
                replace(state, **{name: nudged(column, each, factor)})
                for each in range(column.size)
            )
        for name in ("vehicle_law", "repair_law"):
            law = getattr(state, name)
            others.append(replace(state, **{name: Law(law.shape * factor, law.log_scale)}))
            others.append(replace(state, **{name: Law(law.shape, law.log_scale - 0.02)}))
        for other in others:
            assert expect(data, other, beliefs).log_posterior < top


def test_path_of_the_fit_rises_and_converges() -> None:
    mixture = fault_mixture(simulate(World(vehicles=500), 4).lives)
    assert mixture.converged
    assert np.diff(mixture.log_posterior_path).min() > -1e-7


def test_order_of_lives_does_not_matter() -> None:
    lives = simulate(World(vehicles=300), 2).lives
    order = np.random.default_rng(0).permutation(np.asarray(lives.vehicle).size)
    shuffled = MixtureLives(**{name: col[order] for name, col in columns(lives).items()})
    first, second = fault_mixture(lives), fault_mixture(shuffled)
    assert first.p_faulty is not None
    np.testing.assert_allclose(first.p_faulty, second.p_faulty, atol=1e-6)
    assert first.p_bad_fit is not None
    np.testing.assert_allclose(first.p_bad_fit[order], second.p_bad_fit, atol=1e-6)


def test_other_units_change_scales_and_nothing_else() -> None:
    lives = simulate(World(vehicles=300), 2).lives
    in_miles = replace(
        lives,
        entry_km=np.asarray(lives.entry_km) / 1.609344,
        exit_km=np.asarray(lives.exit_km) / 1.609344,
    )
    first, second = fault_mixture(lives), fault_mixture(in_miles)
    assert first.p_faulty is not None
    np.testing.assert_allclose(first.p_faulty, second.p_faulty, atol=1e-5)
    ratio = first.normal_lives[0].law.median / second.normal_lives[0].law.median
    assert ratio == pytest.approx(1.609344, rel=1e-5)


# ---------------------------------------------------------------- what the data cannot say


def test_no_lives_and_too_few_failures_say_so() -> None:
    none = fault_mixture(MixtureLives([], [], [], [], [], [], []))
    assert (none.status, none.is_fitted) == (Status.NO_LIVES, False)
    few = fault_mixture(plain_lives(60, failed=np.arange(60) < 5))
    assert (few.status, few.is_fitted) == (Status.FEW_FAILURES, False)
    assert "base_laws" in few.reason
    unfailed = fault_mixture(plain_lives(60, failed=np.zeros(60, dtype=bool)))
    assert unfailed.status == Status.NO_FAILURES
    verdict = verdict_shares(few, [0])
    assert (verdict.vehicle, verdict.leader, verdict.status) == (None, None, Status.FEW_FAILURES)
    assert verdict.reason


def test_given_normal_life_needs_no_failures() -> None:
    laws = (WeibullLaw(2.5, 300_000.0), WeibullLaw(2.5, 200_000.0))
    mixture = fault_mixture(plain_lives(60, failed=np.arange(60) < 5), base_laws=laws)
    assert mixture.is_fitted
    assert [life.law.scale for life in mixture.normal_lives] == pytest.approx([300_000, 200_000])
    assert mixture.normal_lives[0].median_lower is None
    assert mixture.normal_lives[0].reason
    nothing_failed = fault_mixture(plain_lives(failed=np.zeros(60, dtype=bool)), base_laws=laws)
    assert nothing_failed.is_fitted
    assert nothing_failed.p_faulty is not None
    assert nothing_failed.p_faulty.max() < 0.02


def test_single_family_is_judged_against_a_given_normal_life_only() -> None:
    rng = np.random.default_rng(8)
    n = 200
    weak = plain_lives(
        n,
        exit_km=120_000.0 * rng.weibull(2.5, n),
        family=np.zeros(n, dtype=int),
        origin=np.zeros(n, dtype=int),
    )
    alone = fault_mixture(weak)
    assert alone.status == Status.CANNOT_TELL_APART
    assert any("design" in said for said in alone.cannot_tell)
    assert alone.families[0].sound
    against = fault_mixture(weak, base_laws=(WeibullLaw(2.5, 300_000.0),))
    assert against.status == Status.OK
    assert not against.families[0].sound
    assert against.families[0].lower > 2.0
    assert against.design_excess is not None
    assert against.design_excess.min() > 0.5


def test_single_workshop_and_single_lives_say_what_cannot_be_told() -> None:
    one = fault_mixture(plain_lives(fitter=np.zeros(60, dtype=int)))
    assert any("one workshop only" in said for said in one.cannot_tell)
    nobody = fault_mixture(plain_lives(fitter=np.full(60, -1)))
    assert any("no workshop" in said for said in nobody.cannot_tell)
    assert nobody.p_bad_fit is not None
    assert nobody.p_bad_fit.max() == 0.0
    single = fault_mixture(plain_lives(vehicle=np.arange(60)))
    assert any("two watched lives" in said for said in single.cannot_tell)


def test_family_without_lives_keeps_the_belief_and_says_so() -> None:
    mixture = fault_mixture(plain_lives(family=np.arange(60) // 2 % 3 * 2))
    empty = mixture.families[1]
    assert (empty.n, empty.status) == (0, Status.NO_LIVES)
    assert empty.lower < 1.0 < empty.upper


# ---------------------------------------------------------------- verdicts


def test_shares_add_to_one_and_the_margin_silences_a_close_call() -> None:
    written = simulate(World(vehicles=500), 6)
    mixture = fault_mixture(written.lives)
    flagged = written.early_repeat_failures()
    assert len(flagged) > 10
    for rows in flagged:
        verdict = verdict_shares(mixture, rows)
        shares = [verdict.vehicle, verdict.repair, verdict.design, verdict.chance]
        assert all(share is not None and 0.0 <= share <= 1.0 for share in shares)
        assert sum(share or 0.0 for share in shares) == pytest.approx(1.0)
        first, second = sorted((share or 0.0 for share in shares), reverse=True)[:2]
        assert (verdict.leader is not None) == (first - second >= 0.2)
        assert verdict_shares(mixture, rows, margin=1.0).leader is None or first == 1.0
        assert verdict.basis is not None
        assert verdict.basis.early_failures == len(rows)
        assert verdict.basis.vehicle_failures >= len(rows)


def test_verdict_refuses_rows_it_cannot_judge() -> None:
    failed = np.ones(60, dtype=bool)
    failed[3] = False
    mixture = fault_mixture(plain_lives(failed=failed))
    assert verdict_shares(mixture, [0, 1]).leader in (*Cause, None)
    for rows, margin, words in (
        ([], 0.2, "at least one"),
        ([60], 0.2, "row numbers"),
        ([-1], 0.2, "row numbers"),
        ([2, 3], 0.2, "did not"),
        ([0, 2], 0.2, "one vehicle"),
        ([0, 1], 1.1, "margin"),
    ):
        with pytest.raises(ValueError, match=words):
            verdict_shares(mixture, rows, margin=margin)


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"entry_km": np.full(60, -1.0)}, "entry_km must not be below 0"),
        ({"exit_km": np.zeros(60)}, "beyond entry_km"),
        ({"exit_km": np.full(60, np.inf)}, "beyond entry_km"),
        ({"exit_km": np.ones(59)}, "same length"),
        ({"vehicle": np.full(60, -1)}, "vehicle codes"),
        ({"fitter": np.full(60, -2)}, "fitter codes"),
        ({"family": np.zeros(60)}, "whole-number"),
    ],
)
def test_refuses_bad_lives_and_says_where(changed: dict[str, object], words: str) -> None:
    fault_mixture(plain_lives())
    with pytest.raises(ValueError, match=words):
        fault_mixture(plain_lives(**changed))


def test_refuses_a_missing_base_law() -> None:
    with pytest.raises(ValueError, match="one law an origin"):
        fault_mixture(plain_lives(), base_laws=(WeibullLaw(2.5, 300_000.0),))
