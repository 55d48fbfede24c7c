"""Points of pressure and flow out of the readings of one visit."""

from dataclasses import replace

import pytest

from garage.evidence.resistance.states import Layout
from garage.evidence.resistance.visit import visit_points
from garage.evidence.resistance.visit_said import (
    AIR_FLOW,
    AIR_PRESSURE,
    EXHAUST_FLOW,
    PRESSURE,
    TEMPERATURE,
    FlowFrom,
    ReadingTaken,
)


def pressure(value: float, condition: str, speed_rpm: float | None = None) -> ReadingTaken:
    typed = f"{value:g} mbar"
    return ReadingTaken(PRESSURE, value, 0.1, typed, condition, "two_hose", speed_rpm)


def beside(quantity: str, value: float, condition: str, speed: float | None = None) -> ReadingTaken:
    return ReadingTaken(quantity, value, 0.0, f"{value:g}", condition, speed_rpm=speed)


WHOLE = (
    pressure(0.2, "engine_off"),
    pressure(7.0, "idle"),
    pressure(47.2, "raised", 2500),
    beside(TEMPERATURE, 150.0, "idle"),
    beside(TEMPERATURE, 250.0, "raised"),
    beside(EXHAUST_FLOW, 36.0, "idle"),
    beside(EXHAUST_FLOW, 172.8, "raised"),
    beside(AIR_PRESSURE, 101.325, ""),
)


def test_whole_visit_gives_both_points_and_lacks_nothing() -> None:
    found = visit_points(WHOLE)
    assert found.missing == ()
    assert found.left_out == ()
    assert found.layout is Layout.TWO_HOSE
    assert [each.condition for each in found.points] == ["idle", "raised"]
    # 36 kg/h are 10 g/s, 172.8 kg/h 48 g/s: 43 m³/h at 150 °C and 256 m³/h at 250 °C, reckoned by
    # hand from the ideal gas law with 287 J/(kg K), less the few mbar that the filter adds.
    flows = [each.point.flow.flow_m3_per_h for each in found.points]
    assert flows == pytest.approx([43.15 * 1013.25 / 1020.05, 256.1 * 1013.25 / 1060.25], rel=2e-3)
    corrected = [each.corrected_mbar for each in found.points]
    assert corrected == pytest.approx([6.8, 47.0])


@pytest.mark.parametrize(
    ("left_out", "missing"),
    [
        (0, "the pressure with key on, engine off"),
        (1, "the pressure at idle"),
        (2, "the pressure at raised speed"),
        (3, "the exhaust temperature before the filter at idle"),
        (4, "the exhaust temperature before the filter at raised speed"),
        (5, "the exhaust flow or air flow at idle"),
        (6, "the exhaust flow or air flow at raised speed"),
    ],
)
def test_what_was_not_read_is_missing_by_name(left_out: int, missing: str) -> None:
    found = visit_points([each for at, each in enumerate(WHOLE) if at != left_out])
    assert found.missing == (missing,)


def test_layout_that_is_not_said_is_missing_and_two_of_them_are_told() -> None:
    unsaid = [replace(each, layout="") for each in WHOLE]
    assert visit_points(unsaid).missing == ("how the sensor is connected, two hoses or one",)
    both = [replace(WHOLE[0], layout="one_hose"), *WHOLE[1:]]
    found = visit_points(both)
    assert found.layout is Layout.NOT_SAID
    assert "one hose and two hoses" in found.left_out[0].reason


@pytest.mark.parametrize(
    ("zero_mbar", "conditions", "known"),
    [
        (2.0, ["idle", "raised"], True),
        (-2.0, ["idle", "raised"], True),
        (2.1, ["raised"], True),
        (5.0, ["raised"], True),
        (5.1, ["idle", "raised"], False),
        (-5.1, ["idle", "raised"], False),
    ],
)
def test_zero_holds_back_idle_first_and_then_all(
    zero_mbar: float, conditions: list[str], known: bool
) -> None:
    # Within 2 mbar all, to 5 mbar raised speed only, beyond none: common practice, no source.
    found = visit_points([pressure(zero_mbar, "engine_off"), *WHOLE[1:]])
    assert [each.condition for each in found.points] == conditions
    assert (found.zero is not None) is known
    assert (found.zero_off is None) is known
    assert "the pressure at idle" not in found.missing


