"""The step-down rule, against a reference program, a printed example and its own promise."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from garage.lifetimes.comparison.false_discovery import benjamini_hochberg
from garage.lifetimes.comparison.holm import holm

unit_interval = st.floats(min_value=0.0, max_value=1.0, allow_subnormal=False)
many = st.lists(unit_interval, min_size=1, max_size=60)


def test_rejects_the_three_of_a_published_example() -> None:
    # The fifteen p-values of Benjamini and Hochberg (1995), section 3.2, which says that a rule
    # for the whole family, Bonferroni's, rejects three at 5 %; typed from memory. Holm's rule
    # rejects the same three: 0.0095 is above 0.05 / 12.
    p = [
        *(0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344),
        *(0.0459, 0.3240, 0.4262, 0.5719, 0.6528, 0.7590, 1.0000),
    ]
    result = holm(p)
    assert result.rejected.tolist() == [True] * 3 + [False] * 12
    assert (result.threshold, result.rejected_count, result.n) == (0.0019, 3, 15)


def test_rejects_the_two_of_an_example_of_four() -> None:
    # The usual textbook example, from memory: 0.01, 0.04, 0.03, 0.005 at 5 %; 0.005 is held
    # against 0.0125 and 0.01 against 0.0167, then 0.03 fails against 0.025 and ends it.
    result = holm([0.01, 0.04, 0.03, 0.005])
    assert result.rejected.tolist() == [True, False, False, True]
    np.testing.assert_allclose(result.adjusted, [0.03, 0.06, 0.06, 0.02], atol=1e-15)


def test_adjusted_values_with_ties_equal_the_reference_program() -> None:
    # R 4.2.2: p.adjust(c(0.02, 0.001, 0.3, 0.02, 0.9, 0.0004, 0.3, 0.011), "holm")
    result = holm([0.02, 0.001, 0.3, 0.02, 0.9, 0.0004, 0.3, 0.011])
    wanted = [0.1, 0.007, 0.9, 0.1, 0.9, 0.0032, 0.9, 0.066]
    np.testing.assert_allclose(result.adjusted, wanted, atol=1e-14)


@given(many, st.floats(0.01, 0.5))
def test_rejects_as_the_rule_is_worded(p: list[float], level: float) -> None:
    # A second implementation: go down from the smallest until the first that is too large.
    n, believed = len(p), set()
    for place, index in enumerate(sorted(range(n), key=lambda each: p[each])):
        if p[index] * (n - place) > level:
            break
        believed.add(index)
    # Equal p-values share one fate, whichever of them the sorting took first.
    fates = {p[index] for index in believed}
    assert holm(p, level=level).rejected.tolist() == [each in fates for each in p]


@given(many)
def test_adjusted_lie_between_the_plain_and_the_family_times_them(p: list[float]) -> None:
    adjusted = holm(p).adjusted
    assert np.all(adjusted >= np.asarray(p))
    assert np.all(adjusted <= np.minimum(1.0, len(p) * np.asarray(p).max()))
    assert np.all(adjusted >= benjamini_hochberg(p).adjusted - 1e-15)


@given(many, st.randoms())
def test_order_does_not_matter(p: list[float], random: object) -> None:
    shuffled = list(p)
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    assert sorted(holm(p).adjusted) == sorted(holm(shuffled).adjusted)


def test_any_false_one_is_as_rare_as_promised() -> None:
    rng = np.random.default_rng(19_790_601)
    wrong = 0
    for _ in range(2_000):
        p = np.concatenate([rng.uniform(size=12), rng.uniform(size=3) * 1e-5])
        wrong += bool(holm(p, level=0.1).rejected[:12].any())
    # 12 true ones among 15, the three false ones always found: 1 - (1 - 0.1 / 12)^12 = 0.096;
    # three binomial standard errors are 0.020.
    assert 0.076 < wrong / 2_000 < 0.116
