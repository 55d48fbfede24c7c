"""Thresholds of the evidence: what settles a list, and where measured values part into states."""

import tomllib
from pathlib import Path

from garage.evidence.thresholds import Basis, Threshold, Thresholds


def limits_from(text: str) -> tuple[Threshold, ...]:
    """Read thresholds; raises ValueError for one that is not whole or not between its bounds.

    Examples
    --------
    >>> DEFAULTS["zero_good_mbar"]
    2.0
    """
    return tuple(_threshold(key, row) for key, row in tomllib.loads(text).items())


def _threshold(key: str, row: dict[str, object]) -> Threshold:
    numbers = [row.get(name) for name in ("value", "least", "most")]
    value, least, most = (float(n) if isinstance(n, int | float) else None for n in numbers)
    if value is None or least is None or most is None or not least <= value <= most:
        raise ValueError(f"a threshold's value lies from least to most; `{key}` has {numbers}")
    return Threshold(
        key=key,
        value=value,
        unit=str(row["unit"]),
        title=str(row["title"]),
        basis=Basis(str(row["basis"])),
        source=str(row["source"]),
        least=least,
        most=most,
    )


LIMITS: tuple[Threshold, ...] = limits_from(
    (Path(__file__).parent / "limits.toml").read_text(encoding="utf-8")
)

DEFAULTS = Thresholds(LIMITS)


def limits_shared(*keys: str) -> tuple[Threshold, ...]:
    """Those that other parts of the evidence hold values against too: one value, one override."""
    return tuple(DEFAULTS.told(key) for key in keys)
