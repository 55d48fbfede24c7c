"""Units that readings alone exclude."""

import pytest

from garage.evidence.gauges.unit_physics import Shown, units_left


def left(shown: Shown, range_pa: float | None = None) -> set[str]:
    return {each.unit for each in units_left(shown, range_pa).remaining}


def test_units_high_idle_excludes_large_units() -> None:
    """By hand: 25 kPa at idle is over 20 kPa; 25 mbar is not. Fails if a bound is dropped."""
    told = left(Shown(0.1, 0, 25))
    assert "kPa" not in told
    assert "hPa (= mbar)" in told


def test_units_sensor_range_excludes() -> None:
    """Fails if the range is not heeded: 15 kPa over 10 kPa."""
    assert "kPa" in left(Shown(0.1, 0, 15))
    assert "kPa" not in left(Shown(0.1, 0, 15), 10_000)


def test_units_coarse_step_excludes_bar() -> None:
    """Fails if the display's step is not heeded; every reading is 0."""
    assert "bar" not in left(Shown(1, 0, 0, 0))
    assert "bar" in left(Shown(0.001, 0, 0, 0))


def test_units_zero_is_taken_off() -> None:
    """Fails if an offset counts as pressure across the filter."""
    assert "kPa" in left(Shown(0.1, 15, 25))


def test_units_low_and_negative_exclude_nothing() -> None:
    """Fails if a hose fault decides a unit."""
    assert len(left(Shown(0.001, 0, 0, 0))) == 9
    assert len(left(Shown(0.001, 0, -0.01, -0.05))) == 9


def test_units_several_remain_names_a_pair_in_range() -> None:
    """Fails if two units are decided between, or the pair is over the range."""
    told = units_left(Shown(1, 0, 5, 20), 12_000)
    assert told.status == "several remain"
    assert told.settling_applied_pa == 12_000


def test_units_step_of_zero_is_refused() -> None:
    """Fails if a display without a step is let in."""
    with pytest.raises(ValueError, match="resolution"):
        units_left(Shown(0))
