"""One reading by itself: what it is in the quantity's unit, and what it breaks."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest

from garage.evidence.quantities.catalogue import Quantity, quantities
from garage.evidence.quantities.reading_check import (
    ENGINE_OFF,
    UNLABELLED,
    ReadingChecked,
    ReadingTyped,
    reading_checked,
    with_unit,
)
from garage.records.choices import EngineCondition

PRESSURE = ReadingTyped("pressure_across_filter", Decimal("9.5"), "kPa")
each_quantity = pytest.mark.parametrize("told", quantities().values(), ids=lambda told: told.key)


def checked(quantity: str, value: str, unit: str = "", kind: str = "") -> ReadingChecked:
    return reading_checked(ReadingTyped(quantity, Decimal(value), unit, kind))


def columns(told: ReadingChecked) -> list[str]:
    return [fault.column for fault in told.faults]


def test_reading_is_told_in_the_unit_of_its_quantity() -> None:
    told = reading_checked(PRESSURE)
    assert (told.value, told.unit, told.kind) == (95, "mbar", "measured")
    assert (told.reason, told.faults, told.at_least) == ("", (), False)


def test_engine_off_is_the_word_of_a_readings_condition() -> None:
    assert ENGINE_OFF == EngineCondition.ENGINE_OFF


@pytest.mark.parametrize(
    ("quantity", "value", "unit", "standard"),
    [
        # NIST SP 811, appendix B.8: 1 psi = 6894.757 Pa, 1 inH2O = 249.0889 Pa, 1 mi = 1.609344 km.
        ("pressure_across_filter", "1", "psi", 68.94757),
        ("pressure_across_filter", "4", "in H2O", 9.963556),
        ("pressure_across_filter", "-12", "mbar", -12),
        ("distance_since_clear", "100", "miles", 160.9344),
        ("coolant_temperature", "185", "°F", 85),
        ("cold_temperature_spread", "18", "°F", 10),
        ("exhaust_flow", "50", "g/s", 180),
        ("engine_run_time", "5400", "s", 1.5),
    ],
)
def test_unit_is_converted(quantity: str, value: str, unit: str, standard: float) -> None:
    assert checked(quantity, value, unit).standard_value == pytest.approx(standard, rel=1e-6)


def test_reading_keeps_every_digit_until_it_is_kept() -> None:
    told = checked("soot_mass", "0.1", "oz")
    assert told.value == Fraction("28.349523125") / 10


def test_reading_without_a_unit_stands_with_its_value_not_known() -> None:
    told = checked("pressure_across_filter", "9.5")
    assert (told.value, told.standard_value, told.reason) == (None, None, UNLABELLED)
    assert told.faults == ()


# Kilometres stay unsaid, for they may be miles.
@pytest.mark.parametrize(
    ("quantity", "value"),
    [("engine_speed", 800), ("warm_ups_since_clear", 12), ("distance_since_clear", None)],
)
def test_unit_goes_unsaid_only_where_there_is_one_everywhere(
    quantity: str, value: int | None
) -> None:
    assert checked(quantity, "800" if quantity == "engine_speed" else "12").value == value


def test_quantity_that_is_not_known_is_a_fault() -> None:
    told = checked("soot_weight", "5", "g")
    assert (columns(told), told.value) == (["quantity"], None)
    assert told.faults[0].got == "soot_weight"


@pytest.mark.parametrize("unit", ["stone", "g", "%"])
def test_unit_of_another_dimension_is_a_fault(unit: str) -> None:
    told = reading_checked(replace(PRESSURE, unit=unit))
    assert (columns(told), told.value) == (["unit"], None)
    assert "mbar, hPa, kPa" in told.faults[0].do


def test_opacity_in_per_cent_is_pointed_to_the_quantity_that_it_is() -> None:
    assert checked("opacity", "1.5", "1/m").faults == ()
    do = checked("opacity", "35", "%").faults[0].do
    assert "record it as smoke opacity in per cent" in do


@pytest.mark.parametrize(
    ("quantity", "value", "unit"),
    [
        ("coolant_temperature", "-40", "°C"),
        ("coolant_temperature", "-40", "°F"),
        ("coolant_temperature", "-40", ""),
        ("exhaust_temperature_before", "6513.5", "°C"),
        ("pressure_across_filter", "655.35", "kPa"),
        ("pressure_across_filter", "6.5535", "bar"),
        ("pressure_across_filter", "-327.68", "kPa"),
        ("air_flow", "655.35", "g/s"),
        ("barometric_pressure", "255", "kPa"),
        ("odometer_on_board", "429496729.5", ""),
        ("engine_speed", "16383.75", ""),
        ("engine_speed", "65535", ""),
        ("air_flow", "655.35", ""),
    ],
)
def test_figure_for_no_value_is_a_fault(quantity: str, value: str, unit: str) -> None:
    told = checked(quantity, value, unit)
    assert (columns(told), told.value) == (["value"], None)
    assert "stands for" in told.faults[0].rule


def test_bare_figure_that_is_a_value_in_another_unit_stands() -> None:
    # 215 is the largest figure of one byte in °C, and a warm engine in °F.
    assert columns(checked("coolant_temperature", "215", "°C")) == ["value"]
    assert checked("coolant_temperature", "215").faults == ()


@pytest.mark.parametrize("value", ["-39", "-41"])
def test_cold_beside_the_figure_for_no_value_stands(value: str) -> None:
    assert checked("coolant_temperature", value, "°C").value == int(value)


@pytest.mark.parametrize(
    ("quantity", "stops", "unit"),
    [
        ("distance_since_clear", 65535, "km"),
        ("time_since_clear", 65535, "min"),
        ("warm_ups_since_clear", 255, ""),
    ],
)
def test_counter_where_it_stops_is_read_as_at_least(quantity: str, stops: int, unit: str) -> None:
    told = checked(quantity, str(stops), unit)
    assert (told.value, told.at_least, told.faults) == (stops, True, ())
    below = checked(quantity, str(stops - 1), unit)
    assert (below.value, below.at_least, below.faults) == (stops - 1, False, ())


@pytest.mark.parametrize(
    ("quantity", "value", "unit", "instead"),
    [
        ("pressure_across_filter", "900", "kPa", "Is it 900 mbar?"),
        ("pressure_across_filter", "3200", "mbar", "Is it 3200 Pa?"),
        ("coolant_temperature", "190", "°C", "Is it 190 °F?"),
        ("barometric_pressure", "1013", "kPa", "Is it 1013 mbar?"),
        ("filter_volume", "2500", "L", "Is it 2500 mL?"),
    ],
)
def test_value_out_of_range_names_the_unit_that_would_fit(
    quantity: str, value: str, unit: str, instead: str
) -> None:
    told = checked(quantity, value, unit)
    assert (columns(told), told.value) == (["value"], None)
    assert told.faults[0].do.startswith(instead)
    named = instead.removesuffix("?").split()[-1]
    assert checked(quantity, value, named).faults == ()


def test_value_out_of_range_in_every_unit_names_none() -> None:
    told = checked("opacity_share", "101", "%")
    assert told.faults[0].do.startswith("Read it again")


@each_quantity
def test_range_ends_with_its_least_and_its_most(told: Quantity) -> None:
    step = Fraction(1, 1000)
    for end, beyond in ((told.least, told.least - step), (told.most, told.most + step)):
        within, outside = (
            checked(told.key, f"{float(value):.3f}", told.unit.symbol) for value in (end, beyond)
        )
        assert within.value == end
        assert columns(outside) == ["value"]


def test_negative_value_of_what_cannot_be_is_a_fault_of_its_sign() -> None:
    assert checked("soot_mass", "0", "g").value == 0
    told = checked("soot_mass", "-3", "g")
    assert (columns(told), told.faults[0].rule) == (
        ["value"],
        "soot, as the vehicle reckons it is not negative",
    )


def test_temperature_below_zero_has_no_wrong_sign() -> None:
    assert checked("coolant_temperature", "-12", "°C").faults == ()


@pytest.mark.parametrize(
    ("quantity", "unit", "kind", "faults"),
    [
        ("soot_mass", "g", "", []),
        ("soot_mass", "g", "modelled", []),
        ("soot_mass", "g", "measured", ["kind"]),
        ("exhaust_temperature_before", "°C", "commanded", []),
        ("particle_count", "1/cm3", "modelled", ["kind"]),
        ("particle_count", "1/cm3", "guessed", ["kind"]),
    ],
)
def test_kind_is_one_that_the_quantity_allows(
    quantity: str, unit: str, kind: str, faults: list[str]
) -> None:
    told = checked(quantity, "20", unit, kind)
    assert columns(told) == faults
    assert (told.value is None) == bool(faults)


@pytest.mark.parametrize(
    ("condition", "speed_rpm", "faults"),
    [
        (ENGINE_OFF, 800, ["speed_rpm"]),
        (ENGINE_OFF, 0, []),
        (ENGINE_OFF, None, []),
        ("idle", 800, []),
    ],
)
def test_engine_that_is_off_does_not_turn(
    condition: str, speed_rpm: int | None, faults: list[str]
) -> None:
    told = reading_checked(replace(PRESSURE, condition=condition, speed_rpm=speed_rpm))
    assert columns(told) == faults


@pytest.mark.parametrize("value", ["NaN", "Infinity"])
@pytest.mark.parametrize("unit", ["", "kPa", "stone"])
def test_no_number_is_a_fault(value: str, unit: str) -> None:
    assert columns(checked("pressure_across_filter", value, unit))[-1] == "value"


def test_all_faults_of_a_reading_are_told_at_once() -> None:
    typed = ReadingTyped("coolant_temperature", Decimal(-40), "kPa", "guessed", ENGINE_OFF, 800)
    # Of a unit that does not fit, the size says nothing.
    assert columns(reading_checked(typed)) == ["kind", "speed_rpm", "unit"]
    fitting = columns(reading_checked(replace(typed, unit="°C")))
    assert fitting == ["kind", "speed_rpm", "value"]


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (Decimal("1E+3"), "1000 g"),
        (Decimal("100"), "100 g"),
        (Decimal("2.50"), "2.5 g"),
        (Fraction(100), "100 g"),
        (Fraction(2, 3), "0.6667 g"),
        (Fraction(-5, 2), "-2.5 g"),
    ],
)
def test_value_is_shown_without_idle_noughts(value: Decimal | Fraction, text: str) -> None:
    assert with_unit(value, "g") == text
