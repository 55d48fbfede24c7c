"""Units that a workshop reads, and exact conversion between those of one dimension."""

import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from types import MappingProxyType


class Dimension(StrEnum):
    """What can be converted into each other. Opacity in per cent and the absorption of smoke are
    two: the one becomes the other only over a known length of smoke."""

    PRESSURE = "pressure"
    MASS = "mass"
    TEMPERATURE = "temperature"
    TEMPERATURE_DIFFERENCE = "temperature difference"
    MASS_FLOW = "mass flow"
    VOLUME_FLOW = "volume flow"
    ROTATION = "rotation"
    DISTANCE = "distance"
    TIME = "time"
    VOLUME = "volume"
    CONCENTRATION = "concentration"
    SMOKE_ABSORPTION = "smoke absorption"
    RATIO = "ratio"
    CONSUMPTION = "consumption over distance"
    VOLTAGE = "voltage"
    COUNT = "count"


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit: one of it is `factor` of its dimension's base, which lies `offset` further on.

    Attributes
    ----------
    symbol : str
        As printed: ``mbar``, ``°C``.
    dimension : Dimension
    factor, offset : Fraction
        Base value = shown value x factor + offset. The offset is 0 but for temperatures.
    """

    symbol: str
    dimension: Dimension
    factor: Fraction
    offset: Fraction = Fraction(0)


# By the definitions of NIST SP 811 (2008), appendix B.8: pound, standard gravity, inch, foot and
# mile are exact; inch and millimetre of mercury and of water are the conventional ones.
_POUND_G = Fraction("453.59237")
_GRAVITY_M_S2 = Fraction("9.80665")
_INCH_M = Fraction("0.0254")
_FOOT_M = 12 * _INCH_M
_MILE_M = 5280 * _FOOT_M
_HOUR_S, _MINUTE_S = 3600, 60
_PSI_PA = _POUND_G / 1000 * _GRAVITY_M_S2 / _INCH_M**2
_RANKINE_K = Fraction(5, 9)
_ICE_K = Fraction("273.15")
_FAHRENHEIT_ZERO_K = Fraction("459.67") * _RANKINE_K

# Each dimension's units, those that a workshop meets most in front: symbol, factor, other
# spellings. Gallons and quarts are left out, for they differ from one country to the next.
_TABLE: Mapping[Dimension, tuple[tuple[str, Fraction | int, str], ...]] = {
    Dimension.PRESSURE: (
        ("mbar", 100, "millibar millibars"),
        ("hPa", 100, "hectopascal"),
        ("kPa", 1000, "kilopascal"),
        ("bar", 100_000, "bars"),
        ("psi", _PSI_PA, "lbf/in2 lb/in2"),
        ("Pa", 1, "pascal"),
        ("inH2O", Fraction("249.08891"), 'inwc inwg "h2o'),
        ("inHg", Fraction("3386.389"), '"hg'),
        ("mmHg", Fraction("133.322387415"), ""),
        ("mmH2O", _GRAVITY_M_S2, "mmwc mmwg"),
        ("kgf/cm2", 10_000 * _GRAVITY_M_S2, "kg/cm2 kp/cm2"),
    ),
    Dimension.MASS: (
        ("g", 1, "gram grams gramme grammes"),
        ("kg", 1000, "kilogram kilograms"),
        ("mg", Fraction(1, 1000), "milligram milligrams"),
        ("lb", _POUND_G, "lbs pound pounds"),
        ("oz", _POUND_G / 16, "ounce ounces"),
    ),
    Dimension.TEMPERATURE_DIFFERENCE: (
        ("°C", 1, "degc degreec degreesc celsius"),
        ("K", 1, "kelvin"),
        ("°F", _RANKINE_K, "degf degreef degreesf fahrenheit"),
    ),
    Dimension.MASS_FLOW: (
        ("g/s", 1, "gps g/sec"),
        ("kg/h", Fraction(1000, _HOUR_S), "kg/hr kgh"),
        ("kg/s", 1000, ""),
        ("lb/min", _POUND_G / _MINUTE_S, "lbs/min"),
        ("lb/h", _POUND_G / _HOUR_S, "lb/hr lbs/h lbs/hr"),
    ),
    Dimension.VOLUME_FLOW: (
        ("m3/h", Fraction(1, _HOUR_S), "m3/hr"),
        ("L/min", Fraction(1, 1000 * _MINUTE_S), "lpm"),
        ("L/s", Fraction(1, 1000), "l/sec"),
        ("m3/s", 1, ""),
        ("ft3/min", _FOOT_M**3 / _MINUTE_S, "cfm cuft/min"),
    ),
    Dimension.ROTATION: (("rpm", 1, "1/min min-1 r/min rev/min u/min"),),
    Dimension.DISTANCE: (
        ("km", 1000, "kms kilometre kilometres kilometer kilometers"),
        ("mi", _MILE_M, "mile miles"),
        ("m", 1, "metre metres meter meters"),
    ),
    Dimension.TIME: (
        ("min", _MINUTE_S, "mins minute minutes"),
        ("h", _HOUR_S, "hr hrs hour hours"),
        ("s", 1, "sec secs second seconds"),
    ),
    Dimension.VOLUME: (
        ("L", 1, "litre litres liter liters ltr dm3"),
        ("mL", Fraction(1, 1000), "cc ccm cm3 millilitre millilitres"),
        ("in3", (10 * _INCH_M) ** 3, "cuin ci cid"),
    ),
    Dimension.CONCENTRATION: (
        ("1/cm3", 1, "/cm3 #/cm3 p/cm3 n/cm3 #/cc particles/cm3 cm-3"),
        ("1/m3", Fraction(1, 10**6), "/m3 #/m3 m-3"),
    ),
    Dimension.SMOKE_ABSORPTION: (("1/m", 1, "m-1 /m"),),
    Dimension.RATIO: (("%", Fraction(1, 100), "percent pct"),),
    Dimension.CONSUMPTION: (
        ("L/1000 km", 1, "l/1000km litres/1000km"),
        ("mL/1000 km", Fraction(1, 1000), "ml/1000km"),
        ("L/100 km", 10, "l/100km"),
    ),
    Dimension.VOLTAGE: (("V", 1, "volt volts"), ("mV", Fraction(1, 1000), "")),
    Dimension.COUNT: (("times", 1, "count counts time"),),
}
_OFFSETS_K = {"°C": _ICE_K, "K": Fraction(0), "°F": _FAHRENHEIT_ZERO_K}


def unit_of(text: str, dimension: Dimension) -> Unit | None:
    """Which unit of this dimension is so written? None for one that is not known.

    Case, spaces, dots, the degree sign and raised figures make no difference. What cannot be
    told apart, such as a gallon without its country, is not known.

    Examples
    --------
    >>> unit_of("mBar", Dimension.PRESSURE).symbol, unit_of("deg C", Dimension.TEMPERATURE).symbol
    ('mbar', '°C')
    >>> unit_of("kPa", Dimension.TEMPERATURE) is None
    True
    """
    return _BY_SPELLING[dimension].get(_plain(text))


def units_of(dimension: Dimension) -> tuple[Unit, ...]:
    """All units of this dimension, those that a workshop meets most in front.

    Examples
    --------
    >>> [each.symbol for each in units_of(Dimension.TIME)]
    ['min', 'h', 's']
    """
    return _UNITS[dimension]


def dimensions_of(text: str) -> tuple[Dimension, ...]:
    """Of which dimensions is there a unit so written? Empty for one that is not known.

    Examples
    --------
    >>> [str(each) for each in dimensions_of("kPa")]
    ['pressure']
    """
    return tuple(each for each in Dimension if unit_of(text, each) is not None)


def converted(value: Decimal | Fraction, unit: Unit, to: Unit) -> Fraction:
    """Answer what a value in one unit is in another, exactly; round only where it is shown.

    Raises ValueError for units of two dimensions, or a value that is not finite. Source: the
    definitions of NIST SP 811 (2008), appendix B.8.

    Examples
    --------
    >>> celsius, fahrenheit = (unit_of(u, Dimension.TEMPERATURE) for u in ("°C", "°F"))
    >>> converted(Decimal(212), fahrenheit, celsius)
    Fraction(100, 1)
    """
    if unit.dimension != to.dimension:
        raise ValueError(
            f"only units of one dimension convert; got {unit.symbol} ({unit.dimension}) and "
            f"{to.symbol} ({to.dimension}); choose a unit of {unit.dimension}"
        )
    if isinstance(value, Decimal) and not value.is_finite():
        raise ValueError(f"`value` is finite; got {value}; leave it out if not read")
    return (Fraction(value) * unit.factor + unit.offset - to.offset) / to.factor


def _plain(text: str) -> str:
    # The masculine ordinal is what many keyboards give for a degree sign.
    same = unicodedata.normalize("NFKC", text.replace("º", "°")).casefold()
    same = "/".join(same.replace("\N{MINUS SIGN}", "-").split(" per "))
    return "".join(same.split()).replace(".", "").replace("°", "")


def _built() -> dict[Dimension, tuple[Unit, ...]]:
    units = {
        dimension: tuple(Unit(symbol, dimension, Fraction(factor)) for symbol, factor, _ in rows)
        for dimension, rows in _TABLE.items()
    }
    units[Dimension.TEMPERATURE] = tuple(
        Unit(each.symbol, Dimension.TEMPERATURE, each.factor, _OFFSETS_K[each.symbol])
        for each in units[Dimension.TEMPERATURE_DIFFERENCE]
    )
    return units


def _spelled(dimension: Dimension) -> Mapping[str, Unit]:
    rows = _TABLE.get(dimension, _TABLE[Dimension.TEMPERATURE_DIFFERENCE])
    found: dict[str, Unit] = {}
    for unit, (symbol, _, others) in zip(_UNITS[dimension], rows, strict=True):
        for spelling in (_plain(symbol), *others.split()):
            if found.setdefault(spelling, unit) is not unit:
                raise ValueError(f"a spelling is one unit's; `{spelling}` came twice")
    return MappingProxyType(found)


_UNITS = _built()
_BY_SPELLING = {dimension: _spelled(dimension) for dimension in Dimension}
