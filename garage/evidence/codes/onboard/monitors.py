"""The self-tests of a diesel by the four data bytes of PID 01."""

from dataclasses import dataclass

#: Bits of the third and fourth byte for compression ignition (SAE J1979-DA, from memory).
_NAMES = {
    0: "hydrocarbon catalyst",
    1: "reductant and nitrogen oxides",
    3: "boost",
    5: "exhaust gas sensor",
    6: "particulate filter",
    7: "gas recirculation",
}


@dataclass(frozen=True, slots=True)
class Monitors:
    """Lamp, codes counted, and self-tests kept and not yet completed since a clear."""

    lamp_on: bool
    codes: int
    kept: tuple[str, ...]
    incomplete: tuple[str, ...]


def read_monitors(data: bytes) -> Monitors:
    """What do the self-tests of a diesel say?

    Raises ValueError for other than four bytes or spark ignition. Source: SAE J1979-DA, memory.

    Examples
    --------
    >>> read_monitors(bytes.fromhex("82084040")).incomplete
    ('particulate filter',)
    """
    if len(data) != 4 or not data[1] & 0x08:
        raise ValueError(f"PID 01 of a diesel has 4 bytes, bit 3 of B set; got {data.hex()}. Check")
    kept = tuple(name for bit, name in _NAMES.items() if data[2] >> bit & 1)
    open_ = tuple(name for bit, name in _NAMES.items() if data[2] & data[3] & 1 << bit)
    return Monitors(bool(data[0] & 0x80), data[0] & 0x7F, kept, open_)
