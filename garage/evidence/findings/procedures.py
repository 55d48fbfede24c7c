"""The cautions that come before each procedure."""

import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from garage.evidence.findings.vocabulary import NEEDS

_HERE = Path(__file__).parent
OTHERS = ("ash_and_soot", "compressed_air", "chemicals", "software")


@dataclass(frozen=True, slots=True)
class Procedure:
    """Cautions to be read, and ticked with name and time, before the step."""

    key: str
    title: str
    cautions: tuple[str, ...]
    source: str
    deference: str


def procedure(key: str) -> Procedure:
    """The cautions of a procedure; raises ValueError for a name that is not known.

    Answers: what must be read before this step? Source: stands with each procedure.

    Examples
    --------
    >>> procedure("compressed_air").source
    '29 CFR 1910.242(b); booth and extraction common practice'
    """
    for each in procedures():
        if each.key == key:
            return each
    raise ValueError(f"a procedure is one of {', '.join((*NEEDS, *OTHERS))}; got `{key}`")


@cache
def procedures() -> tuple[Procedure, ...]:
    """All procedures that are shipped."""
    return procedures_from((_HERE / "procedures.toml").read_text(encoding="utf-8"))


def procedures_from(text: str) -> tuple[Procedure, ...]:
    """Read procedures; raises ValueError where one is missing, not known, or without cautions."""
    data = tomllib.loads(text)
    deference = str(data.pop("deference"))
    if set(data) != {*NEEDS, *OTHERS}:
        raise ValueError(f"procedures are {', '.join((*NEEDS, *OTHERS))}; got {', '.join(data)}")
    for key, row in data.items():
        if not row["cautions"] or not row["source"]:
            raise ValueError(f"a procedure has cautions and a source; `{key}` has not")
    return tuple(
        Procedure(key, str(row["title"]), tuple(row["cautions"]), str(row["source"]), deference)
        for key, row in data.items()
    )
