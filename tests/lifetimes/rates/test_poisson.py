"""Exact limits of a rate: printed values, and the definition they must meet."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import pdtr, pdtrc

from garage.lifetimes.rates.poisson import poisson_rate
from garage.lifetimes.status import Status


def test_limits_of_four_events_as_printed() -> None:
    # Exact limits of a Poisson count (Garwood 1936), as printed for four events.
    found = poisson_rate(4, 1.0)
    assert (found.lower, found.upper) == pytest.approx((1.089865, 10.241589), abs=6e-7)


def test_limits_equal_the_check_values(check_case: Callable[[str], Any]) -> None:
    case = check_case("EX-01")
    found = [poisson_rate(count, 1.0) for count in case.data["counts"]]
    case.holds("95% lower", [each.lower for each in found])
    case.holds("95% upper", [each.upper for each in found])
    strict = [poisson_rate(count, 1.0, level=0.998) for count in (0, 1, 5, 10, 20, 50)]
    case.holds("99.8% limits of 0, 1, 5, 10, 20, 50: lower", [each.lower for each in strict])
    case.holds("99.8% upper", [each.upper for each in strict])
    in_400 = poisson_rate(15, 400.0)
    np.testing.assert_allclose(
        [in_400.lower, in_400.upper], case.expected("15 events in 400"), rtol=1e-10
    )
    four = poisson_rate(4, 1.0)
    case.holds("4 events", [four.lower, four.upper])
    rare = poisson_rate(1, 150.0)
    assert rare.lower is not None
    assert rare.upper is not None
    case.holds("1 event in 150, per 100000", [1e5 * rare.lower, 1e5 * rare.upper])


@given(st.integers(1, 500), st.floats(0.5, 0.999), st.floats(0.01, 1e6))
def test_limits_leave_half_the_rest_on_either_side(
    failed: int, level: float, exposure: float
) -> None:
    found = poisson_rate(failed, exposure, level=level)
    assert found.lower is not None
    assert found.upper is not None
    tail = (1.0 - level) / 2.0
    assert pdtrc(failed - 1, found.lower * exposure) == pytest.approx(tail, rel=1e-6)
    assert pdtr(failed, found.upper * exposure) == pytest.approx(tail, rel=1e-6)


def test_no_event_and_no_exposure_say_so() -> None:
    none = poisson_rate(0, 2.0)
    assert (none.value, none.lower, none.status) == (0.0, 0.0, Status.NO_FAILURES)
    assert none.upper == pytest.approx(-np.log(0.025) / 2.0)
    unwatched = poisson_rate(0, 0.0)
    assert (unwatched.value, unwatched.upper, unwatched.status) == (None, None, Status.NO_LIVES)


def test_refuses_bad_counts_and_levels() -> None:
    poisson_rate(1, 1.0)
    with pytest.raises(ValueError, match="at least 0"):
        poisson_rate(-1, 1.0)
    with pytest.raises(ValueError, match="at least 0"):
        poisson_rate(1, float("nan"))
    with pytest.raises(ValueError, match="level"):
        poisson_rate(1, 1.0, level=1.0)
