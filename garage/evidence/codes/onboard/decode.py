"""On-board values from the bytes of an answer to service 01."""

import re
from dataclasses import dataclass

from garage.evidence.codes.onboard.table import AnswerRow, NumberRow, StateRow, answer_rows
from garage.evidence.thresholds import Basis, Threshold, Thresholds

#: What an answer to service 01 begins with.
ANSWER = 0x41
NOT_SUPPORTED = "not supported by this vehicle"

DEFAULTS = Thresholds(
    [
        Threshold(
            "difference_most_kpa",
            100.0,
            "kPa",
            "difference across the filter that a vehicle can mean; twice what any filter reaches",
            Basis.JUDGEMENT,
            # Up to here a raw is plausible in one of the two codings alone, never in both.
            most=163.0,
        ),
    ]
)


@dataclass(frozen=True, slots=True)
class Decoded:
    """A number that an answer holds; None with a reason where it is not known.

    Attributes
    ----------
    pid, item : str
    quantity : str
        The catalogue's, that it may be kept as; empty where it is none.
    value : float or None
    unit : str
    at_least : bool
        Whether a counter stands where it stops, so that the value is this or more.
    reason : str
        Why the value is not known.
    basis : Basis
        Of the formula.
    kind : str
        "measured", or "modelled" where the vehicle reckons it.
    sender : str
        The control unit's address, where one was copied.
    warning : str
        Why to doubt a value that stands.
    """

    pid: str
    item: str
    quantity: str
    value: float | None
    unit: str
    at_least: bool = False
    reason: str = ""
    basis: Basis = Basis.MEMORY
    kind: str = "measured"
    sender: str = ""
    warning: str = ""


@dataclass(frozen=True, slots=True)
class Stated:
    """A state that an answer holds, in words; empty with a reason where it is not known."""

    pid: str
    item: str
    words: str
    reason: str = ""
    basis: Basis = Basis.MEMORY
    sender: str = ""


@dataclass(frozen=True, slots=True)
class AnswerDecoded:
    """What one answer holds: its numbers and its states."""

    numbers: tuple[Decoded, ...]
    states: tuple[Stated, ...]


def decode(text: str, limits: Thresholds = DEFAULTS) -> tuple[Decoded, ...]:
    """Which numbers does one answer hold, written as `41`, the PID and its data in hexadecimal?

    Units stand with each value. Raises ValueError for what is no such answer. Source: SAE
    J1979-DA, from memory; the layouts of 83, 8B and 8F are the least certain.

    Notes
    -----
    The difference of pressure in 7A and 7B is read with a sign (two's complement, 0.01 kPa). Some
    describe it with an offset of -327.68 kPa instead. What is plausible in the one coding is beyond
    `difference_most_kpa` in the other: it is then not known, with that reason, and never guessed.

    Examples
    --------
    >>> decode("41 31 01 2C")[0].value, decode("410C1AF8")[0].value
    (300.0, 1726.0)
    """
    packed = re.sub(r"\s", "", text).upper()
    if not re.fullmatch(r"(?:[0-9A-F]{2}){3,}", packed) or not packed.startswith(f"{ANSWER:X}"):
        raise ValueError(f"an answer is 41, a PID and data in hexadecimal; got {text!r}. Copy it")
    return decode_data(packed[2:4], bytes.fromhex(packed[4:]), limits).numbers


def decode_data(pid: str, data: bytes, limits: Thresholds = DEFAULTS) -> AnswerDecoded:
    """Which numbers and states do the data bytes of this PID hold?

    Raises ValueError for a PID that is not in the table, or another number of bytes.

    Examples
    --------
    >>> decode_data("1C", bytes([6])).states[0].words
    'Europe'
    """
    row = row_of(pid)
    if len(data) not in row.lengths:
        lengths = " or ".join(map(str, row.lengths))
        raise ValueError(f"PID {pid} has {lengths} data bytes; got {len(data)}. Copy it whole")
    return AnswerDecoded(
        tuple(
            _number(pid, data, each, limits)
            for each in row.numbers
            if each.at + each.size <= len(data)
        ),
        tuple(_state(pid, data, each) for each in row.states),
    )


def row_of(pid: str) -> AnswerRow:
    """How this PID's answer is laid out; raises ValueError for one that is not in the table.

    Examples
    --------
    >>> row_of("31").lengths
    (2,)
    """
    row = answer_rows().get(pid)
    if row is None:
        known = ", ".join(answer_rows())
        raise ValueError(f"PIDs with values known here are {known}; got {pid}. Leave it out")
    return row


def _number(pid: str, data: bytes, row: NumberRow, limits: Thresholds) -> Decoded:
    part = data[row.at : row.at + row.size]
    raw = int.from_bytes(part, "big")
    value = int.from_bytes(part, "big", signed=row.signed) * row.times / row.over + row.plus
    reason = ""
    if row.support is not None and not data[0] >> row.support & 1:
        reason = NOT_SUPPORTED
    elif row.away is not None and data[0] >> row.away & 1:
        reason = "the vehicle says that it has no value at present"
    elif row.no_scale:
        reason = f"its scale is not certain; the bytes are {part.hex().upper()}"
    elif raw in row.fillers:
        reason = f"{part.hex().upper()} stands for no value"
    elif row.cold and raw == 0:
        reason = "sensor not connected"
    elif row.limit and abs(value) > limits[row.limit]:
        reason = f"{value:g} {row.unit} cannot be; the vehicle may code it with an offset"
    return Decoded(
        pid=pid,
        item=row.item,
        quantity=row.quantity,
        value=None if reason else float(value),
        unit=row.unit,
        at_least=not reason and row.holds and raw == row.largest_raw,
        reason=reason,
        kind=row.kind,
    )


def _state(pid: str, data: bytes, row: StateRow) -> Stated:
    if row.support is not None and not data[0] >> row.support & 1:
        return Stated(pid, row.item, "", NOT_SUPPORTED)
    raw = data[row.at] if row.bit is None else data[row.at] >> row.bit & 1
    words = row.words.get(raw, "")
    return Stated(pid, row.item, words, "" if words else f"{raw:02X} has no meaning known here")
