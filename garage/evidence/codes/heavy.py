"""Trouble codes of heavy vehicles: SPN, FMI and occurrence count of SAE J1939-73."""

import re
from dataclasses import dataclass

SPN_MOST = 524_287  # 19 bits
FMI_MOST = 31  # 5 bits
COUNT_MOST = 126  # 7 bits; 127 says that the count is not available
_COUNT_NOT_KNOWN = 127
_BYTES = 4

#: Written as `SPN 3251 FMI 0 OC 3` or `3251/0`.
WORDED = re.compile(
    r"\bSPN\s*[:=]?\s*(?P<spn>\d+)\s*[,;/-]?\s*FMI\s*[:=]?\s*(?P<fmi>\d+)"
    r"(?:\s*[,;/-]?\s*OC\s*[:=]?\s*(?P<count>\d+))?\b",
    re.IGNORECASE,
)
SHORT = re.compile(
    r"(?<![\w/.])(?P<spn>0|[1-9]\d*)/(?P<fmi>0|[1-9]\d*)(?:\s*[,;/-]?\s*OC\s*[:=]?\s*(?P<count>\d+))?(?![\w/])",
    re.IGNORECASE,
)

#: Own wording, from memory of SAE J1939-73.
_FMI_WORDS = (
    "above normal, most severe",
    "below normal, most severe",
    "erratic, intermittent or incorrect",
    "voltage too high or short to battery",
    "voltage too low or short to ground",
    "current too low or open circuit",
    "current too high or circuit to ground",
    "mechanical system does not respond or is out of adjustment",
    "frequency, pulse width or period abnormal",
    "updated at an abnormal rate",
    "changes at an abnormal rate",
    "cause not known",
    "component or controller faulty",
    "out of calibration",
    "see the maker's instructions",
    "above normal, least severe",
    "above normal, moderately severe",
    "below normal, least severe",
    "below normal, moderately severe",
    "data over the bus in error",
    "drifted high",
    "drifted low",
    *("reserved",) * 9,
    "condition present",
)


@dataclass(frozen=True, slots=True)
class HeavyCode:
    """An SPN with its FMI, kept as such and never forced into five characters.

    Attributes
    ----------
    spn : int
        Suspect parameter number, 0 to 524 287.
    fmi : int
        Failure mode identifier, 0 to 31.
    count : int or None
        How often it occurred, 0 to 126; None where that was not said.

    Examples
    --------
    >>> HeavyCode(3251, 0).printed, HeavyCode(3251, 0).fmi_words
    ('3251/0', 'above normal, most severe')
    """

    spn: int
    fmi: int
    count: int | None = None

    def __post_init__(self) -> None:
        if not 0 <= self.spn <= SPN_MOST:
            raise ValueError(f"an SPN lies from 0 to {SPN_MOST}; got {self.spn}. Read it again")
        if not 0 <= self.fmi <= FMI_MOST:
            raise ValueError(f"an FMI lies from 0 to {FMI_MOST}; got {self.fmi}. Read it again")
        if self.count is not None and not 0 <= self.count <= COUNT_MOST:
            raise ValueError(
                f"an occurrence count lies from 0 to {COUNT_MOST}; got {self.count}. "
                "Leave it out where it is not available"
            )

    @property
    def printed(self) -> str:
        """As printed and stored: `3251/0`."""
        return f"{self.spn}/{self.fmi}"

    @property
    def fmi_words(self) -> str:
        """The failure mode in words (own wording, from memory of SAE J1939-73)."""
        return _FMI_WORDS[self.fmi]


def parse_heavy(text: str) -> HeavyCode:
    """Which SPN and FMI are written here?

    Parameters
    ----------
    text : str
        `SPN 3251 FMI 0`, `SPN 3251 FMI 0 OC 3` or `3251/0`.

    Raises
    ------
    ValueError
        For another form or a number out of range.

    Examples
    --------
    >>> parse_heavy("spn 3251, fmi 0, oc 3")
    HeavyCode(spn=3251, fmi=0, count=3)
    """
    found = WORDED.fullmatch(text.strip()) or SHORT.fullmatch(text.strip())
    if found is None:
        raise ValueError(
            "a heavy vehicle's code is an SPN and an FMI, as in `SPN 3251 FMI 0` or `3251/0`; "
            f"got {text.strip()!r}. Send both numbers"
        )
    return heavy_of_match(found)


def heavy_of_match(found: re.Match[str]) -> HeavyCode:
    """The code of a match of `WORDED` or `SHORT`; raises ValueError for a number out of range."""
    count = found["count"]
    return HeavyCode(int(found["spn"]), int(found["fmi"]), None if count is None else int(count))


def heavy_from_bytes(raw: bytes) -> HeavyCode | None:
    """Which code do four bytes of a diagnostic message carry?

    Parameters
    ----------
    raw : bytes
        Four bytes, low byte of the SPN first: conversion method 4 of SAE J1939-73, from memory;
        the same bits as two public decoders read.

    Returns
    -------
    HeavyCode or None
        None for the fillers that stand for "no code": all zeros or all ones.

    Raises
    ------
    ValueError
        For another length, or for the older conversion methods: they order the bits in ways that
        the bytes alone do not tell apart.

    Examples
    --------
    >>> heavy_from_bytes(bytes.fromhex("B30C0003"))
    HeavyCode(spn=3251, fmi=0, count=3)
    """
    if len(raw) != _BYTES:
        raise ValueError(
            f"a heavy vehicle's code is four bytes; got {len(raw)}. Take off the lamp bytes"
        )
    if raw in (b"\x00" * _BYTES, b"\xff" * _BYTES):
        return None
    if raw[3] & 0x80:
        raise ValueError(
            "the SPN is read by conversion method 4; the bytes say an older method, which cannot "
            f"be read from them alone: {raw.hex(' ').upper()}. Send SPN and FMI as displayed"
        )
    count = raw[3] & 0x7F
    return HeavyCode(
        spn=raw[0] | raw[1] << 8 | (raw[2] >> 5) << 16,
        fmi=raw[2] & 0x1F,
        count=None if count == _COUNT_NOT_KNOWN else count,
    )
