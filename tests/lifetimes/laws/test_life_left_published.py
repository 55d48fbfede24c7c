"""Life left as three documents print it: two Weibull examples and a life table."""

import numpy as np
import pytest

from garage.lifetimes.curves.product_limit import SurvivalCurve, product_limit
from garage.lifetimes.laws.life_left import LifeLeft
from garage.lifetimes.laws.life_left_curve import life_left_of_curve
from garage.lifetimes.laws.weibull import WeibullLaw
from tests.lifetimes.conftest import table_of


def test_component_that_reached_800_equals_the_printed_chance() -> None:
    # Zaiontz, real-statistics.com, "Survivability and the Weibull distribution", example 1: of
    # components of shape 2.2 and scale 1120 that reach 800, 0.111725 / 0.620643 = 18 % reach 1600.
    law = WeibullLaw(shape=2.2, scale=1120.0)
    new, used = LifeLeft(law, 0.0), LifeLeft(law, 800.0)
    assert new.lasting([800, 1600]) == pytest.approx([0.620643, 0.111725], abs=6e-7)
    assert float(used.lasting(800)) == pytest.approx(0.111725 / 0.620643, abs=2e-6)
    assert new.quantile(0.4) == pytest.approx(825.31, abs=6e-3)
    assert new.mean.value == pytest.approx(991.9, abs=0.06)


def test_winding_of_six_and_a_half_years_equals_the_printed_mean() -> None:
    # Nelson, Applied Life Data Analysis, 1982, pages 69-70 (quoted second-hand): windings of shape
    # 2 and scale 13 years that are 6.5 years old last 7.1 years more on average.
    assert LifeLeft(WeibullLaw(2.0, 13.0), 6.5).mean.value == pytest.approx(7.1, abs=0.05)


# Odense Monographs on Population Aging 3 (demogr.mpg.de/papers/books/monograph3), annex table 3,
# thirteen countries, 1970-1980: deaths and life expectancies at ages 80 to 89 of a life table that
# begins with 1 at 80, the share that reaches 90 and what it can expect there.
MEN_DYING = [0.1113, 0.1071, 0.1025, 0.0966, 0.0899, 0.0822, 0.0740, 0.0655, 0.0566, 0.0480]
MEN_LEFT = 0.1664
MEN_EXPECTED = [5.7487, 5.4063, 5.0783, 4.7695, 4.4775, 4.2033, 3.9447, 3.7021, 3.4764, 3.2618]
MEN_EXPECTED_AT_90 = 3.0588
WOMEN_DYING = [0.0777, 0.0799, 0.0813, 0.0819, 0.0811, 0.0784, 0.0752, 0.0703, 0.0646, 0.0586]
WOMEN_LEFT = 0.2511
WOMEN_EXPECTED = [6.9568, 6.5006, 6.0697, 5.6647, 5.2876, 4.9366, 4.6063, 4.3007, 4.0144, 3.7479]
WOMEN_EXPECTED_AT_90 = 3.5054


def life_table(dying: list[float], left: float) -> SurvivalCurve:
    """Ten thousand lives on a clock of half years: who dies at an age dies in its middle."""
    lives = np.rint(np.array([*dying, left]) * 10_000).astype(np.int64)
    exit_ = np.array([2 * age + 1 for age in range(len(dying))] + [2 * len(dying)])
    return product_limit(table_of(exit_, [1] * len(dying) + [0], weight=lives))


@pytest.mark.parametrize(
    ("dying", "left", "expected", "at_90"),
    [
        (MEN_DYING, MEN_LEFT, MEN_EXPECTED, MEN_EXPECTED_AT_90),
        (WOMEN_DYING, WOMEN_LEFT, WOMEN_EXPECTED, WOMEN_EXPECTED_AT_90),
    ],
)
def test_years_left_before_90_equal_a_printed_life_table(
    dying: list[float], left: float, expected: list[float], at_90: float
) -> None:
    # Years left before 90 are the life expectancy less what those who reach 90 have from there.
    curve = life_table(dying, left)
    reached = 1 - np.concatenate([[0.0], np.cumsum(dying)[:-1]])
    for age, years in enumerate(expected):
        within = life_left_of_curve(curve, 2 * age).mean_within(2 * (10 - age))
        wanted = years - left / reached[age] * at_90
        assert within.value is not None
        # Four digits printed: what ten roundings make of it where a fifth is left.
        assert within.value / 2 == pytest.approx(wanted, abs=1.5e-3)
        assert within.n == pytest.approx(reached[age] * 10_000, abs=2)
