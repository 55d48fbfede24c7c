"""From readings of the records to what resistance is reckoned from."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from garage.evidence.jobs.reading_number import reading_number, reading_step
from garage.evidence.jobs.reading_rows import reading_said
from garage.evidence.quantities.catalogue import quantities
from garage.evidence.resistance.visit_said import PRESSURE, UNITS, ReadingTaken
from garage.evidence.visit.said import Unused
from garage.records.choices import ReadingKind
from garage.records.models import Reading


@dataclass(frozen=True, slots=True)
class ReadingsTaken:
    """The readings that have a number, and those that have none, with why."""

    taken: tuple[ReadingTaken, ...]
    left_out: tuple[Unused, ...]


def readings_taken(readings: Iterable[Reading]) -> ReadingsTaken:
    """Which of these readings of one visit can be reckoned with?

    A pressure that the vehicle reckons is none that was read, and a commanded value is none at
    all. One beyond what its quantity can be was most likely typed wrongly.
    """
    taken: list[ReadingTaken] = []
    left_out: list[Unused] = []
    for each in readings:
        if each.quantity not in UNITS:
            continue
        found = _taken(each)
        if isinstance(found, Unused):
            left_out.append(found)
        else:
            taken.append(found)
    return ReadingsTaken(tuple(taken), tuple(left_out))


def _taken(reading: Reading) -> ReadingTaken | Unused:
    known, unit = quantities()[reading.quantity], UNITS[reading.quantity]
    said = reading_said(reading)
    what = f"{known.title} {said.typed}"
    value = reading_number(reading, unit)
    if value is None or reading.standard_value is None:
        return Unused(what, said.reason)
    if reading.kind not in _kinds(reading.quantity):
        return Unused(what, "reckoned or commanded by the vehicle, not read")
    if not known.allows(Fraction(reading.standard_value)):
        return Unused(what, "beyond what it can be; look at its unit and figures")
    return ReadingTaken(
        quantity=reading.quantity,
        value=value,
        step=reading_step(reading, unit),
        typed=said.typed,
        condition=reading.condition,
        layout=reading.layout if reading.quantity == PRESSURE else "",
        speed_rpm=reading.speed_rpm,
    )


def _kinds(quantity: str) -> Sequence[str]:
    if quantity == PRESSURE:
        return (ReadingKind.MEASURED,)
    return (ReadingKind.MEASURED, ReadingKind.MODELLED)
