"""The self-tests of a diesel by the four data bytes of PID 01, or of PID 41."""

from dataclasses import dataclass

#: The self-test that a missing or broken filter would fail.
FILTER = "particulate filter"
#: Bits of the second byte: kept in the lower half, incomplete in the upper (SAE J1979, from
#: memory).
_ALWAYS_RUN = {0: "misfire", 1: "fuel system", 2: "components"}
#: Bits of the third and fourth byte for compression ignition (SAE J1979-DA, from memory).
_NAMES = {
    0: "hydrocarbon catalyst",
    1: "reductant and nitrogen oxides",
    3: "boost",
    5: "exhaust gas sensor",
    6: FILTER,
    7: "gas recirculation",
}
_DIESEL = 0x08


@dataclass(frozen=True, slots=True)
class Monitors:
    """Lamp, codes counted, and self-tests kept and not yet completed.

    Attributes
    ----------
    lamp_on : bool or None
    codes : int or None
        None in PID 41, which does not speak of lamp and codes.
    kept, incomplete : tuple of str
        Since a clear; in PID 41, in this drive.
    this_drive : bool
        Whether it was PID 41.
    sender : str
        The control unit's address, where one was copied.
    """

    lamp_on: bool | None
    codes: int | None
    kept: tuple[str, ...]
    incomplete: tuple[str, ...]
    this_drive: bool = False
    sender: str = ""

    @property
    def filter_incomplete(self) -> bool | None:
        """Whether the filter's own test has yet to run; None where the vehicle has none."""
        return FILTER in self.incomplete if FILTER in self.kept else None

    @property
    def others_incomplete(self) -> bool:
        """Whether a test other than the filter's has yet to run."""
        return any(name != FILTER for name in self.incomplete)


def read_monitors(data: bytes, *, this_drive: bool = False) -> Monitors:
    """What do the self-tests of a diesel say?

    `this_drive` is for PID 41. Raises ValueError for other than four bytes or spark ignition.
    Source: SAE J1979-DA, from memory.

    Examples
    --------
    >>> read_monitors(bytes.fromhex("82084040")).incomplete
    ('particulate filter',)
    """
    if len(data) != 4 or not data[1] & _DIESEL:
        raise ValueError(
            f"the self-tests of a diesel are 4 bytes, bit 3 of B set; got {data.hex()}. Check"
        )
    lamp, always, kept, incomplete = data
    return Monitors(
        lamp_on=None if this_drive else bool(lamp & 0x80),
        codes=None if this_drive else lamp & 0x7F,
        kept=_named(_ALWAYS_RUN, always) + _named(_NAMES, kept),
        incomplete=_named(_ALWAYS_RUN, always & always >> 4) + _named(_NAMES, kept & incomplete),
        this_drive=this_drive,
    )


def _named(names: dict[int, str], bits: int) -> tuple[str, ...]:
    return tuple(name for bit, name in names.items() if bits >> bit & 1)
