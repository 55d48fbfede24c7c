"""On-board values from the bytes of an answer to service 01."""

import re
import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from garage.evidence.thresholds import Basis

_FILE = Path(__file__).with_name("table.toml")
_ANSWER = "41"
_FILLERS = (0xFFFF, 0x8000)


@dataclass(frozen=True, slots=True)
class Decoded:
    """A value of one field; None with a reason where it is not known."""

    pid: str
    item: str
    quantity: str
    value: float | None
    unit: str
    at_least: bool = False
    reason: str = ""
    basis: Basis = Basis.MEMORY


def decode(text: str) -> tuple[Decoded, ...]:
    """Which values does one answer hold, written as `41`, the PID and its data in hexadecimal?

    Units stand with each value. Raises ValueError for what is no such answer. Source: SAE
    J1979-DA, from memory.

    Examples
    --------
    >>> decode("41 31 01 2C")[0].value, decode("410C1AF8")[0].value
    (300.0, 1726.0)
    """
    packed = re.sub(r"\s", "", text).upper()
    if not re.fullmatch(r"(?:[0-9A-F]{2}){3,}", packed) or not packed.startswith(_ANSWER):
        raise ValueError(f"an answer is 41, a PID and data in hexadecimal; got {text!r}. Copy it")
    pid, data = packed[2:4], bytes.fromhex(packed[4:])
    row = _table().get(pid)
    if row is None:
        raise ValueError(f"PIDs known here are {', '.join(_table())}; got {pid}. Leave it out")
    if len(data) != row["bytes"]:
        raise ValueError(f"PID {pid} has {row['bytes']} data bytes; got {len(data)}. Copy it whole")
    return tuple(_field(pid, data, each) for each in row["fields"])


def _field(pid: str, data: bytes, row: dict[str, Any]) -> Decoded:
    at, size = row.get("at", 0), row.get("size", 2)
    raw = int.from_bytes(data[at : at + size], "big")
    signed = int.from_bytes(data[at : at + size], "big", signed=row.get("signed", False))
    value = signed / row.get("over", 1) + row.get("plus", 0)
    reason = ""
    if "support" in row and not data[0] >> row["support"] & 1:
        reason = "not supported by this vehicle"
    elif row.get("filler") and raw in _FILLERS:
        reason = f"{raw:04X} stands for no value"
    elif row.get("cold") and raw == 0:
        reason = "sensor not connected"
    elif "most" in row and abs(value) > row["most"]:
        reason = f"{value:g} {row['unit']} cannot be; the vehicle may code it with an offset"
    held = bool(row.get("holds")) and raw == 256**size - 1
    known = None if reason else float(value)
    return Decoded(pid, row["item"], row["quantity"], known, row["unit"], held, reason)


@cache
def _table() -> dict[str, Any]:
    return tomllib.loads(_FILE.read_text("utf-8"))
