"""How a risk table is kept and sent: as plain lists for JSON, or as a few checked bytes."""

import json
import struct
import zlib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from garage.lifetimes.life_rows import RiskRows

FORM_VERSION = 1
"""Of the plain lists."""

MARK = b"RISKTABLE"
"""First bytes of every table kept as bytes."""

BYTES_VERSION = 1
HEAD = struct.Struct("<9sBI")
"""Mark, version, and the CRC-32 of what follows (a check against damage, not against fraud)."""

LARGEST_FORM = 2**28
"""Bytes that a table may unpack to: some ten million rows. A larger one is more likely made to
fill the memory than to be read. Judgement, no source."""

COMPRESSION = 6
"""Of zlib; 9 saves 3 % and takes six times as long (a table of a million lives, measured)."""


@dataclass(frozen=True, slots=True)
class KeptTable:
    """A risk table as its parts, before it is checked and built."""

    unit: str
    causes: tuple[str, ...]
    rows: RiskRows


def plain_form(kept: KeptTable) -> dict[str, Any]:
    """Plain lists and numbers, fit for JSON."""
    return {
        "form_version": FORM_VERSION,
        "unit": kept.unit,
        "causes": list(kept.causes),
        "clock": np.asarray(kept.rows.clock).tolist(),
        "entered": np.asarray(kept.rows.entered).tolist(),
        "failed": np.asarray(kept.rows.failed).tolist(),
        "corrected": np.asarray(kept.rows.corrected).tolist(),
        "withdrawn": np.asarray(kept.rows.withdrawn).tolist(),
    }


def plain_read(form: Mapping[str, Any]) -> KeptTable:
    """Read what `plain_form` wrote; a form that is not known is refused."""
    if form.get("form_version") != FORM_VERSION:
        raise ValueError(
            f"a kept risk table has form_version {FORM_VERSION}; got "
            f"{form.get('form_version')!r}. Build it again from the records."
        )
    rows = RiskRows(
        form["clock"], form["entered"], form["failed"], form["withdrawn"], form["corrected"]
    )
    return KeptTable(form["unit"], tuple(form["causes"]), rows)


def packed(kept: KeptTable) -> bytes:
    """The table as bytes: mark, version, check sum, then columns compressed by zlib.

    The clock is kept as its steps, whole numbers in as few bytes as the largest needs, and
    *corrected* not at all where it equals *failed*. Within a column all first bytes come
    first, then all second ones: like bytes side by side compress better.
    """
    failed = np.asarray(kept.rows.failed, np.int64)
    corrected = np.asarray(kept.rows.corrected, np.float64)
    same = bool(np.array_equal(corrected, failed))
    columns = [
        _narrow(np.diff(np.asarray(kept.rows.clock, np.int64), prepend=-1)),
        _narrow(np.asarray(kept.rows.entered, np.int64)),
        _narrow(failed.ravel()),
        _narrow(np.asarray(kept.rows.withdrawn, np.float64)),
    ]
    if not same:
        columns.append(_narrow(corrected.ravel()))
    about = {
        "unit": kept.unit,
        "causes": list(kept.causes),
        "rows": int(columns[0].size),
        "kinds": [each.dtype.str for each in columns],
    }
    told = json.dumps(about, ensure_ascii=False, separators=(",", ":")).encode()
    body = zlib.compress(
        b"".join([struct.pack("<I", len(told)), told, *map(_byte_planes, columns)]), COMPRESSION
    )
    return HEAD.pack(MARK, BYTES_VERSION, zlib.crc32(body)) + body


