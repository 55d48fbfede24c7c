"""Readings of one visit against each other."""

from collections.abc import Sequence
from decimal import Decimal

import pytest

from garage.evidence.quantities.reading_check import ReadingChecked, ReadingTyped, reading_checked
from garage.evidence.quantities.readings_together import DEFAULTS, readings_checked_together
from garage.evidence.thresholds import Override
from garage.records.choices import EngineCondition
from garage.records.importing.faults import Fault

ENDS = ("pressure_before_filter 80 mbar", "pressure_after_filter 30 mbar")


def together(*readings: str, condition: str = "raised") -> Sequence[Fault]:
    return readings_checked_together([one(each, condition) for each in readings])


def one(text: str, condition: str, kind: str = "", speed_rpm: int | None = None) -> ReadingChecked:
    quantity, value, *unit = text.split()
    return reading_checked(
        ReadingTyped(quantity, Decimal(value), " ".join(unit), kind, condition, speed_rpm)
    )


@pytest.mark.parametrize(
    ("across", "faults"),
    [
        ("pressure_across_filter 50 mbar", 0),
        ("pressure_across_filter 60 mbar", 0),
        ("pressure_across_filter 60.1 mbar", 1),
        ("pressure_across_filter 6 kPa", 0),
        ("pressure_across_filter 6.01 kPa", 1),
        # A leak or a swapped hose shows less; only more is impossible.
        ("pressure_across_filter 5 mbar", 0),
        ("pressure_across_filter -50 mbar", 0),
        ("pressure_across_filter 90", 0),
    ],
)
def test_difference_is_not_above_before_less_after_by_a_kilopascal(
    across: str, faults: int
) -> None:
    assert len(together(across, *ENDS)) == faults


@pytest.mark.parametrize("left_out", [0, 1, 2])
def test_difference_is_compared_only_where_all_three_are_read(left_out: int) -> None:
    readings = ["pressure_across_filter 90 mbar", *ENDS]
    assert len(together(*readings)) == 1
    del readings[left_out]
    assert together(*readings) == ()


def test_difference_is_compared_within_one_condition() -> None:
    across = "pressure_across_filter 90 mbar"
    apart = [one(across, "raised"), *(one(each, "idle") for each in ENDS)]
    assert readings_checked_together(apart) == ()
    here = [one(across, "idle"), *(one(each, "idle") for each in ENDS)]
    assert len(readings_checked_together(here)) == 1


def test_readings_without_a_condition_are_compared_with_nothing() -> None:
    assert together("pressure_across_filter 90 mbar", *ENDS, condition="") == ()


def test_limit_of_the_difference_can_be_overridden() -> None:
    read = [one(each, "idle") for each in ("pressure_across_filter 58 mbar", *ENDS)]
    assert readings_checked_together(read) == ()
    own = DEFAULTS.overridden([Override("difference_over_ends_most_mbar", 5.0, "own gauge")])
    assert len(readings_checked_together(read, own)) == 1


@pytest.mark.parametrize("flow", ["air_flow 0 g/s", "exhaust_flow 0 kg/h"])
def test_flow_is_above_nothing_where_the_engine_turns(flow: str) -> None:
    assert [fault.column for fault in together(flow, "engine_speed 800 rpm")] == ["value"]
    assert together(flow.replace(" 0 ", " 9 "), "engine_speed 800 rpm") == ()
    assert together(flow) == ()


def test_speed_noted_beside_a_reading_counts_too() -> None:
    flow = one("air_flow 0 g/s", "idle", speed_rpm=800)
    assert len(readings_checked_together([flow])) == 1
    assert readings_checked_together([one("air_flow 0 g/s", "idle")]) == ()


def test_no_flow_with_the_engine_off_is_no_fault() -> None:
    assert together("air_flow 0 g/s", "engine_speed 0 rpm", condition="engine_off") == ()


@pytest.mark.parametrize(
    ("condition", "speed", "faults"),
    [
        ("engine_off", 0, []),
        ("engine_off", 800, ["condition"]),
        ("idle", 0, ["condition"]),
        ("raised", 0, ["condition"]),
        ("load", 0, ["condition"]),
        ("idle", 800, []),
    ],
)
def test_engine_speed_fits_what_the_engine_was_doing(
    condition: str, speed: int, faults: list[str]
) -> None:
    told = together(f"engine_speed {speed} rpm", condition=condition)
    assert [fault.column for fault in told] == faults


def test_every_condition_of_a_reading_is_one_that_is_compared() -> None:
    odd = {"engine_off": 800, "idle": 0, "raised": 0, "load": 0}
    assert set(odd) == set(EngineCondition.values)


def test_last_of_a_quantity_is_compared() -> None:
    assert together("air_flow 0 g/s", "air_flow 9 g/s", "engine_speed 800 rpm") == ()
    assert len(together("air_flow 9 g/s", "air_flow 0 g/s", "engine_speed 800 rpm")) == 1


def test_commanded_speed_is_compared_with_nothing() -> None:
    flow = one("air_flow 0 g/s", "idle")
    measured = one("engine_speed 800 rpm", "idle")
    assert len(readings_checked_together([flow, measured])) == 1
    commanded = one("engine_speed 800 rpm", "idle", kind="commanded")
    assert readings_checked_together([flow, commanded]) == ()
