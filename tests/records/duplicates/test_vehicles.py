"""Which vehicles may be one."""

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from garage.records.duplicates.vehicles import MarkHeld, VehicleToCompare, vehicle_candidates

VIN = "0ABTEST0000012345"
ONE = VehicleToCompare(1, VIN, 5, date(2015, 3, 1), (), ())


def pairs(*vehicles: VehicleToCompare) -> list[tuple[int, int]]:
    return [(each.one_id, each.other_id) for each in vehicle_candidates(vehicles)]


def other(**changed) -> VehicleToCompare:
    return replace(ONE, **({"id": 2} | changed))


@pytest.mark.parametrize(
    "vin",
    [
        "0ABTEST0000012346",  # one sign
        "0A8TEST0000012345",  # one sign often misread
        "0ABTEST0000012354",  # two neighbours exchanged
    ],
)
def test_vehicles_with_vins_a_slip_apart_may_be_one(vin: str) -> None:
    assert pairs(ONE, other(vin=vin)) == [(1, 2)]


def test_vehicles_with_vins_two_signs_apart_are_two() -> None:
    assert pairs(ONE, other(vin="0ABTEST0000012399")) == []


def test_vehicles_one_sign_apart_of_another_family_and_day_are_two() -> None:
    far = other(vin="0ABTEST0000012346", family_id=6, first_used_on=date(2019, 1, 1))
    assert pairs(ONE, far) == []


def test_sign_often_misread_weighs_more_than_another() -> None:
    plain, misread = (
        vehicle_candidates([replace(ONE, family_id=None), other(vin=vin, family_id=None)])
        for vin in ("0ABTEST0000012346", "0A8TEST0000012345")
    )
    assert misread[0].likelihood > plain[0].likelihood
    assert "often misread" in " ".join(misread[0].reasons)


def test_vehicles_with_one_mark_at_one_time_may_be_one_where_a_vin_is_not_known() -> None:
    mark = MarkHeld("QX0001", None, None)
    one, two = replace(ONE, vin="", marks=(mark,)), other(marks=(mark,))
    assert pairs(one, two) == [(1, 2)]
    assert pairs(one, replace(two, family_id=6, first_used_on=None)) == []


def test_mark_that_changed_hands_makes_no_pair() -> None:
    before = MarkHeld("QX0001", None, date(2018, 1, 1))
    after = MarkHeld("QX0001", date(2018, 6, 1), None)
    assert pairs(replace(ONE, vin="", marks=(before,)), other(vin="", marks=(after,))) == []


def test_vehicles_of_two_whole_vins_are_two_whatever_the_mark() -> None:
    mark = MarkHeld("QX0001", None, None)
    assert pairs(replace(ONE, marks=(mark,)), other(vin="0ZZTEST0000099999", marks=(mark,))) == []


def test_odometers_that_contradict_speak_against_a_pair() -> None:
    mark = MarkHeld("QX0001", None, None)
    base = {"vin": "", "marks": (mark,), "first_used_on": None}
    one = replace(ONE, **base, readings=((date(2020, 1, 1), 100_000), (date(2022, 1, 1), 150_000)))
    agrees = other(**base, readings=((date(2021, 1, 1), 120_000),))
    contradicts = other(**base, readings=((date(2021, 1, 1), 30_000),))
    (with_agreement,) = vehicle_candidates([one, agrees])
    likelihoods = [each.likelihood for each in vehicle_candidates([one, contradicts])]
    assert all(each < with_agreement.likelihood for each in likelihoods)
    assert "contradict" not in " ".join(with_agreement.reasons)


@given(st.integers(0, 16), st.sampled_from("0123456789ABCDEFGHJKLMNPRSTUVWXYZ"))
def test_any_one_sign_exchanged_is_found(place: int, sign: str) -> None:
    vin = VIN[:place] + sign + VIN[place + 1 :]
    if vin != VIN:
        assert pairs(ONE, other(vin=vin)) == [(1, 2)]


@given(st.permutations([1, 2, 3]))
def test_order_of_the_vehicles_does_not_matter(order: list[int]) -> None:
    by_id = {
        1: ONE,
        2: other(vin="0A8TEST0000012345"),
        3: replace(ONE, id=3, vin="0ABTEST0000012354"),
    }
    assert pairs(*(by_id[each] for each in order)) == pairs(*by_id.values())


def test_many_vehicles_under_one_key_are_no_slip() -> None:
    mark = MarkHeld("TRADE1", None, None)
    fleet = [replace(ONE, id=number, vin="", marks=(mark,)) for number in range(1, 43)]
    assert pairs(*fleet[:2]) == [(1, 2)]
    assert pairs(*fleet) == []
