"""Expected failures: printed and closed values, a power series in many digits, bounds."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq
from scipy.special import gamma

from garage.lifetimes.laws.law import HazardLaw
from garage.lifetimes.laws.loglogistic import LogLogisticLaw
from garage.lifetimes.laws.lognormal import LognormalLaw
from garage.lifetimes.laws.weibull import WeibullLaw
from garage.lifetimes.renewal.sequence import PartSequence, renewals
from garage.lifetimes.renewal.table import renewal_table
from tests.lifetimes.renewal.phases import StagesLaw
from tests.lifetimes.renewal.series import weibull_series

SHAPES = (0.5, 0.7, 1.0, 1.5, 2.0, 3.0, 5.0)


def expected(law: HazardLaw, distances: Any) -> Any:
    return renewal_table(law, law, distances).expected


@pytest.mark.parametrize(
    ("spread", "printed"),
    [
        (
            0.25,
            (
                "0.1 0.0061, 0.2 0.0261, 0.4 0.1087, 0.6 0.2422, 0.8 0.4141, 1.0 0.6091, "
                "1.2 0.8143, 1.5 1.124, 2.0 1.627, 2.5 2.125"
            ),
        ),
        (
            2.0,
            (
                "0.2 0.3841, 0.5 0.7785, 1.0 1.357, 1.5 1.901, 2.0 2.428, 2.5 2.947, 3.0 3.460, "
                "3.5 3.969, 5.0 5.485, 7.5 7.995"
            ),
        ),
    ],
)
def test_printed_table_of_weibull_laws(spread: float, printed: str) -> None:
    # Tijms, A First Course in Stochastic Models, 2003, table 8.1.1, page 312: laws of mean 1 and
    # squared coefficient of variation 0.25 (wear) and 2 (early failures).
    shape = brentq(lambda k: gamma(1 + 2 / k) / gamma(1 + 1 / k) ** 2 - 1 - spread, 0.3, 5.0)
    law = WeibullLaw(shape, 1 / gamma(1 + 1 / shape))
    pairs = [each.split() for each in printed.split(", ")]
    found = expected(law, [float(at) for at, _ in pairs])
    for (at, wanted), each in zip(pairs, found, strict=True):
        # Half a unit of the last printed place and a little, for the table's grid is coarse.
        digits = len(wanted.split(".")[1])
        assert each == pytest.approx(float(wanted), abs=0.6 * 10.0**-digits), at


def test_weibull_case(check_case: Callable[[str], Any]) -> None:
    case = check_case("RN-01")
    law = WeibullLaw(case.data["shape"], case.data["eta"])
    # Tighter than the case asks.
    np.testing.assert_allclose(
        expected(law, case.data["t"]), case.expected("M(t)"), rtol=0, atol=1e-10
    )


def test_closed_forms_case(check_case: Callable[[str], Any]) -> None:
    case = check_case("RN-03")
    laws: dict[str, HazardLaw] = {
        "exponential(1): M(t) = t": WeibullLaw(1.0, 1.0),
        "Erlang-2: t - (1 - exp(-4t))/4": StagesLaw(2, 2.0),
        "Erlang-3: sum of gamma cdfs": StagesLaw(3, 3.0),
    }
    for name, law in laws.items():
        case.holds(name, expected(law, case.data["t"]))


@pytest.mark.parametrize("shape", SHAPES)
def test_expected_failures_equal_the_power_series(shape: float) -> None:
    # Second way, in 120 digits.
    distances = ["0.001", "0.05", "0.3", "0.8", "1.3", "1.9", "2.4"]
    found = expected(WeibullLaw(shape, 1.0), [float(each) for each in distances])
    np.testing.assert_allclose(found, weibull_series(str(shape), distances), rtol=0, atol=1e-8)


def lived(law: HazardLaw, age: float, p: float) -> float:
    """Further distance within which a share p fails, by the law's own quantile."""
    reached = np.exp(-float(law.cumulative_hazard(age)))
    return float(law.quantile(1 - reached * (1 - p))) - age


