"""Units against the factors of NIST SP 811 (2008), appendix B.8, and SciPy's constants."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from garage.evidence.gauges.units import PA_PER_UNIT
from garage.evidence.quantities.units import (
    Dimension,
    Unit,
    converted,
    dimensions_of,
    unit_of,
    units_of,
)
from garage.records.distance import KM_PER_MILE

D = Dimension
ALL = [unit for dimension in Dimension for unit in units_of(dimension)]


def named(text: str, dimension: Dimension) -> Unit:
    unit = unit_of(text, dimension)
    assert unit is not None
    return unit


# Seven figures, from memory of the printed table; `si` is the unit there.
@pytest.mark.parametrize(
    ("unit", "dimension", "printed", "si"),
    [
        ("psi", D.PRESSURE, "6894.757", "Pa"),
        ("inHg", D.PRESSURE, "3386.389", "Pa"),
        ("inH2O", D.PRESSURE, "249.0889", "Pa"),
        ("mmHg", D.PRESSURE, "133.3224", "Pa"),
        ("mmH2O", D.PRESSURE, "9.80665", "Pa"),
        ("kgf/cm2", D.PRESSURE, "98066.5", "Pa"),
        ("lb", D.MASS, "0.4535924", "kg"),
        ("oz", D.MASS, "0.02834952", "kg"),
        ("lb/min", D.MASS_FLOW, "0.007559873", "kg/s"),
        ("lb/h", D.MASS_FLOW, "0.0001259979", "kg/s"),
        ("ft3/min", D.VOLUME_FLOW, "0.0004719474", "m3/s"),
        ("mi", D.DISTANCE, "1609.344", "m"),
    ],
)
def test_unit_is_the_printed_factor(unit: str, dimension: Dimension, printed: str, si: str) -> None:
    told = converted(Decimal(1), named(unit, dimension), named(si, dimension))
    assert f"{float(told):.7g}" == f"{float(printed):.7g}"


def test_cubic_inch_is_the_printed_factor() -> None:
    # The same source: 1.638706 E-05 m3, hence 16.38706 mL.
    told = converted(Decimal(1), named("in3", D.VOLUME), named("mL", D.VOLUME))
    assert f"{float(told):.7g}" == "16.38706"


@pytest.mark.parametrize(
    ("unit", "dimension", "si", "constant"),
    [
        ("psi", D.PRESSURE, "Pa", constants.psi),
        ("bar", D.PRESSURE, "Pa", constants.bar),
        ("lb", D.MASS, "kg", constants.pound),
        ("oz", D.MASS, "kg", constants.ounce),
        ("mi", D.DISTANCE, "m", constants.mile),
        ("h", D.TIME, "s", constants.hour),
        ("min", D.TIME, "s", constants.minute),
    ],
)
def test_unit_equals_scipy(unit: str, dimension: Dimension, si: str, constant: float) -> None:
    told = converted(Decimal(1), named(unit, dimension), named(si, dimension))
    assert float(told) == pytest.approx(constant, rel=1e-14)


@pytest.mark.parametrize("value", ["-40", "0", "98.6", "212", "1200"])
@pytest.mark.parametrize(
    ("unit", "to", "names"),
    [
        ("°F", "°C", ("Fahrenheit", "Celsius")),
        ("°C", "°F", ("Celsius", "Fahrenheit")),
        ("°F", "K", ("Fahrenheit", "Kelvin")),
        ("K", "°C", ("Kelvin", "Celsius")),
    ],
)
def test_temperature_equals_scipy(value: str, unit: str, to: str, names: tuple[str, str]) -> None:
    told = converted(Decimal(value), named(unit, D.TEMPERATURE), named(to, D.TEMPERATURE))
    expected = constants.convert_temperature(float(value), *names)
    assert float(told) == pytest.approx(float(expected), abs=1e-9)


def test_temperature_difference_has_no_offset() -> None:
    # 18 degrees between two sensors on a Fahrenheit display are 10 degrees Celsius, not -7.8.
    fahrenheit = named("°F", D.TEMPERATURE_DIFFERENCE)
    assert converted(Decimal(18), fahrenheit, named("°C", D.TEMPERATURE_DIFFERENCE)) == 10


@given(
    st.decimals(-(10**9), 10**9, places=4),
    st.sampled_from([(a, b) for a in ALL for b in units_of(a.dimension)]),
)
def test_conversion_there_and_back_is_the_same_value(
    value: Decimal, units: tuple[Unit, Unit]
) -> None:
    unit, to = units
    assert converted(converted(value, unit, to), to, unit) == Fraction(value)


def test_conversion_across_dimensions_is_refused() -> None:
    mbar = named("mbar", D.PRESSURE)
    assert converted(Decimal(5), mbar, named("kPa", D.PRESSURE)) == Fraction(1, 2)
    with pytest.raises(ValueError, match="one dimension"):
        converted(Decimal(5), mbar, named("g", D.MASS))


@pytest.mark.parametrize("value", ["NaN", "Infinity"])
def test_conversion_of_no_number_is_refused(value: str) -> None:
    mbar = named("mbar", D.PRESSURE)
    with pytest.raises(ValueError, match="finite"):
        converted(Decimal(value), mbar, mbar)


@pytest.mark.parametrize(
    ("text", "dimension", "symbol"),
    [
        ("mBar", D.PRESSURE, "mbar"),
        (" in. Hg ", D.PRESSURE, "inHg"),
        ("inH₂O", D.PRESSURE, "inH2O"),
        ("KPA", D.PRESSURE, "kPa"),
        ("lbf/in²", D.PRESSURE, "psi"),
        ("°F", D.TEMPERATURE, "°F"),
        ("deg C", D.TEMPERATURE, "°C"),
        ("ºC", D.TEMPERATURE, "°C"),
        ("℃", D.TEMPERATURE, "°C"),
        ("c", D.TEMPERATURE, "°C"),
        ("g per s", D.MASS_FLOW, "g/s"),
        ("Kg/hr", D.MASS_FLOW, "kg/h"),
        ("m³/h", D.VOLUME_FLOW, "m3/h"),
        ("min⁻¹", D.ROTATION, "rpm"),
        ("Miles", D.DISTANCE, "mi"),
        ("hrs", D.TIME, "h"),
        ("ltr", D.VOLUME, "L"),
        ("#/cm³", D.CONCENTRATION, "1/cm3"),
        ("m⁻¹", D.SMOKE_ABSORPTION, "1/m"),
        ("per cent", D.RATIO, "%"),
        ("l/1000km", D.CONSUMPTION, "L/1000 km"),
    ],
)
def test_spelling_is_understood(text: str, dimension: Dimension, symbol: str) -> None:
    assert named(text, dimension).symbol == symbol


@pytest.mark.parametrize(
    ("text", "dimension"),
    [
        ("", D.PRESSURE),
        ("stone", D.MASS),
        ("5", D.PRESSURE),
        ("bar g", D.PRESSURE),
        ("gal", D.VOLUME),
        ("%", D.SMOKE_ABSORPTION),
        ("kPa", D.MASS),
    ],
)
def test_unit_that_is_not_known_is_none(text: str, dimension: Dimension) -> None:
    assert unit_of(text, dimension) is None


@pytest.mark.parametrize("unit", ALL, ids=lambda unit: f"{unit.dimension}-{unit.symbol}")
def test_symbol_is_read_back_as_its_own_unit(unit: Unit) -> None:
    assert unit_of(unit.symbol, unit.dimension) is unit


def test_text_of_two_dimensions_tells_both() -> None:
    assert dimensions_of("°C") == (D.TEMPERATURE, D.TEMPERATURE_DIFFERENCE)
    assert dimensions_of("stone") == ()


def test_candidates_of_a_display_are_units_of_pressure_and_each_slope_once() -> None:
    factors = [each.factor for each in units_of(D.PRESSURE)]
    assert set(PA_PER_UNIT.values()) <= set(factors)
    assert len(set(PA_PER_UNIT.values())) == len(PA_PER_UNIT)


def test_mile_is_the_one_of_the_odometer() -> None:
    told = converted(Decimal(1), named("mi", D.DISTANCE), named("km", D.DISTANCE))
    assert told == Fraction(KM_PER_MILE)
