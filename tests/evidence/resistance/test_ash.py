"""The ash budget."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from garage.evidence.resistance.ash import (
    OIL_ASH,
    AshStatus,
    OilCategory,
    OilUse,
    ash_budget,
    ash_when_full_g,
    oil_ash_range,
)
from garage.evidence.resistance.ranges import Range


def exact(oil_l: float, ash_percent: float) -> OilUse:
    return OilUse(Range.exactly(oil_l), Range.exactly(ash_percent), Range.exactly(0.6))


# Oil L/1000 km, ash %, g/1000 km as printed with its half place, km to 60 g: reckoned by hand
# with 850 g/L and a capture of 0.6.
ROWS = [
    (0.05, 0.8, 0.20, 0.005, 294_000.0),
    (0.10, 0.8, 0.41, 0.005, 147_000.0),
    (0.10, 1.6, 0.82, 0.005, 74_000.0),
    (0.50, 0.8, 2.0, 0.05, 29_000.0),
    (0.50, 1.6, 4.1, 0.05, 15_000.0),
]


@pytest.mark.parametrize(("oil_l", "ash_percent", "rate", "half_place", "km"), ROWS)
def test_ash_budget_as_printed(
    oil_l: float, ash_percent: float, rate: float, half_place: float, km: float
) -> None:
    """Fails on a wrong density, a percentage taken for a share, or km for 1000 km."""
    found = ash_budget(exact(oil_l, ash_percent), 3.0)
    assert found.ash_g_per_1000_km.likely == pytest.approx(rate, abs=half_place)
    assert found.full_after_km is not None
    assert found.full_after_km.likely == pytest.approx(km, abs=500.0)


def test_full_filter_of_three_litres() -> None:
    """50 to 80 g, 20 g/L. Fails where the thresholds are not litres."""
    full = ash_when_full_g(3.0)
    assert (full.least, full.likely, full.most) == pytest.approx((50.0, 60.0, 80.0))


@pytest.mark.parametrize(
    ("distance_km", "status"),
    [
        (100_000.0, AshStatus.OK),
        (130_000.0, AshStatus.MAY_BE_FULL),
        (200_000.0, AshStatus.FULL),
    ],
)
def test_ash_budget_by_distance(distance_km: float, status: AshStatus) -> None:
    """Full at 123 000 to 196 000 km. Fails where a range's ends are exchanged."""
    found = ash_budget(exact(0.10, 0.8), 3.0, distance_km)
    assert found.status is status
    assert found.remaining_km is not None
    assert found.remaining_km.least >= 0.0
    assert (found.remaining_km.most == 0.0) == (status is AshStatus.FULL)


def test_ash_budget_without_volume_still_tells_the_rate() -> None:
    """Fails where 3 L are taken for granted."""
    found = ash_budget(exact(0.10, 0.8), None, 50_000.0)
    assert found.status is AshStatus.NO_VOLUME
    assert found.remaining_km is None
    assert found.ash_by_now_g.likely == pytest.approx(20.4)


def test_ash_budget_with_perhaps_no_oil_use_gives_no_distance() -> None:
    """Fails where a division by zero makes an endless filter."""
    use = OilUse(Range(0.0, 0.05, 0.1), Range.exactly(0.8))
    found = ash_budget(use, 3.0)
    assert found.status is AshStatus.NO_OIL_USE
    assert found.full_after_km is None


@pytest.mark.parametrize(("oil", "told"), [(1e-308, False), (1e-6, True)])
def test_ash_budget_of_next_to_no_oil_gives_no_distance(oil: float, *, told: bool) -> None:
    """Fails where the distance grows beyond what a number holds."""
    found = ash_budget(OilUse(Range.exactly(oil), Range.exactly(0.8)), 3.0)
    assert (found.full_after_km is not None) is told
    assert found.status is (AshStatus.OK if told else AshStatus.NO_OIL_USE)


def test_usual_capture_widens_the_budget() -> None:
    """0.4 to 0.7 where none is given. Fails where capture counts as known."""
    found = ash_budget(OilUse(Range.exactly(0.1), Range.exactly(0.8)), 3.0)
    assert found.ash_g_per_1000_km.most / found.ash_g_per_1000_km.least == pytest.approx(0.7 / 0.4)


def test_oil_categories_have_their_ash() -> None:
    """Fails on a category in the wrong row."""
    low = {OilCategory.C1, OilCategory.C4}
    for category, ash in OIL_ASH.items():
        wanted = 0.5 if category in low else 1.6 if category is OilCategory.A3_B4 else 0.8
        assert ash.most_percent == wanted
        assert oil_ash_range(category).most == wanted


@pytest.mark.parametrize("capture", [1.01, 60.0])
def test_ash_budget_refuses_capture_in_percent(capture: float) -> None:
    """Fails where 60 % written as 60 fills a filter in a day."""
    use = OilUse(Range.exactly(0.1), Range.exactly(0.8), Range.exactly(capture))
    with pytest.raises(ValueError, match="capture_share"):
        ash_budget(use, 3.0)


@pytest.mark.parametrize("bad", [(1.0, 0.5, 2.0), (-1.0, 0.0, 1.0), (0.0, 1.0, float("inf"))])
def test_range_refuses_what_is_none(bad: tuple[float, float, float]) -> None:
    """Order, sign and finiteness, one fault at a time."""
    with pytest.raises(ValueError, match="range"):
        Range(*bad)


@given(st.floats(0.01, 1.0), st.floats(0.3, 2.0), st.floats(0.4, 0.7), st.floats(0.0, 400_000.0))
def test_remaining_distance_holds_the_figure_of_any_input_inside(
    oil_l: float, ash_percent: float, capture: float, distance_km: float
) -> None:
    """Interval arithmetic: fails where a corner is left out."""
    wide = ash_budget(
        OilUse(Range(0.01, 0.1, 1.0), Range(0.3, 0.8, 2.0), Range(0.4, 0.6, 0.7)), 3.0, distance_km
    )
    inside = max(60.0 / (oil_l * 850.0 * ash_percent / 100.0 * capture) * 1000.0 - distance_km, 0.0)
    assert wide.remaining_km is not None
    assert wide.remaining_km.least <= inside * (1 + 1e-9) + 1e-6
    assert inside <= wide.remaining_km.most * (1 + 1e-9) + 1e-6