def unpacked(given: bytes) -> KeptTable:
    """Read what `packed` wrote.

    Raises
    ------
    ValueError
        Other bytes, another version, damaged or cut bytes, more than they may unpack to.
    """
    if len(given) < HEAD.size or not given.startswith(MARK):
        raise ValueError(
            f"a risk table kept as bytes begins with {MARK!r}; got {given[: len(MARK)]!r}. "
            "Give the bytes as to_bytes made them."
        )
    _, version, check = HEAD.unpack_from(given)
    if version != BYTES_VERSION:
        raise ValueError(
            f"a risk table kept as bytes has version {BYTES_VERSION}; got {version}. "
            "Build it again from the records."
        )
    body = given[HEAD.size :]
    if zlib.crc32(body) != check:
        raise ValueError(
            f"the check sum of the kept risk table does not fit its {len(body)} bytes: they were "
            "damaged or cut on the way. Fetch them again."
        )
    try:
        return _read_body(_inflated(body))
    except _UNREADABLE as fault:
        raise ValueError(
            f"the kept risk table cannot be read: {fault!r}. Build it again from the records."
        ) from fault


_UNREADABLE = (
    zlib.error,
    struct.error,
    json.JSONDecodeError,
    UnicodeDecodeError,
    KeyError,
    TypeError,
    OverflowError,
)


def _inflated(body: bytes) -> bytes:
    unpacking = zlib.decompressobj()
    plain = unpacking.decompress(body, LARGEST_FORM)
    if not unpacking.eof or unpacking.unused_data:
        raise ValueError(
            f"a kept risk table unpacks to at most {LARGEST_FORM} bytes and ends there; this one "
            "does not. Keep it on a coarser clock."
        )
    return plain


def _read_body(plain: bytes) -> KeptTable:
    (length,) = struct.unpack_from("<I", plain)
    about = json.loads(plain[4 : 4 + length])
    rows, causes = int(about["rows"]), tuple(map(str, about["causes"]))
    kinds = [_known_kind(each) for each in about["kinds"]]
    sizes = [rows, rows, rows * len(causes), rows, rows * len(causes)][: len(kinds)]
    wanted = 4 + length + sum(size * kind.itemsize for size, kind in zip(sizes, kinds, strict=True))
    if rows < 0 or len(kinds) not in (4, 5) or wanted != len(plain):
        raise ValueError(
            f"the columns of a kept risk table fill {wanted} bytes by its own account; got "
            f"{len(plain)}. Build it again from the records."
        )
    columns, at = [], 4 + length
    for size, kind in zip(sizes, kinds, strict=True):
        planes = np.frombuffer(plain, np.uint8, size * kind.itemsize, at)
        columns.append(_from_planes(planes, kind))
        at += size * kind.itemsize
    steps, entered, failed, withdrawn = columns[:4]
    shape = (len(causes), rows)
    corrected = columns[4] if len(columns) == 5 else failed
    return KeptTable(
        str(about["unit"]),
        causes,
        RiskRows(
            np.cumsum(steps.astype(np.int64)) - 1,
            entered.astype(np.int64),
            failed.astype(np.int64).reshape(shape),
            withdrawn.astype(np.float64),
            corrected.astype(np.float64).reshape(shape),
        ),
    )


KINDS = ("|u1", "<u2", "<u4", "<u8", "<f8")
"""Of a column: whole numbers in one to eight bytes, or fractions."""


def _known_kind(told: str) -> np.dtype[Any]:
    if told not in KINDS:
        raise ValueError(f"a column of a kept risk table is one of {KINDS}; got {told!r}")
    return np.dtype(told)


def _narrow(column: NDArray[Any]) -> NDArray[Any]:
    """The column in the fewest bytes that hold every value exactly."""
    largest = float(column.max(initial=0))
    if column.dtype.kind == "f" and (np.any(column != np.floor(column)) or largest >= 2**53):
        return column.astype("<f8")
    for kind in KINDS[:4]:
        if largest <= np.iinfo(kind).max:
            return column.astype(kind)
    raise ValueError(f"a risk table counts what eight bytes hold; got {largest}")


def _byte_planes(column: NDArray[Any]) -> bytes:
    return column.view(np.uint8).reshape(-1, column.itemsize).T.tobytes()


def _from_planes(planes: NDArray[np.uint8], kind: np.dtype[Any]) -> NDArray[Any]:
    return np.ascontiguousarray(planes.reshape(kind.itemsize, -1).T).view(kind).ravel()
