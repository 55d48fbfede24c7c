"""Hoses from readings; every case departs from the sound one by what it names."""

from dataclasses import replace

import pytest

from garage.evidence.gauges.hoses import HoseReadings, hoses_told

SOUND = HoseReadings(0, 400, 1_800, moved=True, response_s=0.3, fall_after_off_s=1, one_hose=False)
FLAT = replace(SOUND, idle_pa=10, raised_pa=40)


def test_hoses_sound() -> None:
    """Fails if a growing, prompt reading is called out."""
    told = hoses_told(SOUND)
    assert (told.hoses, told.response) == ("sound", "prompt")


def test_hoses_swapped_mirrored() -> None:
    """Fails if the sign is dropped."""
    assert hoses_told(replace(SOUND, idle_pa=-400, raised_pa=-1_800)).hoses == "swapped"


@pytest.mark.parametrize("one_hose", [True, None])
def test_hoses_negative_without_two_hoses_is_not_swapped(one_hose: bool | None) -> None:
    """Fails if the layout is not asked for."""
    told = hoses_told(replace(SOUND, idle_pa=-400, raised_pa=-1_800, one_hose=one_hose))
    assert told.hoses is None
    assert told.next_check is not None


@pytest.mark.parametrize(("seen", "blown"), [(False, False), (True, False), (False, True)])
def test_hoses_flat_alone_is_not_off(seen: bool, blown: bool) -> None:
    """Fails if an empty filter passes for a hose off."""
    told = hoses_told(replace(FLAT, filter_seen_sound=seen, blown_through=blown))
    assert told.hoses is None


def test_hoses_flat_with_both_looked_at_is_off() -> None:
    """Fails if what was looked at is not used."""
    assert hoses_told(replace(FLAT, filter_seen_sound=True, blown_through=True)).hoses == "off"


def test_hoses_holding_pressure_are_blocked() -> None:
    """Fails if the fall after switching off is not watched."""
    assert hoses_told(replace(SOUND, fall_after_off_s=60)).hoses == "blocked"


def test_hoses_slow_are_blocked() -> None:
    """Fails if a slow reading passes."""
    told = hoses_told(replace(SOUND, response_s=5))
    assert (told.hoses, told.response) == ("blocked", "slow")


def test_hoses_zero_not_read_cannot_be_told() -> None:
    """Fails if an offset can pass for a swapped hose."""
    told = hoses_told(replace(SOUND, zero_pa=None))
    assert (told.status, told.hoses) == ("cannot be told", None)


def test_hoses_offset_is_taken_off() -> None:
    """Fails if an offset below zero is told as swapped."""
    assert hoses_told(replace(SOUND, zero_pa=-3e3, idle_pa=-2600, raised_pa=-1200)).hoses == "sound"
