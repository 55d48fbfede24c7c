"""The soot balance."""

import pytest

from garage.evidence.resistance.ranges import Range
from garage.evidence.resistance.soot import (
    Duty,
    IntervalStatus,
    distance_between_burns_km,
    interval_judged,
)


@pytest.mark.parametrize(
    ("soot_g_per_km", "km"), [(0.02, 900), (0.04, 450), (0.06, 300), (0.1, 180), (0.2, 90)]
)
def test_distance_between_burns_as_reckoned_by_hand(soot_g_per_km: float, km: float) -> None:
    """18 g over g/km. Fails where the quotient is turned round."""
    found = distance_between_burns_km(Range.exactly(18.0), Range.exactly(soot_g_per_km))
    assert found is not None
    assert found.likely == pytest.approx(km)


def test_distance_between_burns_without_soot_is_not_known() -> None:
    """Fails where an endless distance comes back."""
    assert distance_between_burns_km(Range.exactly(18.0), Range(0.0, 0.02, 0.04)) is None


@pytest.mark.parametrize(
    ("observed_km", "status"),
    [
        (120.0, IntervalStatus.SHORTER),
        (450.0, IntervalStatus.WITHIN),
        (1500.0, IntervalStatus.LONGER),
        (None, IntervalStatus.NOT_KNOWN),
    ],
)
def test_interval_beside_mixed_duty(observed_km: float | None, status: IntervalStatus) -> None:
    """200 to 1200 km for 3 L. Fails where an end is misplaced."""
    assert interval_judged(observed_km, 3.0, Duty.MIXED).status is status


@pytest.mark.parametrize(("volume_l", "duty"), [(None, Duty.MIXED), (3.0, None)])
def test_interval_is_not_known_without_volume_or_duty(
    volume_l: float | None, duty: Duty | None
) -> None:
    """One at a time. Fails where either is taken for granted."""
    assert interval_judged(450.0, volume_l, duty).status is IntervalStatus.NOT_KNOWN
