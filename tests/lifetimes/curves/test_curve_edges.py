"""Ends of curves and their limits: what a curve says where the formula has no value."""

import math

import pytest

from garage.lifetimes.curves.cumulative_incidence import cumulative_incidence
from garage.lifetimes.curves.mean_cumulative import mean_cumulative
from garage.lifetimes.curves.nelson_aalen import nelson_aalen
from garage.lifetimes.curves.product_limit import product_limit
from garage.lifetimes.curves.recurrent_events import RecurrentEvents
from garage.lifetimes.status import Status
from tests.lifetimes.conftest import table_of

REACH = 1.959963984540054


def test_upper_limit_and_error_at_zero_repeat_their_last_values() -> None:
    curve = product_limit(table_of([2, 4, 6], [1, 1, 1]))
    assert curve.survival.tolist() == pytest.approx([2 / 3, 1 / 3, 0])
    assert curve.lower[2] == 0
    assert curve.upper[2] == curve.upper[1] < curve.upper[0]
    assert curve.standard_error[2] == curve.standard_error[1]


def test_curve_that_falls_to_zero_at_once_has_all_of_0_to_1_as_limits() -> None:
    curve = product_limit(table_of([5, 5], [1, 1]))
    assert (curve.survival[0], curve.lower[0], curve.upper[0]) == (0, 0, 1)
    assert curve.standard_error[0] == 0


def test_restricted_mean_is_never_above_the_distance_there_was_to_go() -> None:
    exits, failed = [40, 48, *[60] * 20], [0, 1, *[0] * 20]
    curve = product_limit(table_of(exits, failed), given_survival_to=37)
    mean = curve.restricted_mean(50)
    assert mean.value is not None
    assert mean.value < 13
    assert mean.upper == 13


def test_lives_that_enter_where_the_curve_starts_are_counted() -> None:
    # At 30: one leaves, two enter, one goes on. Three have reached 30 and are watched after it.
    curve = product_limit(
        table_of([30, 50, 40, 60], [0, 1, 1, 0], [0, 0, 30, 30]), given_survival_to=30
    )
    assert curve.n == 3
    assert curve.survival.tolist() == pytest.approx([2 / 3, 1 / 3])


def test_reason_names_the_last_thin_place() -> None:
    exits = [5, 20, 25, *[100] * 40]
    curve = product_limit(table_of(exits, [1, 1, 0, *[0] * 40], [0, 8, 0, *[50] * 40]))
    assert (curve.status, curve.reliable_to, curve.reliable_from) == (Status.SMALL_RISK_SET, 5, 25)
    assert curve.reason.endswith("reached 25 steps")


def test_one_by_one_ties_have_their_own_variance() -> None:
    # Six subjects: 1/6 ** 2, then 1/4 ** 2 + 1/3 ** 2 for the two tied, then 1.
    curve = nelson_aalen(
        table_of([1, 1, 6, 6, 8, 9], [1, 0, 1, 1, 0, 1]), ties="fleming-harrington"
    )
    first, second = 1 / 36, 1 / 36 + 1 / 16 + 1 / 9
    assert curve.variance.tolist() == pytest.approx([first, second, second + 1])


def test_incidence_limits_are_symmetric_in_log_minus_log() -> None:
    curves = cumulative_incidence(table_of([3, 5, 5, 7, 8, 9], [1, 2, 1, 1, 0, 0], causes=2))
    share, error = curves.incidence[0, 1], curves.standard_error[0, 1]
    width = REACH * error / (share * -math.log(share))
    centre = math.log(-math.log(share))
    assert curves.lower[0, 1] == pytest.approx(math.exp(-math.exp(centre + width)))
    assert curves.upper[0, 1] == pytest.approx(math.exp(-math.exp(centre - width)))


def test_incidence_beyond_the_last_end_of_all_is_known() -> None:
    curves = cumulative_incidence(table_of([3, 5, 7], [1, 2, 1], causes=2))
    beyond = curves.at("cause 1", 50)
    assert beyond.value == pytest.approx(2 / 3)
    assert curves.mean_time(50).free == pytest.approx(5)


def test_incidence_of_one_cause_that_took_all_has_no_lower_limit() -> None:
    curves = cumulative_incidence(table_of([3, 3, 5], [1, 1, 1], causes=2))
    assert curves.incidence[0, -1] == pytest.approx(1)
    assert (curves.lower[0, -1], curves.upper[0, -1]) == (0, 1)


def test_mean_cumulative_starts_in_order_however_few_are_watched() -> None:
    events = RecurrentEvents(range(3), [0] * 3, [9] * 3, [0, 1], [4, 6], "months")
    curve = mean_cumulative(events, smallest_risk_set=10)
    start, later = curve.at(0), curve.at(4)
    assert (start.value, start.status, start.reason) == (0.0, Status.OK, "")
    assert (later.value, later.status) == (pytest.approx(1 / 3), Status.SMALL_RISK_SET)
