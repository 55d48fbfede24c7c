"""The band of soot per km: said only where both limits lie in it."""

import pytest

from garage.evidence.drives.rate_band import RateBand, rate_banded
from garage.evidence.drives.soot_rate import RateStatus, SootRate


def rate(low: float, high: float) -> SootRate:
    middle = (low + high) / 2
    return SootRate(RateStatus.TOLD, "", middle, low, high, 100.0, None, 0, 8)


@pytest.mark.parametrize(
    ("low", "high", "band"),
    [
        (-0.01, 0.06, RateBand.USUAL),
        (0.061, 0.1, RateBand.TOWN),
        (0.101, 0.199, RateBand.HIGH),
        (0.2, 0.4, RateBand.FAULT),
        (0.05, 0.07, RateBand.CANNOT_BE_TOLD),
    ],
)
def test_band_holds_both_limits(low: float, high: float, band: RateBand) -> None:
    assert rate_banded(rate(low, high)).band is band


def test_band_of_a_rate_not_known_says_why() -> None:
    short = SootRate(RateStatus.TOO_SHORT, "3 km", None, None, None, 3.0, 25.0, 0, 0)
    found = rate_banded(short)
    assert found.band is RateBand.CANNOT_BE_TOLD
    assert found.words == "soot per km is not known: 3 km"
