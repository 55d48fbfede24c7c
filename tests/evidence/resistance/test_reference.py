"""Reference ranges of a family."""

import numpy as np
import pytest

from garage.evidence.resistance.reference import ReferenceStatus, common_practice, family_reference
from garage.evidence.thresholds import Basis


def drawn(vehicles: int) -> list[float]:
    return np.random.default_rng(3).lognormal(-3.0, 0.3, vehicles).tolist()


def test_reference_counts_a_vehicle_once() -> None:
    """Fails where a vehicle with a thousand readings moves the family."""
    values = drawn(30)
    plain = family_reference(values, list(range(30)))
    more = family_reference(values + [values[0]] * 1000, list(range(30)) + [0] * 1000)
    assert more.quantiles == plain.quantiles
    assert (more.n, more.readings) == (30, 1030)


def test_reference_takes_the_median_of_a_vehicle() -> None:
    """Fails where one slip of a vehicle counts: 0.04, 0.05 and 5.0 are 0.05."""
    others = [0.05] * 10
    found = family_reference([0.04, 0.05, 5.0, *others], ["a", "a", "a", *map(str, range(10))])
    assert found.at(0.5).value == pytest.approx(0.05)


def test_reference_of_few_vehicles_is_common_practice_and_says_so() -> None:
    """Nine with many readings are nine. Fails where readings count as vehicles."""
    found = family_reference(drawn(9) * 5, list(range(9)) * 5)
    assert found.status is ReferenceStatus.COMMON_PRACTICE
    assert found.basis is Basis.PRACTICE
    assert "9 vehicles" in found.reason
    assert found.at(0.5).value is None
    assert found.at(0.95).value == pytest.approx(30.0 / 256.0)


def test_reference_of_ten_vehicles_has_a_median_with_limits_and_no_tails() -> None:
    """Ranks 2 and 9. Fails where a 95 % quantile comes out of ten."""
    values = [float(each) for each in range(1, 11)]
    found = family_reference(values, list(range(10)))
    middle = found.at(0.5)
    assert (middle.value, middle.low, middle.high) == (5.5, 2.0, 9.0)
    tail = found.at(0.95)
    assert tail.value is None
    assert tail.high is None
    assert tail.one_sided_high is None
    assert "59" in tail.reason


def test_reference_quantile_reaches_its_limits_with_enough_vehicles() -> None:
    """59 give the one-sided limit, not yet the two-sided. Fails where the two are exchanged."""
    tail = family_reference(drawn(59), list(range(59))).at(0.95)
    assert tail.one_sided_high is not None
    assert tail.high is None


def test_reference_limits_hold_the_true_quantile_as_often_as_they_say() -> None:
    """500 families of 40. Fails where ranks are off: at least 95 % less chance."""
    random = np.random.default_rng(11)
    truth = float(np.exp(-3.0))
    held = 0
    for _ in range(500):
        middle = family_reference(random.lognormal(-3.0, 0.3, 40), list(range(40))).at(0.5)
        assert middle.low is not None
        assert middle.high is not None
        held += middle.low <= truth <= middle.high
    assert held >= 0.93 * 500


@pytest.mark.parametrize("bad", [0.0, -0.1, float("nan"), float("inf")])
def test_reference_refuses_what_is_no_resistance(bad: float) -> None:
    """Fails where a reading that was not had counts as zero."""
    with pytest.raises(ValueError, match="finite number above 0"):
        family_reference([0.05, bad], [1, 2])


def test_reference_refuses_values_without_vehicles() -> None:
    """Fails where lengths are cut to the shorter."""
    with pytest.raises(ValueError, match="each value has a vehicle"):
        family_reference([0.05, 0.06], [1])


def test_reference_of_nothing_is_common_practice() -> None:
    """Fails where an empty family breaks."""
    assert family_reference([], []) == common_practice()
