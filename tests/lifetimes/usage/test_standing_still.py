"""A vehicle that stands still between two readings is a vehicle, not an error."""

import pytest

from garage.lifetimes.usage.yearly_change import yearly_change


def test_odometer_that_stands_still_is_taken_and_one_that_falls_is_not() -> None:
    vehicle, at = [1, 1, 1, 1], [0.0, 1.0, 2.0, 3.0]
    assert yearly_change(vehicle, at, [0, 9_000, 9_000, 18_000]).n == 1
    with pytest.raises(ValueError, match="never falls; got 9000 km, then 8999 km"):
        yearly_change(vehicle, at, [0, 9_000, 8_999, 18_000])