def test_last_of_several_readings_holds_and_another_speed_is_another_point() -> None:
    found = visit_points([*WHOLE, pressure(50.0, "raised", 2550), pressure(66.0, "raised", 3500)])
    told = [(each.corrected_mbar, each.speed_rpm) for each in found.points[1:]]
    assert told == [(pytest.approx(49.8), 2550), (pytest.approx(65.8), 3500)]


def test_flow_of_another_speed_is_not_set_beside_a_pressure() -> None:
    flow = beside(EXHAUST_FLOW, 172.8, "raised", 3500)
    found = visit_points([*WHOLE[:6], flow])
    assert found.points[1].flow_from is FlowFrom.NONE
    same = visit_points([*WHOLE[:6], replace(flow, speed_rpm=2450)])
    assert same.points[1].flow_from is FlowFrom.EXHAUST_FLOW


def test_flow_without_its_speed_belongs_to_none_of_several_speeds() -> None:
    fast = pressure(66.0, "raised", 3500)
    found = visit_points([*WHOLE, fast])
    assert [each.flow_from for each in found.points[1:]] == [FlowFrom.NONE, FlowFrom.NONE]
    assert "the exhaust flow or air flow at raised speed, noted with its 3500 rpm" in found.missing
    said = [replace(each, speed_rpm=2500) if each.condition == "raised" else each for each in WHOLE]
    told = visit_points([*said, fast])
    assert [each.flow_from for each in told.points[1:]] == [FlowFrom.EXHAUST_FLOW, FlowFrom.NONE]


def test_exhaust_flow_goes_before_air_flow_and_that_before_the_engine() -> None:
    air = beside(AIR_FLOW, 46.4, "raised")
    assert visit_points([*WHOLE, air], 2.0).of("raised").flow_from is FlowFrom.EXHAUST_FLOW  # type: ignore[union-attr]
    without = [each for each in WHOLE if each.quantity != EXHAUST_FLOW]
    assert visit_points([*without, air], 2.0).points[1].flow_from is FlowFrom.AIR_FLOW
    engine = visit_points(without, 2.0).points[1]
    assert engine.flow_from is FlowFrom.ENGINE
    assert visit_points(without).points[1].flow_from is FlowFrom.NONE


def test_engine_alone_gives_a_wider_flow_than_an_air_meter() -> None:
    without = [each for each in WHOLE if each.quantity != EXHAUST_FLOW]
    air = visit_points([*without, beside(AIR_FLOW, 46.4, "raised")]).points[1].point.flow
    engine = visit_points(without, 2.0).points[1].point.flow
    assert air.uncertainty_m3_per_h is not None
    assert engine.uncertainty_m3_per_h is not None
    assert engine.uncertainty_m3_per_h > 2.0 * air.uncertainty_m3_per_h


def test_engine_is_not_reckoned_with_under_load_nor_without_its_speed() -> None:
    # Under load the filling is charged: displacement and speed do not tell the flow.
    temperatures = [beside(TEMPERATURE, 300.0, "load"), beside(TEMPERATURE, 300.0, "raised")]
    found = visit_points(
        [pressure(60.0, "load", 2500), pressure(40.0, "raised"), *temperatures], 2.0
    )
    assert {each.condition: each.flow_from for each in found.points} == {
        "load": FlowFrom.NONE,
        "raised": FlowFrom.NONE,
    }


def test_pressure_without_its_condition_is_told() -> None:
    found = visit_points([*WHOLE, pressure(3.0, "")])
    assert [each.what for each in found.left_out] == ["3 mbar"]