def one_failure_and_those_after(sequence: PartSequence, at: float) -> float:
    """F1 + integral of M0 dF1, M0 of the later law alone, over the chance of the first failure."""
    from scipy.integrate import quad  # reference program; slow to import

    first, age = sequence.first, sequence.first_age
    share = float(sequence.first_chance(at))
    after = renewals(PartSequence(sequence.later, sequence.later), at)

    def failures(p: float) -> float:
        left = np.array([max(at - lived(first, age, p), 0.0)])
        return float(after.expected_at(left)[0])

    more, _ = quad(failures, 0.0, share, epsabs=1e-9, epsrel=1e-9, limit=200)
    return share + more


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("reach", [6.0, 40.0])
def test_expected_failures_obey_the_renewal_equation(shape: float, reach: float) -> None:
    # Second way: SciPy's adaptive quadrature of the equation that they have to solve.
    law = WeibullLaw(shape, 1.0)
    second = one_failure_and_those_after(PartSequence(law, law), reach)
    assert expected(law, [reach])[0] == pytest.approx(second, abs=1e-7)


@pytest.mark.parametrize("reach", [0.5, 6.0, 40.0])
@pytest.mark.parametrize(
    "law",
    [
        *(LognormalLaw(1.0, sigma) for sigma in (0.2, 0.5, 1.0, 2.0)),
        *(LogLogisticLaw(1.0, shape) for shape in (0.7, 1.5, 3.0, 8.0)),
    ],
    ids=str,
)
def test_other_laws_obey_the_renewal_equation(law: HazardLaw, reach: float) -> None:
    second = one_failure_and_those_after(PartSequence(law, law), reach)
    assert expected(law, [reach])[0] == pytest.approx(second, abs=1e-7)


@pytest.mark.parametrize("shape", SHAPES)
def test_failures_after_a_worn_first_part_are_those_of_new_ones(shape: float) -> None:
    first, later = WeibullLaw(2.5, 1.7), WeibullLaw(shape, 1.0)
    for age in (0.0, 0.4):
        second = one_failure_and_those_after(PartSequence(first, later, age), 5.0)
        found = renewal_table(first, later, [5.0], first_age=age).expected[0]
        assert found == pytest.approx(second, abs=1e-7)


@pytest.mark.parametrize("shape", SHAPES)
def test_density_is_the_slope_of_the_expected_failures(shape: float) -> None:
    law = WeibullLaw(shape, 1.0)
    at = np.array([0.01, 0.2, 0.9, 1.0, 1.1, 3.0, 7.9])
    step = 1e-3 * at
    found = renewal_table(law, law, np.concatenate([at, at - step, at + step]))
    slope = (found.expected[14:] - found.expected[7:14]) / (2 * step)
    np.testing.assert_allclose(found.density[:7], slope, rtol=2e-4)


def test_density_of_pure_chance_is_its_rate() -> None:
    law = WeibullLaw(1.0, 4.0)
    found = renewal_table(law, law, [1e-6, 0.1, 3.0, 30.0])
    np.testing.assert_allclose(found.density, 0.25, rtol=1e-9)


def test_density_near_zero_is_that_of_the_first_part() -> None:
    law = WeibullLaw(0.5, 1.0)
    near = 1e-8
    found = renewal_table(law, law, [near, 1.0])
    first = float(law.hazard(near) * law.survival(near))
    # The second failure adds about the square of the chance of the first.
    assert found.density[0] == pytest.approx(first, rel=1e-3)
    assert found.expected[0] == pytest.approx(float(-np.expm1(-law.cumulative_hazard(near))), 1e-3)


