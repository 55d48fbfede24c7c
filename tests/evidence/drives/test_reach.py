"""Distance to the next burn and to the lamp."""

from dataclasses import replace

import pytest

from garage.evidence.drives.reach import reach_of
from garage.evidence.drives.soot_rate import RateStatus, SootRate, soot_rate
from tests.evidence.drives.sequences import steady

RATE = SootRate(RateStatus.TOLD, "", 0.04, 0.03, 0.06, 100.0, None, 0, 8)


@pytest.mark.parametrize(
    ("rate", "km"), [(0.02, 900), (0.04, 450), (0.06, 300), (0.1, 180), (0.2, 90)]
)
def test_distance_between_burns_of_18_g_is_the_reckoned_one(rate: float, km: float) -> None:
    """18 g divided by soot per km, reckoned by hand."""
    reach = reach_of(0.0, replace(RATE, rate_g_per_km=rate), 18.0)
    assert reach.middle_km == pytest.approx(km)


def test_range_is_that_of_the_limits_turned_round() -> None:
    """Fails if the lower limit of the rate gives the nearest distance."""
    reach = reach_of(6.0, RATE, 18.0)
    assert (reach.near_km, reach.middle_km, reach.far_km) == (200.0, 300.0, 400.0)
    assert "200 to 400 km" in reach.reason


def test_lamp_is_further_than_the_burn() -> None:
    """Fails if the target is not used."""
    burn, lamp = (reach_of(6.0, RATE, target).near_km for target in (18.0, 30.0))
    assert (burn, lamp) == (200.0, 400.0)


@pytest.mark.parametrize("low", [0.0, -0.01])
def test_lower_limit_without_rise_leaves_the_far_end_unknown(low: float) -> None:
    """Fails if 12 g at no rise becomes infinity or a distance below 0."""
    reach = reach_of(6.0, replace(RATE, low_g_per_km=low), 18.0)
    assert (reach.near_km, reach.far_km) == (200.0, None)
    assert "not reached" in reach.reason


def test_distance_past_the_most_is_not_said() -> None:
    """Fails if a trace of a rise gives an absurd distance: 12 g at 0.004 g/km are 3 000 km."""
    assert reach_of(6.0, replace(RATE, low_g_per_km=0.004), 18.0).far_km == 3000.0
    assert reach_of(6.0, replace(RATE, low_g_per_km=0.0039), 18.0).far_km is None


def test_no_rise_is_not_reached() -> None:
    """Fails if None becomes 0."""
    reach = reach_of(6.0, soot_rate(steady(100, 0.0)), 18.0)
    assert (reach.near_km, reach.middle_km, reach.far_km) == (None, None, None)
    assert "not reached" in reach.reason


def test_rate_not_known_says_why() -> None:
    """Fails if the reason of the rate is lost."""
    reach = reach_of(6.0, soot_rate(steady(10, 0.04)), 18.0)
    assert reach.near_km is None
    assert "10 km between burns" in reach.reason


def test_mass_reached_already_is_no_distance() -> None:
    """Fails if the distance is below 0."""
    reach = reach_of(18.0, RATE, 18.0)
    assert (reach.near_km, reach.far_km) == (0.0, 0.0)
    assert "already" in reach.reason


@pytest.mark.parametrize(("soot", "target"), [(-0.1, 18.0), (6.0, 0.0), (6.0, float("nan"))])
def test_mass_that_cannot_be_is_refused(soot: float, target: float) -> None:
    """Fails if a slip gives a distance."""
    with pytest.raises(ValueError, match="got"):
        reach_of(soot, RATE, target)
