"""Soot per km: the rate, its limits, burns inside, and what is too short."""

from itertools import pairwise
from time import process_time
from typing import Any

import numpy as np
import pytest
from scipy import stats

from garage.evidence.drives.limits import DEFAULTS
from garage.evidence.drives.log import Drive
from garage.evidence.drives.soot_rate import RateStatus, soot_rate
from garage.evidence.thresholds import Override
from tests.evidence.drives.sequences import RATE_G_PER_KM, drive_invented, joined, steady


@pytest.mark.parametrize("rate", [0.02, 0.04, 0.2])
def test_rate_of_an_even_rise_is_found(rate: float) -> None:
    """Fails if blocks are not measured in km."""
    found = soot_rate(steady(60, rate))
    assert found.status is RateStatus.TOLD
    assert found.rate_g_per_km == pytest.approx(rate)


def test_limits_are_those_of_the_mean_of_block_slopes() -> None:
    """A second way: scipy.stats.linregress on each block, scipy.stats.t.interval on the slopes."""
    drive = drive_invented(np.random.default_rng(3), length_km=120.1)
    km, soot = drive.together("distance_km", "soot_g")
    edges = np.linspace(km[0], km[-1], 13)
    inside = [(km >= a) & (km <= b) for a, b in pairwise(edges)]
    slopes = [stats.linregress(km[each], soot[each]).slope for each in inside]
    low, high = stats.t.interval(0.95, 11, np.mean(slopes), stats.sem(slopes))
    found = soot_rate(drive)
    assert (found.low_g_per_km, found.high_g_per_km) == (pytest.approx(low), pytest.approx(high))


def test_burn_inside_parts_the_sequence() -> None:
    """Fails if a block spans the burn, whose fall would make the rate far too low."""
    found = soot_rate(joined(steady(60, 0.1, 12.0), steady(60, 0.1, 2.0)))
    assert (found.burns_inside, found.status) == (1, RateStatus.TOLD)
    assert found.rate_g_per_km == pytest.approx(0.1)
    assert found.covered_km == pytest.approx(120.0)


def test_rate_does_not_depend_on_what_the_burn_took_off() -> None:
    """Fails if the fall itself enters."""
    first = drive_invented(np.random.default_rng(5), length_km=60)
    small, great = (joined(first, steady(60, 0.04, start)) for start in (1.0, 0.2))
    assert soot_rate(small).rate_g_per_km == pytest.approx(soot_rate(great).rate_g_per_km)


def test_many_short_stretches_between_burns_still_tell() -> None:
    """Fifteen stretches of 50 km: none is as long as a twelfth of them all, 62 km."""
    drive = steady(50, 0.1)
    for _ in range(14):
        drive = joined(drive, steady(50, 0.1))
    found = soot_rate(drive)
    assert (found.status, found.burns_inside) == (RateStatus.TOLD, 14)
    assert found.rate_g_per_km == pytest.approx(0.1)


def test_drive_too_short_says_the_distance_needed() -> None:
    """Five blocks of 5 km: one row more decides."""
    short = soot_rate(steady(24.9, 0.04))
    assert (short.status, short.rate_g_per_km, short.needed_km) == (RateStatus.TOO_SHORT, None, 25)
    assert "25 km" in short.reason
    assert soot_rate(steady(25.0, 0.04)).status is RateStatus.TOLD


def test_coarse_display_needs_more_distance() -> None:
    """Steps of 1 g at 0.04 g/km: three steps are 75 km, five times that are needed."""
    km = np.arange(0.0, 200.0, 0.1)
    soot = np.round(3 + 0.04 * km)
    found = soot_rate(Drive(len(km), distance_km=tuple(km), soot_g=tuple(soot)))
    assert found.status is RateStatus.TOO_SHORT
    assert found.needed_km == pytest.approx(375, rel=0.02)


def test_few_rows_are_too_short_whatever_their_distance() -> None:
    """Fails if a slope through two rows counts as a block."""
    km = tuple(10.0 * row for row in range(11))
    found = soot_rate(Drive(11, distance_km=km, soot_g=tuple(2 + 0.04 * each for each in km)))
    assert found.status is RateStatus.TOO_SHORT


def test_soot_that_stays_is_no_rise() -> None:
    """Fails if a rate of nought passes for known, or the limits for infinity."""
    found = soot_rate(steady(100, 0.0))
    assert (found.status, found.rate_g_per_km) == (RateStatus.NO_RISE, 0.0)


def test_rise_within_the_scatter_is_no_rise() -> None:
    """Fails if a mean above 0 is enough: each 10 km, up by 1.25 g or down by 1 g in turn."""
    km = np.arange(0.0, 120.1, 0.1)
    turns = 0.25 * np.interp(km, np.arange(0, 121, 10), [0, 5, 1, 6, 2, 7, 3, 8, 4, 9, 5, 10, 6])
    found = soot_rate(Drive(len(km), distance_km=tuple(km), soot_g=tuple(3 + turns)))
    assert found.rate_g_per_km is not None
    assert found.rate_g_per_km > 0
    assert found.status is RateStatus.NO_RISE


def test_soot_that_stands_still_in_distance_is_too_short() -> None:
    """Fails if a vehicle at rest divides by nought."""
    found = soot_rate(Drive(2, distance_km=(5.0, 5.0), soot_g=(3.0, 4.0)))
    assert (found.status, found.needed_km) == (RateStatus.TOO_SHORT, None)


def test_own_block_length_reaches_the_rate() -> None:
    """Fails if the threshold handed in is not used."""
    own = DEFAULTS.overridden([Override("soot_block_least_km", 2.0, "own roads")])
    assert soot_rate(steady(12, 0.04)).status is RateStatus.TOO_SHORT
    assert soot_rate(steady(12, 0.04), own).status is RateStatus.TOLD


def test_drive_without_soot_is_refused() -> None:
    """Fails if a missing column becomes a rate."""
    with pytest.raises(ValueError, match="lacks soot_g"):
        soot_rate(Drive(1, distance_km=(1.0,)))


@pytest.mark.slow
@pytest.mark.parametrize(
    "world",
    [
        {},
        {"noise_g": 0.02},
        {"noise_g": 0.3, "follows": 0.9},
        {"follows": 0.99},
        {"stretch_km": 6.0},
        {"step_g": 0.5, "length_km": 300.0},
        {"step_g": 1.0, "length_km": 600.0},
    ],
)
def test_limits_hold_the_true_rate_in_95_of_100(world: dict[str, Any]) -> None:
    """Least squares over all rows, taken as observations of their own, holds it far less often."""
    rng = np.random.default_rng(1)
    held = 0
    plain = 0
    for _ in range(300):
        drive = drive_invented(rng, **world)
        found = soot_rate(drive)
        assert found.low_g_per_km is not None
        assert found.high_g_per_km is not None
        held += found.low_g_per_km <= RATE_G_PER_KM <= found.high_g_per_km
        line = stats.linregress(*drive.together("distance_km", "soot_g"))
        plain += abs(line.slope - RATE_G_PER_KM) <= 1.96 * line.stderr
    assert 0.90 <= held / 300 <= 0.985
    assert plain / 300 < 0.6


def test_odometer_far_off_does_not_make_blocks_without_rows() -> None:
    """Ten million km in blocks of 5 km: fails, by minutes, if each of them is looked at."""
    km = (*(120_000.0 + row / 10 for row in range(100)), 9_999_999.0)
    begun_s = process_time()
    found = soot_rate(Drive(101, distance_km=km, soot_g=(10.0,) * 101))
    assert found.status is RateStatus.TOO_SHORT
    assert process_time() - begun_s < 5.0
