"""Age and next failure of a part of unknown history: closed forms and simulated histories."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import gamma

from garage.lifetimes.laws.life_left import LifeLeft
from garage.lifetimes.laws.weibull import WeibullLaw
from garage.lifetimes.renewal.in_place import part_in_place
from garage.lifetimes.renewal.table import renewal_table
from garage.lifetimes.status import Status
from tests.lifetimes.renewal.phases import StagesLaw


@pytest.mark.parametrize("now", [0.4, 3.0, 25.0])
@pytest.mark.parametrize("share_watched", [0.0, 0.3, 1.0])
def test_pure_chance_has_a_cut_off_age_and_no_memory(now: float, share_watched: float) -> None:
    law = WeibullLaw(1.0, 2.0)
    watched = now * share_watched
    found = part_in_place(law, law, now, unfailed_for=watched)
    assert found.chance_first == pytest.approx(np.exp(-(now - watched) / 2), rel=1e-8, abs=1e-9)
    ages = watched + np.array([0.0, 0.2, 0.7, 0.999]) * (now - watched)
    inside = np.exp(-(ages - watched) / 2) if share_watched < 1 else np.zeros(4)
    np.testing.assert_allclose(found.older_than(ages), inside, atol=1e-9)
    assert found.older_than([now]).tolist() == [0.0]
    mean = watched + 2 * (1 - np.exp(-(now - watched) / 2))
    assert found.mean_age == pytest.approx(mean, abs=1e-8)
    further = np.array([0.0, 0.5, 4.0])
    np.testing.assert_allclose(found.lasting(further), np.exp(-further / 2), atol=1e-9)
    assert found.median == pytest.approx(2 * np.log(2), rel=1e-8)
    assert found.mean.value == pytest.approx(2.0, rel=1e-8)
    assert found.mean_within(3.0) == pytest.approx(2 * (1 - np.exp(-1.5)), rel=1e-8)


def test_part_of_two_stages_equals_the_closed_forms() -> None:
    # An even number of stages passed: the part is in its first stage; odd: in its second.
    rate, now, watched = 2.0, 1.7, 0.6
    law = StagesLaw(2, rate)
    for unfailed_for in (0.0, watched):
        seen = now - unfailed_for
        even = (1 + np.exp(-2 * rate * seen)) / 2

        def still(run: float, even: float = even) -> float:
            return float((even * (1 + rate * run) + 1 - even) * np.exp(-rate * run))

        def still_from(age: float, more: float, seen: float = seen) -> float:
            early = (1 + np.exp(-2 * rate * (seen - age))) / 2
            run = age + more
            return float((early * (1 + rate * run) + 1 - early) * np.exp(-rate * run))

        found = part_in_place(law, law, now, unfailed_for=unfailed_for)
        weight = still(unfailed_for)
        alone = (1 + rate * now) * np.exp(-rate * now) / weight
        assert found.chance_first == pytest.approx(alone, abs=1e-9)
        for further in (0.0, 0.1, 0.9, 3.0):
            assert float(found.lasting(further)) == pytest.approx(
                still(unfailed_for + further) / weight, abs=1e-9
            )
        for age in (0.0, 0.01, 0.4, 0.99 * seen):
            wanted = still_from(age, unfailed_for) / weight
            assert float(found.older_than(unfailed_for + age)) == pytest.approx(wanted, abs=1e-9)


SHAPES = (0.5, 0.7, 1.0, 1.5, 2.0, 3.0, 5.0)


@pytest.mark.parametrize("shape", SHAPES)
def test_mean_left_obeys_walds_equation(shape: float) -> None:
    # The failure after `now` is the (N + 1)-th: mean lives times expected failures, less now.
    first, later = WeibullLaw(2.5, 1.7), WeibullLaw(shape, 1.0)
    table = renewal_table(first, later, [2.3])
    mean = 1.7 * gamma(1.4) + gamma(1 + 1 / shape) * float(table.expected[0]) - 2.3
    found = part_in_place(first, later, 2.3).mean
    assert found.status is Status.OK
    assert found.value == pytest.approx(mean, rel=1e-7)


@pytest.mark.parametrize("shape", [1.5, 3.0, 5.0])
def test_after_many_lives_age_and_life_left_have_one_law(shape: float) -> None:
    # Both have density survival / mean life (Cox, Renewal Theory, 1962, chapter 5; memory).
    from scipy.special import gammainc

    law = WeibullLaw(shape, 1.0)
    found = part_in_place(law, law, 40.0)
    at = np.array([0.05, 0.4, 0.9, 1.2])
    settled = 1 - gammainc(1 / shape, at**shape)
    np.testing.assert_allclose(found.older_than(at), settled, atol=1e-8)
    np.testing.assert_allclose(found.lasting(at), settled, atol=1e-8)
    np.testing.assert_allclose(
        found.age_density(at), law.survival(at) / gamma(1 + 1 / shape), atol=1e-7
    )


@settings(max_examples=12)
@given(
    st.floats(0.5, 5.0),
    st.floats(0.5, 5.0),
    st.floats(0.05, 5.0),
    st.floats(0.0, 1.0),
    st.floats(0.0, 1.0),
)
def test_ages_and_distances_form_laws(
    first_shape: float, shape: float, now: float, watched: float, age: float
) -> None:
    first, later = WeibullLaw(first_shape, 2.0), WeibullLaw(shape, 1.0)
    found = part_in_place(first, later, now, unfailed_for=watched * now, first_age=age)
    assert found.chance_first + found.chance_replaced == pytest.approx(1.0)
    ages = np.linspace(0.0, found.first_age, 15)
    older = found.older_than(ages)
    assert np.all(np.diff(older) <= 1e-8)
    assert older[-1] == 0.0
    # Area under the chance of being older.
    fine = np.linspace(0.0, found.first_age, 400)
    area = float(np.trapezoid(found.older_than(fine), fine))
    atom = found.chance_first * (fine[1] - fine[0]) / 2  # the jump falls between two points
    assert found.mean_age == pytest.approx(area + atom, abs=0.02 * found.first_age)
    for share in (0.1, 0.5, 0.9):
        quantile = found.age_quantile(share)
        if share < found.chance_replaced:
            assert 1 - float(found.older_than(quantile)) == pytest.approx(share, abs=1e-6)
        else:
            assert quantile == found.first_age
        assert float(found.lasting(found.quantile(share))) == pytest.approx(1 - share, abs=1e-7)
    # Watching on without a failure: the law of what is left is conditioned, no more.
    on = part_in_place(first, later, now + 0.3, unfailed_for=watched * now + 0.3, first_age=age)
    kept = float(found.lasting(0.3))
    if kept > 1e-3:
        assert float(on.lasting(0.5)) == pytest.approx(float(found.lasting(0.8)) / kept, abs=1e-6)
        assert on.chance_first == pytest.approx(
            found.chance_first * float(LifeLeft(first, found.first_age).lasting(0.3)) / kept,
            abs=1e-6,
        )


def test_part_watched_from_the_start_is_the_first() -> None:
    first, later = WeibullLaw(2.5, 3.0), WeibullLaw(1.2, 1.0)
    for now, watched in ((0.0, 0.0), (1.4, 1.4)):
        found = part_in_place(first, later, now, unfailed_for=watched, first_age=0.6)
        known = LifeLeft(first, 0.6 + now)
        assert found.chance_first == 1.0
        assert found.mean_age == found.age_quantile(0.01) == pytest.approx(0.6 + now)
        np.testing.assert_allclose(found.lasting([0.2, 2.0]), known.lasting([0.2, 2.0]))
        assert found.median == pytest.approx(known.median, rel=1e-9)


def test_figures_equal_simulated_histories() -> None:
    first, later = WeibullLaw(2.5, 1.5), WeibullLaw(0.7, 1.0)
    rng = np.random.default_rng(5)
    n, now, watched = 1_000_000, 2.0, 0.3
    left = 1.5 * (0.4**2.5 / 1.5**2.5 + rng.exponential(size=n)) ** (1 / 2.5) - 0.4
    fitted, failing, is_first = np.full(n, -0.4), left, np.ones(n, bool)
    while np.any(due := failing <= now - watched):
        fitted, is_first = np.where(due, failing, fitted), is_first & ~due
        failing = np.where(due, failing + rng.weibull(0.7, size=n), failing)
    kept = failing > now
    ages, further = now - fitted[kept], failing[kept] - now
    found = part_in_place(first, later, now, unfailed_for=watched, first_age=0.4)
    slack = 4 * 0.5 / np.sqrt(kept.sum())
    assert found.chance_first == pytest.approx(float(is_first[kept].mean()), abs=slack)
    assert found.mean_age == pytest.approx(
        float(ages.mean()), abs=4 * float(ages.std()) / np.sqrt(kept.sum())
    )
    for at in (0.35, 0.6, 1.5):
        assert float(found.older_than(at)) == pytest.approx(float((ages > at).mean()), abs=slack)
    for at in (0.05, 0.5, 2.0):
        assert float(found.lasting(at)) == pytest.approx(float((further > at).mean()), abs=slack)
    assert found.mean_within(1.0) == pytest.approx(
        float(np.minimum(further, 1.0).mean()), abs=slack
    )


def test_age_density_integrates_to_the_chance_of_a_later_part() -> None:
    law = WeibullLaw(0.7, 1.0)
    found = part_in_place(law, law, 3.0, unfailed_for=0.5)
    nodes, weights = np.polynomial.legendre.leggauss(60)
    # Dense at the far end, where the first part's early failures make the density steep.
    root = 0.5 + 0.5 * nodes
    ages = 3.0 - 2.5 * root**3
    mass = 0.5 * weights * 2.5 * 3 * root**2
    assert float(mass @ found.age_density(ages)) == pytest.approx(found.chance_replaced, abs=1e-6)


@pytest.mark.parametrize(
    ("now", "watched", "age", "words"),
    [
        (-1.0, 0.0, 0.0, "now must be"),
        (1.0, -0.1, 0.0, "unfailed_for must be"),
        (1.0, 1.1, 0.0, "unfailed_for must not exceed now"),
        (1.0, 0.0, float("nan"), "first_age"),
    ],
)
def test_refuses_what_has_no_answer(now: float, watched: float, age: float, words: str) -> None:
    law = WeibullLaw(2.0, 1.0)
    part_in_place(law, law, 1.0, unfailed_for=1.0, first_age=0.0)
    with pytest.raises(ValueError, match=words):
        part_in_place(law, law, now, unfailed_for=watched, first_age=age)


def test_refuses_a_stretch_that_the_laws_rule_out() -> None:
    law = WeibullLaw(2.0, 1.0)
    # Survival to 3.7 is 1.1e-6, to 3.8 it is 5e-7.
    assert part_in_place(law, law, 3.7, unfailed_for=3.7).chance_first == 1.0
    with pytest.raises(ValueError, match="likelier than 1e-06"):
        part_in_place(law, law, 3.8, unfailed_for=3.8)


def test_refuses_questions_outside_the_law() -> None:
    law = WeibullLaw(2.0, 1.0)
    found = part_in_place(law, law, 1.0)
    for share in (0.0, 1.0):
        with pytest.raises(ValueError, match="between 0 and 1"):
            found.age_quantile(share)
        with pytest.raises(ValueError, match="between 0 and 1"):
            found.quantile(share)
    with pytest.raises(ValueError, match="later part's age lies between"):
        found.age_density([1.0])
    with pytest.raises(ValueError, match="ages must be"):
        found.older_than([-1.0])
    with pytest.raises(ValueError, match="further must be"):
        found.lasting([-1.0])
    with pytest.raises(ValueError, match="horizon"):
        found.mean_within(0.0)
