"""Distance to a mass known as a range: reached, within it, ahead, and not told."""

import pytest

from garage.evidence.drives.reach_range import reach_range
from garage.evidence.drives.soot_rate import RateStatus, SootRate
from garage.evidence.drives.targets import Target

TOLD = SootRate(RateStatus.TOLD, "", 0.05, 0.04, 0.06, 100.0, None, 0, 8)
FLAT = SootRate(RateStatus.NO_RISE, "", 0.01, -0.02, 0.04, 100.0, None, 0, 8)
SHORT = SootRate(RateStatus.TOO_SHORT, "3 km", None, None, None, 3.0, 25.0, 0, 0)
TRIGGER = Target(12.0, 18.0, "")


def test_range_goes_from_least_at_the_upper_rate_to_most_at_the_lower() -> None:
    """(12 - 6) / 0.06 = 100 km and (18 - 6) / 0.04 = 300 km, by hand."""
    found = reach_range(6.0, TOLD, TRIGGER)
    assert (found.near_km, found.far_km) == (pytest.approx(100.0), pytest.approx(300.0))
    assert found.reason == "12 to 18 g after 100 to 300 km, driven as in this log"


def test_soot_within_the_range_is_at_any_time_now() -> None:
    found = reach_range(14.0, TOLD, TRIGGER)
    assert (found.near_km, found.far_km) == (0.0, pytest.approx(100.0))
    assert "at any time now, or within 100 km" in found.reason


def test_soot_above_the_range_is_reached() -> None:
    found = reach_range(18.0, TOLD, TRIGGER)
    assert (found.near_km, found.far_km) == (0.0, 0.0)
    assert "reached already" in found.reason


def test_rate_that_may_not_rise_has_no_far_end() -> None:
    found = reach_range(6.0, FLAT, TRIGGER)
    assert (found.near_km, found.far_km) == (pytest.approx(150.0), None)
    assert "150 km at the soonest" in found.reason


@pytest.mark.parametrize(("soot_g", "near_km"), [(6.0, None), (14.0, 0.0)])
def test_rate_not_known_says_so(soot_g: float, near_km: float | None) -> None:
    """Fails if "not known" reads like "not reached"."""
    found = reach_range(soot_g, SHORT, TRIGGER)
    assert (found.near_km, found.far_km) == (near_km, None)
    assert "soot per km is not known: 3 km" in found.reason
