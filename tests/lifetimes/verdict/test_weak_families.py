"""Which families are surely a weakness of design, against SciPy's laws."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import f as f_law
from scipy.stats import gamma

from garage.lifetimes.verdict.em import MixtureState
from garage.lifetimes.verdict.families import (
    DESIGN_CONFIDENCE,
    DESIGN_LIMIT,
    RatePosterior,
    weak_families,
)
from garage.lifetimes.verdict.laws import Law

PRIOR = 4.0


def state_of(law_of_family: list[int], *, given: bool) -> MixtureState:
    ones = np.ones(len(law_of_family))
    law = Law(1.2, 0.0)
    return MixtureState(
        faulty_share=0.01,
        bad_fit_share=np.array([0.01]),
        vehicle_law=law,
        repair_law=law,
        wear_shape=np.full((1, 1), 2.5),
        wear_log_scale=np.zeros((1, 1)),
        law_of_family=np.array(law_of_family),
        family_rate=ones,
        origin_rate=np.ones(1),
        fitter_rate=np.ones(1),
        base_is_given=given,
    )


def random_posterior(rng: np.random.Generator, families: int) -> RatePosterior:
    expected = rng.uniform(0.5, 15, families)
    rate = rng.choice([0.5, 1.0, 3.0, 6.0], families)
    return RatePosterior(
        n=np.full(families, 50), failed=rng.poisson(expected * rate) * 1.0, expected=expected,
        prior_shape=PRIOR,
    )  # fmt: skip


@pytest.mark.parametrize("seed", range(4))
def test_families_against_a_given_life_are_those_of_the_gamma_law(seed: int) -> None:
    rng = np.random.default_rng(seed)
    for _ in range(50):
        posterior = random_posterior(rng, 6)
        found = weak_families(state_of([0] * 6, given=True), posterior)
        lowest = gamma(posterior.failed + PRIOR, scale=1 / (posterior.expected + PRIOR))
        surely = lowest.ppf(1 - DESIGN_CONFIDENCE) > DESIGN_LIMIT
        assert found.tolist() == np.flatnonzero(surely).tolist()


@pytest.mark.parametrize("seed", range(4))
def test_families_against_the_sounder_half_are_those_of_the_ratio_of_two_gammas(seed: int) -> None:
    rng = np.random.default_rng(seed)
    weak = 0
    for _ in range(100):
        families = int(rng.integers(2, 7))
        posterior = random_posterior(rng, families)
        found = weak_families(state_of([0] * families, given=False), posterior)
        mean = (posterior.failed + PRIOR) / (posterior.expected + PRIOR)
        sounder = sorted(range(families), key=lambda each: (mean[each], each))[
            : (families + 1) // 2
        ]
        reference = sum(posterior.failed[each] for each in sounder) + PRIOR
        rate = reference / (sum(posterior.expected[each] for each in sounder) + PRIOR)
        surely = []
        for each in set(range(families)) - set(sounder):
            shape = posterior.failed[each] + PRIOR
            # Two gamma variates, each over its shape, are as Fisher's F.
            ratio = f_law(2 * shape, 2 * reference).ppf(1 - DESIGN_CONFIDENCE)
            if ratio * shape / (posterior.expected[each] * rate + PRIOR) > DESIGN_LIMIT:
                surely.append(each)
        assert found.tolist() == sorted(surely)
        weak += len(surely)
    assert weak > 20


@pytest.mark.parametrize("given", [True, False])
def test_families_without_lives_or_with_their_own_law_are_left_out(given: bool) -> None:
    failed = np.array([2.0, 3, 4, 90, 90, 90])
    posterior = RatePosterior(np.full(6, 50), failed, np.full(6, 10.0), PRIOR)
    state = state_of([0] * 6, given=given)
    assert weak_families(state, posterior).tolist() == [3, 4, 5]
    own = replace(state, law_of_family=np.array([0, 0, 0, 1, 0, 0]))
    assert weak_families(own, posterior).tolist() == [4, 5]
    empty = replace(posterior, n=np.array([50, 50, 50, 0, 50, 50]))
    assert weak_families(state, empty).tolist() == [4, 5]


def test_family_of_the_sounder_half_is_never_weak() -> None:
    # The third of five fails more than twice as often as the sounder three together.
    failed, expected = np.array([10.0, 10, 300, 320, 350]), np.array([100.0, 100, 50, 50, 50])
    posterior = RatePosterior(np.full(5, 400), failed, expected, PRIOR)
    assert weak_families(state_of([0] * 5, given=False), posterior).tolist() == [3, 4]
    assert weak_families(state_of([0] * 5, given=True), posterior).tolist() == [2, 3, 4]