@pytest.mark.parametrize("shape", [1.5, 2.0, 3.0, 5.0])
def test_far_out_failures_follow_the_straight_line(shape: float) -> None:
    # M(t) - t / mean tends to (squared coefficient of variation - 1) / 2 (Cox, 1962; memory).
    mean, square = gamma(1 + 1 / shape), gamma(1 + 2 / shape)
    found = renewal_table(WeibullLaw(shape, 1.0), WeibullLaw(shape, 1.0), [60.0])
    line = 60.0 / mean + (square / mean**2 - 2) / 2
    assert found.expected[0] == pytest.approx(line, abs=1e-9)
    assert found.density[0] == pytest.approx(1 / mean, rel=1e-9)


def test_replaced_parts_of_another_law_equal_closed_forms() -> None:
    # First part of one stage, later ones of two, all of rate 2. The renewals are the odd stages:
    # half the stages, and half the chance that an odd number has passed.
    first, later = StagesLaw(1, 2.0), StagesLaw(2, 2.0)
    at = np.array([0.1, 1.0, 5.0])
    found = renewal_table(first, later, at).expected
    np.testing.assert_allclose(found, at + (1 - np.exp(-4 * at)) / 4, atol=1e-10)


@settings(max_examples=40)
@given(st.floats(0.5, 5.0), st.floats(0.5, 5.0), st.floats(0.1, 12.0), st.floats(1e-3, 1e6))
def test_bounds_hold_and_units_do_not_matter(
    first_shape: float, shape: float, reach: float, unit: float
) -> None:
    law = WeibullLaw(shape, unit)
    at = np.linspace(reach / 50, reach, 50)
    found = renewal_table(law, law, at * unit).expected
    mean, square = gamma(1 + 1 / shape), gamma(1 + 2 / shape)
    failed = -np.expm1(-(at**shape))
    assert np.all(np.diff(found) > 0)
    # At least those that failed, at most those that a geometric count allows; Wald's equation;
    # Lorden's bound (Annals of Mathematical Statistics 41, 1970; from memory).
    assert np.all(found >= failed - 1e-9)
    survived = np.exp(-(at**shape))
    assert np.all(found * survived <= failed + 1e-9)
    assert np.all(found >= at / mean - 1 - 1e-9)
    assert np.all(found <= at / mean + square / mean**2 - 1 + 1e-9)
    # Wear replaces less often than its mean life says, early failures more often.
    side = np.sign(1 - shape)
    assert np.all(side * (found - at / mean) >= -1e-9)
    other = WeibullLaw(first_shape, 0.9)
    plain = renewal_table(other, WeibullLaw(shape, 1.0), at, first_age=0.2)
    scaled = renewal_table(
        WeibullLaw(first_shape, 0.9 * unit), law, at * unit, first_age=0.2 * unit
    )
    np.testing.assert_allclose(scaled.expected, plain.expected, rtol=1e-9, atol=1e-12)
    np.testing.assert_allclose(scaled.density * unit, plain.density, rtol=1e-6, atol=1e-9)


def test_table_of_no_distances_is_empty() -> None:
    law = WeibullLaw(2.0, 1.0)
    assert renewal_table(law, law, []).expected.shape == (0,)


@pytest.mark.parametrize(
    ("distances", "age", "words"),
    [
        ([1.0, 0.0], 0.0, "distances must be finite and above 0; got 0.0"),
        ([1.0, -1.0], 0.0, "distances must be finite and above 0"),
        ([float("inf")], 0.0, "distances"),
        ([1.0], -1.0, "first_age"),
    ],
)
def test_refuses_what_has_no_answer(distances: list[float], age: float, words: str) -> None:
    law = WeibullLaw(2.0, 1.0)
    renewal_table(law, law, [1.0], first_age=0.0)
    with pytest.raises(ValueError, match=words):
        renewal_table(law, law, distances, first_age=age)


def test_too_many_lives_are_refused() -> None:
    law = WeibullLaw(5.0, 1.0)
    with pytest.raises(ArithmeticError, match="shorter distance"):
        renewal_table(law, law, [10_000.0])
