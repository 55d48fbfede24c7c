"""The written and the two-byte form of a five-character trouble code."""

import re
from dataclasses import dataclass
from enum import StrEnum

#: By SAE J2012 / ISO 15031-6: letter, 0 to 3, three hexadecimal characters.
_FORM = re.compile(r"[PCBU][0-3][0-9A-F]{3}")
_FAILURE_TYPE = re.compile(r"[0-9A-F]{2}")
_LETTERS = "PCBU"  # bits 15 and 14: 00, 01, 10, 11
_TWO_BYTES = 2
_THREE_BYTES = 3
_LENGTH = 5
_BYTE_MOST = 0xFF
#: From memory of SAE J2012: up to P33FF the maker's, from P3400 kept for the standard.
_P3_STANDARD_FROM = "400"


class Definer(StrEnum):
    """Who says what a code of this range means."""

    STANDARD = "standard"
    MAKER = "maker"
    RESERVED = "reserved"
    SHARED = "shared"

    @property
    def words(self) -> str:
        return _DEFINER_WORDS[self]


_DEFINER_WORDS = {
    Definer.STANDARD: "defined by ISO/SAE, alike on every vehicle",
    Definer.MAKER: "defined by the vehicle's maker",
    Definer.RESERVED: "reserved",
    Definer.SHARED: "shared between ISO/SAE and the maker; which part is whose is not known here",
}


@dataclass(frozen=True, slots=True)
class TroubleCode:
    """A code in the form of ISO 15031-6, with its failure type where a third byte was read.

    Attributes
    ----------
    code : str
        Five characters, upper case.
    failure_type : int or None
        0 to 255; None where only two bytes were read. 0 is not None: it says "no failure type".

    Examples
    --------
    >>> TroubleCode("P2463", 0x92).printed
    'P2463-92'
    """

    code: str
    failure_type: int | None = None

    def __post_init__(self) -> None:
        if not _FORM.fullmatch(self.code):
            raise ValueError(f"a trouble code is {_RULE}; got {self.code!r}. Use parse_code")
        if self.failure_type is not None and not 0 <= self.failure_type <= _BYTE_MOST:
            raise ValueError(
                f"a failure type is one byte, 0 to 255; got {self.failure_type}. Read it again"
            )

    @property
    def printed(self) -> str:
        """As printed: `P2463`, or `P2463-92` with a failure type."""
        return self.code if self.failure_type is None else f"{self.code}-{self.failure_type:02X}"

    @property
    def definer(self) -> Definer:
        """Who defines this code (SAE J2012; the split of P3 from memory)."""
        letter, second = self.code[0], self.code[1]
        if letter == "P":
            if second == "3":
                later = self.code[2:] >= _P3_STANDARD_FROM
                return Definer.STANDARD if later else Definer.MAKER
            return Definer.MAKER if second == "1" else Definer.STANDARD
        if second == "0":
            return Definer.STANDARD
        if second == "3":
            return Definer.SHARED if letter == "U" else Definer.RESERVED
        return Definer.MAKER

    @property
    def raw(self) -> bytes:
        """The two bytes as sent, or three with a failure type."""
        value = _LETTERS.index(self.code[0]) << 14 | int(self.code[1:], 16)
        tail = b"" if self.failure_type is None else bytes([self.failure_type])
        return value.to_bytes(_TWO_BYTES, "big") + tail


_RULE = (
    "five characters: P, C, B or U, then a figure 0 to 3, then three of 0 to 9 and A to F, "
    "as in P2463"
)


def parse_code(text: str) -> TroubleCode:
    """Which code is written here?

    Parameters
    ----------
    text : str
        `P2463`, in either case, with a failure type as `P2463-92` or `P2463:92`.

    Returns
    -------
    TroubleCode

    Raises
    ------
    ValueError
        For anything else, with what is wrong. A letter O is refused and not read as a zero: the
        code that is meant is for the reader of the display to say.

    Notes
    -----
    Form: SAE J2012 / ISO 15031-6. Older lists call the last three characters digits; they are
    hexadecimal.

    Examples
    --------
    >>> parse_code("p244a").printed, parse_code("P2463:92").failure_type
    ('P244A', 146)
    """
    written = text.strip().upper()
    parts = re.split(r"\s*[-:]\s*", written)
    code = parts[0]
    if "O" in code[1:] and _FORM.fullmatch(code[:1] + code[1:].replace("O", "0")):
        raise ValueError(
            f"a trouble code has no letter O; got {text.strip()!r}. "
            f"If a zero is meant, send {written.replace('O', '0')}"
        )
    if not _FORM.fullmatch(code):
        raise ValueError(f"a trouble code is {_RULE}; got {text.strip()!r}: {_fault(code)}")
    if code == "P0000":
        raise ValueError("P0000 stands for no code; got it as one. Leave it out")
    if len(parts) == 1:
        return TroubleCode(code)
    if len(parts) > _TWO_BYTES or not _FAILURE_TYPE.fullmatch(parts[1]):
        raise ValueError(
            "a failure type is two hexadecimal characters after the code, as in P2463-92; "
            f"got {text.strip()!r}. Send the code alone if the display shows no failure type"
        )
    return TroubleCode(code, int(parts[1], 16))


def _fault(code: str) -> str:
    if len(code) != _LENGTH:
        return f"{len(code)} characters. Read the display again"
    if code[0] not in _LETTERS:
        return f"the first is {code[0]}. Read the display again"
    if code[1] not in "0123":
        return f"the second is {code[1]}. Read the display again"
    return "one of the last three is not hexadecimal. Read the display again"


def code_from_bytes(raw: bytes) -> TroubleCode | None:
    """Which code do these two or three bytes carry?

    Parameters
    ----------
    raw : bytes
        Two bytes (ISO 15031-6), or three with the failure type last.

    Returns
    -------
    TroubleCode or None
        None for zeros: the filler that stands for "no code".

    Raises
    ------
    ValueError
        For another length.

    Examples
    --------
    >>> code_from_bytes(bytes.fromhex("244A"))
    TroubleCode(code='P244A', failure_type=None)
    >>> code_from_bytes(b"\\x00\\x00") is None
    True
    """
    if len(raw) not in (_TWO_BYTES, _THREE_BYTES):
        raise ValueError(
            f"a trouble code is two bytes, or three with a failure type; got {len(raw)}. "
            "Take off the header and the count"
        )
    value = int.from_bytes(raw[:_TWO_BYTES], "big")
    if value == 0:
        return None
    code = f"{_LETTERS[value >> 14]}{value >> 12 & 3}{value & 0xFFF:03X}"
    return TroubleCode(code, raw[_TWO_BYTES] if len(raw) == _THREE_BYTES else None)


def codes_from_bytes(raw: bytes) -> tuple[TroubleCode, ...]:
    """Which codes does the body of an answer to service 03, 07 or 0A carry?

    Parameters
    ----------
    raw : bytes
        Pairs of bytes, after the service byte and, on a CAN bus, the count. Zeros fill up.

    Raises
    ------
    ValueError
        For an odd number of bytes.

    Examples
    --------
    >>> [each.code for each in codes_from_bytes(bytes.fromhex("0135 96A1 0000"))]
    ['P0135', 'B16A1']
    """
    if len(raw) % _TWO_BYTES:
        raise ValueError(
            f"trouble codes come in pairs of bytes; got {len(raw)} bytes. "
            "Take off the service byte and the count"
        )
    pairs = (code_from_bytes(raw[at : at + _TWO_BYTES]) for at in range(0, len(raw), _TWO_BYTES))
    return tuple(each for each in pairs if each is not None)
