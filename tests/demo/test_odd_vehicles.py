"""The demo's odd odometers end where rule 6 says: the reading alone, not the vehicle."""

from typing import Any

import pytest

from garage.outcomes.choices import Ending, LifeClass
from garage.outcomes.lives import Life
from tests.demo.world import Found, TypedReading

pytestmark = pytest.mark.django_db


def _odd(found: Found, kind: str) -> list[dict[str, Any]]:
    return [each for each in found.told["odd"] if each["kind"] == kind]


def _readings(found: Found, odd: dict[str, Any]) -> list[TypedReading]:
    return found.readings[odd["organisation"], odd["vehicle_ref"]]


def _lives(found: Found, odd: dict[str, Any]) -> list[Life]:
    key = odd["organisation"], odd["vehicle_ref"]
    return [life for life in found.lives if found.vehicle_key[life.vehicle_id] == key]


def _doubted(readings: list[TypedReading]) -> list[TypedReading]:
    return [each for each in readings if each.doubt]


@pytest.mark.parametrize(
    ("kind", "doubt"),
    [
        ("miles_typed_as_km", "wrong_unit"),
        ("km_typed_as_miles", "wrong_unit"),
        ("slipped_digit", "tenths"),
    ],
)
def test_a_slip_is_set_aside_alone_under_its_name(found: Found, kind: str, doubt: str) -> None:
    slips = _odd(found, kind)
    assert slips
    for odd in slips:
        (doubted,) = _doubted(_readings(found, odd))
        assert doubted.doubt == doubt
        assert (doubted.typed, doubted.unit) == (odd["typed"], odd["unit"])
        assert doubted.job_ref == odd["job_ref"]


@pytest.mark.parametrize("kind", ["miles_typed_rightly", "miles_throughout"])
def test_miles_that_are_miles_stand(found: Found, kind: str) -> None:
    (odd,) = _odd(found, kind)
    readings = _readings(found, odd)
    assert any(each.unit == "mi" for each in readings)
    assert _doubted(readings) == []
    (told,) = [each for each in readings if each.job_ref == odd["job_ref"]]
    assert told.km == pytest.approx(odd["true_km"], abs=1)


def test_a_replaced_instrument_goes_on_where_the_old_one_stopped(found: Found) -> None:
    (odd,) = _odd(found, "cluster_replaced")
    readings = _readings(found, odd)
    assert _doubted(readings) == []
    assert [each.km for each in readings] == sorted(each.km for each in readings)
    shown = [each.typed for each in readings]
    assert shown != sorted(shown)


def test_a_clocked_odometer_is_set_aside_where_it_contradicts_itself(found: Found) -> None:
    (odd,) = _odd(found, "clocked")
    doubted = _doubted(_readings(found, odd))
    assert doubted
    assert {each.doubt for each in doubted} <= {"backwards", "wrong_digit", "cluster_replaced"}
    days = [each.read_on for each in _readings(found, odd)]
    assert len(doubted) < len(days)


def test_every_other_reading_of_the_odd_vehicles_stands(found: Found) -> None:
    slips = {"miles_typed_as_km", "km_typed_as_miles", "slipped_digit"}
    for odd in found.told["odd"]:
        if odd["kind"] in slips:
            assert len(_doubted(_readings(found, odd))) == 1


def test_a_life_is_in_doubt_where_its_fitting_reading_is_and_withdrawn_where_its_removal_is(
    found: Found,
) -> None:
    in_doubt = withdrawn = 0
    for odd in found.told["odd"]:
        readings = _readings(found, odd)
        doubted = {each.job_ref for each in _doubted(readings) if each.job_ref}
        good_km = [each.km for each in readings if not each.doubt]
        for told, life in _told_lives(found, odd):
            if told["fitted_job"] in doubted:
                assert life.life_class is LifeClass.ODOMETER_IN_DOUBT
                in_doubt += 1
            elif told["ended_job"] in doubted and life.used:
                assert life.ending is Ending.REMOVAL_KM_NOT_KNOWN
                assert not life.failed
                # At a good reading: one that stands on that very vehicle.
                assert (life.start_km or 0) + life.seen_km in good_km
                withdrawn += 1
            else:
                assert life.life_class is not LifeClass.ODOMETER_IN_DOUBT
    assert in_doubt >= 2
    assert withdrawn >= 1


def _told_lives(found: Found, odd: dict[str, Any]) -> list[tuple[dict[str, Any], Life]]:
    """Told and found lives of one vehicle, joined by the jobs that fitted and ended them."""
    lives = _lives(found, odd)
    told = found.told_of(lives[0].vehicle_id)["lives"] if lives else []
    pairs = []
    for life in lives:
        removed_at = found.removed_at.get(life.fitment_id)
        same = [
            each
            for each in told
            if each["ended_job"] == removed_at
            and (each["fitted_job"] is not None) == life.fitted_here
        ]
        if len(same) == 1:
            pairs.append((same[0], life))
    return pairs
