"""Whether one reading can be what it says: its unit, its kind, its sign and its size."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from garage.evidence.quantities.catalogue import Filler, Quantity, quantities
from garage.evidence.quantities.units import Unit, converted, dimensions_of, unit_of, units_of
from garage.records.importing.faults import Fault

#: What the engine was doing, the words of a reading's condition.
ENGINE_OFF = "engine_off"
#: Most of what is read beside a value; beyond it, it was typed wrongly. Judgement, no source.
BESIDE_MOST = {"speed_rpm": 10_000, "km_since_burn": 100_000, "minutes_since_burn": 100_000}
UNLABELLED = "the display shows no unit; say which it is"


@dataclass(frozen=True, slots=True)
class ReadingTyped:
    """One reading as it was shown; an empty text or None for what was not said."""

    quantity: str
    value: Decimal
    unit: str = ""
    kind: str = ""
    condition: str = ""
    speed_rpm: int | None = None


@dataclass(frozen=True, slots=True)
class ReadingChecked:
    """A reading in its quantity's unit.

    Attributes
    ----------
    typed : ReadingTyped
    value : Fraction or None
        Exact; None where it is not known, and `reason` says why.
    unit : str
        Of the value; empty where the quantity is not known.
    kind : str
        As said, else the quantity's usual one.
    at_least : bool
        Whether a counter stood where it stops, so that the value is this or more.
    reason : str
    faults : tuple of Fault
        Empty for a reading that can stand, also for one without a unit.
    """

    typed: ReadingTyped
    value: Fraction | None
    unit: str
    kind: str
    at_least: bool
    reason: str
    faults: tuple[Fault, ...]

    @property
    def standard_value(self) -> float | None:
        """The value rounded to a float, as it is kept."""
        return None if self.value is None else float(self.value)


def reading_checked(typed: ReadingTyped) -> ReadingChecked:
    """Answer whether a reading can stand, and what it is in its quantity's unit.

    A reading without a unit may stand, with its value not known. Only a quantity that has one
    unit everywhere (engine speed, a count) takes it unsaid; kilometres are never taken so, for
    they may be miles. A reading with a fault has no value either: nothing is graded by it.

    Examples
    --------
    >>> told = reading_checked(ReadingTyped("pressure_across_filter", Decimal(900), "kPa"))
    >>> told.value, told.faults[0].do
    (None, 'Is it 900 mbar? Choose the unit that the display shows, or read it again.')
    >>> reading_checked(ReadingTyped("exhaust_flow", Decimal(50), "g/s")).standard_value
    180.0
    """
    known = quantities().get(typed.quantity)
    if known is None:
        fault = Fault(
            f"a reading is of one of {', '.join(quantities())}",
            typed.quantity,
            "Choose from the list.",
            "quantity",
        )
        return ReadingChecked(typed, None, "", typed.kind, False, fault.rule, (fault,))
    kind = typed.kind or known.default_kind
    faults = [*_kind_faults(known, kind), *_speed_faults(typed)]
    unit = known.unit if known.unit_goes_unsaid and not typed.unit.strip() else None
    if typed.unit.strip():
        unit = unit_of(typed.unit, known.dimension)
        faults += _unit_faults(known, typed) if unit is None else ()
    faults += _value_faults(known, typed, unit)
    if faults or unit is None:
        reason = faults[0].rule if faults else UNLABELLED
        return ReadingChecked(typed, None, known.unit.symbol, kind, False, reason, tuple(faults))
    value = converted(typed.value, unit, known.unit)
    at_least = known.holds_at is not None and value >= known.holds_at
    return ReadingChecked(typed, value, known.unit.symbol, kind, at_least, "", ())


def with_unit(value: Decimal | Fraction, unit: str) -> str:
    """A value with its unit, at most four figures after the point.

    Examples
    --------
    >>> with_unit(Fraction(9000), "mbar"), with_unit(Fraction(1, 3), "bar")
    ('9000 mbar', '0.3333 bar')
    """
    figures = f"{value.normalize():f}" if isinstance(value, Decimal) else f"{float(value):.4f}"
    if "." in figures:
        figures = figures.rstrip("0").rstrip(".")
    return f"{figures} {unit}".strip()


def _kind_faults(known: Quantity, kind: str) -> list[Fault]:
    if kind in known.kinds:
        return []
    return [
        Fault(
            f"{known.title} is {' or '.join(known.kinds)}",
            kind,
            "Choose how the value came about.",
            "kind",
        )
    ]


def _speed_faults(typed: ReadingTyped) -> list[Fault]:
    if typed.condition != ENGINE_OFF or not typed.speed_rpm:
        return []
    return [
        Fault(
            "an engine that is off does not turn",
            f"{typed.speed_rpm} rpm",
            "Say what the engine was doing, or leave its speed out.",
            "speed_rpm",
        )
    ]


def _unit_faults(known: Quantity, typed: ReadingTyped) -> list[Fault]:
    do = f"Choose one of {', '.join(each.symbol for each in units_of(known.dimension))}"
    others = dimensions_of(typed.unit)
    # Things that are read in several ways start with one word: opacity, opacity_share.
    alike = [
        each.title
        for each in quantities().values()
        if each.dimension in others and each.key.split("_")[0] == known.key.split("_")[0]
    ]
    do += f", or record it as {' or '.join(alike)}" if alike else ""
    return [
        Fault(
            f"{known.title} is read in a unit of {known.dimension}",
            typed.unit,
            f"{do}; leave the unit out if the display shows none.",
            "unit",
        )
    ]


def _value_faults(known: Quantity, typed: ReadingTyped, unit: Unit | None) -> list[Fault]:
    """At most one: a figure for no value has no sign and no size."""
    got = with_unit(typed.value, typed.unit) if typed.value.is_finite() else str(typed.value)
    if not typed.value.is_finite():
        return [Fault("a reading is a number", got, "Type the digits shown.", "value")]
    filler = next((each for each in known.fillers if _is(typed, unit, each, known)), None)
    if filler is not None:
        rule = f"{got} stands for {filler.says}, not for a value of {known.title}"
        return [Fault(rule, got, "Leave it out, and look why no value is shown.", "value")]
    if unit is None:
        return []
    value = converted(typed.value, unit, known.unit)
    if known.allows(value):
        return []
    if unit != known.unit:
        got += f", which is {with_unit(value, known.unit.symbol)}"
    if value < 0 and not known.may_be_negative:
        do = "Read it again; leave it out if it is not known."
        return [Fault(f"{known.title} is not negative", got, do, "value")]
    least, most = (with_unit(each, "") for each in (known.least, known.most))
    rule = f"{known.title} lies from {least} to {most} {known.unit.symbol}"
    return [Fault(rule, got, _instead(known, typed.value, unit), "value")]


def _is(typed: ReadingTyped, unit: Unit | None, filler: Filler, known: Quantity) -> bool:
    if filler.unit is None:
        return not typed.unit.strip() and typed.value == filler.value
    if unit is None:
        return False
    # Compared in one unit, for -40 °C is also -40 °F and 6.5535 bar is 655.35 kPa.
    told, odd = ((typed.value, unit), (filler.value, filler.unit))
    return converted(*told, known.unit) == converted(*odd, known.unit)


def _instead(known: Quantity, value: Decimal, unit: Unit) -> str:
    """What to do with a value of an odd size: a unit in which it would not be odd, if any."""
    for other in (known.unit, *units_of(known.dimension)):
        if other.factor == unit.factor and other.offset == unit.offset:
            continue
        if known.allows(converted(value, other, known.unit)):
            as_shown = with_unit(value, other.symbol)
            return f"Is it {as_shown}? Choose the unit that the display shows, or read it again."
    return "Read it again; leave it out if it is not known."
