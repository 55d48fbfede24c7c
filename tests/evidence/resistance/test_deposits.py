"""Ash so far, distance until full, and soot between burns."""

from dataclasses import replace

import pytest

from garage.evidence.resistance.ash import AshStatus, OilCategory
from garage.evidence.resistance.deposits import DepositsSaid, deposits_reckoned
from garage.evidence.resistance.soot import Duty, IntervalStatus

WORN = DepositsSaid(0.5, OilCategory.C3, 3.0, 20_000.0, Duty.MIXED, 300.0)


@pytest.mark.parametrize(
    ("oil", "category", "likely_km"),
    [
        # A filter of 3 L full at 60 g, capture 0.6: reckoned by hand from the formula
        # g/1000 km = oil L/1000 km x 850 g/L x ash x capture.
        (0.05, OilCategory.C3, 294_000),
        (0.10, OilCategory.C3, 147_000),
        (0.10, OilCategory.A3_B4, 74_000),
        (0.50, OilCategory.C3, 29_000),
        (0.50, OilCategory.A3_B4, 15_000),
    ],
)
def test_distance_until_full_is_a_range_about_the_reckoned_one(
    oil: float, category: OilCategory, likely_km: float
) -> None:
    ash = deposits_reckoned(replace(WORN, oil_l_per_1000_km=oil, category=category)).ash
    assert ash.full_after_km is not None
    assert ash.full_after_km.likely == pytest.approx(likely_km, rel=0.03)
    assert ash.full_after_km.least < 0.8 * likely_km
    assert ash.full_after_km.most > 1.5 * likely_km


def test_oil_of_unknown_category_is_wider_than_that_of_a_known_one() -> None:
    known = deposits_reckoned(WORN).ash.full_after_km
    unknown = deposits_reckoned(replace(WORN, category=None)).ash.full_after_km
    assert known is not None
    assert unknown is not None
    assert unknown.least < known.least
    assert unknown.most > known.most


def test_distance_that_is_not_known_leaves_ash_by_now_and_the_rest_untold() -> None:
    ash = deposits_reckoned(replace(WORN, on_filter_km=None)).ash
    assert (ash.status, ash.ash_by_now_g, ash.remaining_km) == (AshStatus.NO_DISTANCE, None, None)
    assert ash.full_after_km == deposits_reckoned(WORN).ash.full_after_km
    new = deposits_reckoned(replace(WORN, on_filter_km=0.0)).ash
    assert new.ash_by_now_g is not None
    assert new.ash_by_now_g.most == 0.0


@pytest.mark.parametrize(
    ("changed", "status", "words"),
    [
        ({"oil_l_per_1000_km": None}, AshStatus.NO_OIL_USE, "oil use is not known"),
        ({"oil_l_per_1000_km": 0.0}, AshStatus.NO_OIL_USE, "may be nothing"),
        ({"volume_l": None}, AshStatus.NO_VOLUME, "volume is not known"),
        ({"on_filter_km": 60_000.0}, AshStatus.MAY_BE_FULL, "the least budget is used up"),
        ({"on_filter_km": 120_000.0}, AshStatus.FULL, "full of ash by this reckoning"),
        ({}, AshStatus.OK, "not full by any"),
    ],
)
def test_status_says_how_far_the_budget_goes(
    changed: dict[str, float | None], status: AshStatus, words: str
) -> None:
    ash = deposits_reckoned(replace(WORN, **changed)).ash  # type: ignore[arg-type]
    assert ash.status is status
    assert words in ash.reason


@pytest.mark.parametrize(
    ("km", "status"),
    # 12 to 24 g over 0.02 to 0.06 g/km: 200 to 1200 km.
    [
        (150.0, IntervalStatus.SHORTER),
        (300.0, IntervalStatus.WITHIN),
        (1300.0, IntervalStatus.LONGER),
    ],
)
def test_distance_between_burns_is_held_to_the_duty(km: float, status: IntervalStatus) -> None:
    assert deposits_reckoned(replace(WORN, burn_interval_km=km)).interval.status is status


def test_duty_that_is_not_known_judges_nothing() -> None:
    assert deposits_reckoned(replace(WORN, duty=None)).interval.status is IntervalStatus.NOT_KNOWN
