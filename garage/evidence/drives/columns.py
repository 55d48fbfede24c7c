"""Heads of a drive's columns: which quantity a column holds, in which unit."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from garage.evidence.quantities.units import Dimension, Unit, converted, unit_of


@dataclass(frozen=True, slots=True)
class Quantity:
    """What a column may hold.

    Attributes
    ----------
    key : str
        Its name with the unit that it is kept in.
    unit : str
    dimension : Dimension
    needs_unit : bool
        Whether a head without a unit leaves the column unread.
    least, most : float
        In the kept unit; a number outside is what a display shows for "no value", or a slip
        (judgement, no source).
    spellings : tuple of str
        Lower case, without unit; an own form: words of the trade, most telling first.
    """

    key: str
    unit: str
    dimension: Dimension
    needs_unit: bool
    least: float
    most: float
    spellings: tuple[str, ...]


QUANTITIES: tuple[Quantity, ...] = (
    Quantity(
        "time_s",
        "s",
        Dimension.TIME,
        False,
        0.0,
        1e10,
        ("time", "time stamp", "timestamp", "elapsed time"),
    ),
    Quantity("distance_km", "km", Dimension.DISTANCE, False, 0.0, 1e7, ("distance", "odometer")),
    Quantity(
        "soot_g", "g", Dimension.MASS, False, -50.0, 500.0, ("soot", "soot mass", "modelled soot")
    ),
    Quantity(
        "inlet_c",
        "°C",
        Dimension.TEMPERATURE,
        False,
        -60.0,
        1400.0,
        ("inlet", "inlet temperature", "filter inlet temperature", "temperature before filter"),
    ),
    Quantity(
        "pressure_mbar",
        "mbar",
        Dimension.PRESSURE,
        True,
        -500.0,
        2000.0,
        ("pressure", "pressure across the filter", "differential pressure", "filter pressure"),
    ),
    Quantity(
        "speed_rpm", "rpm", Dimension.ROTATION, False, 0.0, 10_000.0, ("speed", "engine speed")
    ),
    Quantity(
        "exhaust_flow_kg_h", "kg/h", Dimension.MASS_FLOW, False, 0.0, 10_000.0, ("exhaust flow",)
    ),
)

Convert = Callable[[float], float]
#: From a quantity and a unit as written to a conversion into the kept unit; None if not known.
UnitReader = Callable[[Quantity, str], Convert | None]

_UNIT_IN_BRACKETS = re.compile(r"^(?P<name>[^(\[]+)[(\[](?P<unit>[^)\]]*)[)\]]$")


@dataclass(frozen=True, slots=True)
class ColumnRead:
    """One head understood: its quantity, the conversion, and a remark where one is due."""

    quantity: Quantity
    convert: Convert | None
    remark: str = ""


def unit_known(quantity: Quantity, unit: str) -> Convert | None:
    """How numbers in this unit come into the kept one; None for a unit that is not known.

    Examples
    --------
    >>> unit_known(QUANTITIES[4], "kPa")(2.0)
    20.0
    >>> unit_known(QUANTITIES[2], "stone") is None
    True
    """
    shown, kept = unit_of(unit, quantity.dimension), unit_of(quantity.unit, quantity.dimension)
    if shown is None or kept is None:
        return None
    return _conversion(shown, kept)


def head_read(head: str, reader: UnitReader = unit_known) -> ColumnRead | None:
    """Answer what a column of this head holds; None where it is none of those used here.

    Units stand in round or square brackets, or behind an underscore. A head without a unit is
    taken to be in the kept one, which the remark says; a pressure without a unit is not read, as
    the usual displays lie ten times apart.

    Examples
    --------
    >>> head_read("Inlet temperature (°C)").quantity.key, head_read("soot_g").remark
    ('inlet_c', '')
    >>> head_read("pressure").convert is None
    True
    """
    text = " ".join(head.strip().casefold().split())
    for quantity in QUANTITIES:
        unit = _unit_behind(text, quantity, reader)
        if unit is None:
            continue
        if unit:
            convert = reader(quantity, unit)
            words = f"`{head.strip()}` is not read: its unit is not known here"
            return ColumnRead(quantity, convert, "" if convert is not None else words)
        if quantity.needs_unit:
            words = f"`{head.strip()}` is not read: no unit is written; add one, such as [mbar]"
            return ColumnRead(quantity, None, words)
        told = "" if quantity.key == "time_s" else f"`{head.strip()}` is taken in {quantity.unit}"
        return ColumnRead(quantity, _as_it_is, told)
    return None


def _unit_behind(text: str, quantity: Quantity, reader: UnitReader) -> str | None:
    """The unit of a head that names this quantity, empty if none is written; else None."""
    bracketed = _UNIT_IN_BRACKETS.match(text)
    if bracketed is not None:
        name = " ".join(bracketed["name"].replace("_", " ").split())
        return bracketed["unit"].strip() if name in quantity.spellings else None
    if text.replace("_", " ") in quantity.spellings:
        return ""
    for spelling in quantity.spellings:
        start = spelling.replace(" ", "_") + "_"
        unit = text.removeprefix(start).replace("_", "/")
        # Behind an underscore more words may stand: only a unit that is known is one.
        if text.startswith(start) and reader(quantity, unit) is not None:
            return unit
    return None


def _as_it_is(value: float) -> float:
    return value


def _conversion(shown: Unit, kept: Unit) -> Convert:
    if shown == kept:
        return _as_it_is
    offset = converted(Fraction(0), shown, kept)
    factor = float(converted(Fraction(1), shown, kept) - offset)
    shift = float(offset)
    return lambda value: value * factor + shift
