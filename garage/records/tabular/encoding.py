"""The encoding of a text file of unknown origin, with the reason it was chosen."""

import codecs
from dataclasses import dataclass
from pathlib import Path

from charset_normalizer import from_bytes

#: Read at once while looking; bounds the memory whatever the size of the file.
BLOCK_BYTES = 1 << 20
#: Enough accented letters to tell code pages apart, and quick to judge: judgement.
SAMPLE_BYTES = 64_000
#: What exports of Europe and America use, the commoner first: common practice, no source.
CODE_PAGES = ("cp1252", "cp1250", "cp1251", "cp1253", "cp1254", "cp1257", "latin_1", "iso8859_2")
#: A text in UTF-16 is mostly Latin letters and digits, so every other byte is zero: judgement.
ZERO_SHARE = 0.3

#: Difference in likelihood that says nothing; the commoner page is taken then: judgement.
NEAR_TIE = 0.01

_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig", "it begins with the UTF-8 byte order mark"),
    (codecs.BOM_UTF16_LE, "utf-16", "it begins with a UTF-16 byte order mark"),
    (codecs.BOM_UTF16_BE, "utf-16", "it begins with a UTF-16 byte order mark"),
)


@dataclass(frozen=True)
class Encoding:
    """An encoding by Python's name; `others` read the file without error too, but differently."""

    name: str
    reason: str
    others: tuple[str, ...] = ()


def encoding_find(path: Path) -> Encoding:
    """Which encoding the file is in: marks first, then proof, then likelihood. OSError passes."""
    with path.open("rb") as file:
        start = file.read(4_096)
    for mark, name, reason in _MARKS:
        if start.startswith(mark):
            return Encoding(name, reason)
    wide = _utf_16_without_mark(start)
    if wide is not None:
        return wide
    foreign = _lines_not_ascii(path)
    if foreign is None:
        return Encoding("utf-8", "every byte sequence in it is valid UTF-8")
    return _code_page(foreign)


def _utf_16_without_mark(start: bytes) -> Encoding | None:
    half = len(start) // 2
    if half == 0:
        return None
    for name, zeros in (("utf-16-le", start[1::2]), ("utf-16-be", start[0::2])):
        if zeros.count(0) / half > ZERO_SHARE:
            return Encoding(name, "every other byte is zero, as in UTF-16")
    return None


def _lines_not_ascii(path: Path) -> bytes | None:
    """None if the file is UTF-8; else a sample of its lines that are not plain ASCII."""
    decoder = codecs.getincrementaldecoder("utf-8")()
    sample = bytearray()
    is_utf_8 = True
    with path.open("rb") as file:
        while block := file.read(BLOCK_BYTES):
            if is_utf_8:
                try:
                    decoder.decode(block)
                except UnicodeDecodeError:
                    is_utf_8 = False
            if len(sample) < SAMPLE_BYTES and not block.isascii():
                for line in block.splitlines():
                    if not line.isascii():
                        sample += line + b"\n"
            if not is_utf_8 and len(sample) >= SAMPLE_BYTES:
                break
    if is_utf_8:
        try:
            decoder.decode(b"", final=True)
        except UnicodeDecodeError:
            is_utf_8 = False
    return None if is_utf_8 else bytes(sample[:SAMPLE_BYTES])


def _code_page(sample: bytes) -> Encoding:
    matches = from_bytes(sample, cp_isolation=list(CODE_PAGES), preemptive_behaviour=False)
    possible = [name for name in CODE_PAGES if _decodes(sample, name)]
    ranked = [
        match.encoding
        for match in matches
        if match.chaos <= matches[0].chaos + NEAR_TIE
        and match.coherence >= matches[0].coherence - NEAR_TIE
    ]
    best = min(ranked or possible or ["latin_1"], key=_commonness)
    # Latin-1 has only control characters where cp1252 has letters and signs, so it never says more.
    if best == "latin_1" and "cp1252" in possible:
        best = "cp1252"
    read = sample.decode(best, errors="replace")
    # The commonest of those that read the same letters; the rest of the file may have its signs.
    best = next((name for name in possible if sample.decode(name) == read), best)
    others = tuple(name for name in possible if name != best and sample.decode(name) != read)
    return Encoding(best, "not UTF-8; its letters make most sense in this code page", others)


def _commonness(name: str) -> int:
    return CODE_PAGES.index(name) if name in CODE_PAGES else len(CODE_PAGES)


def _decodes(sample: bytes, name: str) -> bool:
    try:
        text = sample.decode(name)
    except UnicodeDecodeError:
        return False
    return not any("\x80" <= sign <= "\x9f" for sign in text)
