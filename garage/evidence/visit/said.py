"""What is said of one visit: readings, codes and findings, before anything is concluded."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from garage.evidence.codes.meanings import Meaning
from garage.evidence.findings.grade import Grade
from garage.evidence.findings.measured import Family
from garage.records.importing.faults import Fault

_NO_FINDINGS: Mapping[str, str] = MappingProxyType({})
_NO_MEANINGS: Mapping[str, Meaning] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Unused:
    """A reading or code that went into nothing, and why."""

    what: str
    reason: str


@dataclass(frozen=True, slots=True)
class ReadingSaid:
    """One reading.

    Attributes
    ----------
    quantity : str
        Its key in the catalogue of quantities.
    typed : str
        Value and unit as they were shown.
    standard_value : float or None
        In the quantity's standard unit; None where that is not known, and `reason` says why.
    condition, layout, kind : str
        Of the engine and of the pressure sensor, and how the value came about; empty for not said.
    speed_rpm, km_since_burn, minutes_since_burn : float or None
    after_burn : bool
        Whether it was kept as the vehicle's own after a completed burn.
    """

    quantity: str
    typed: str
    standard_value: float | None
    reason: str = ""
    condition: str = ""
    layout: str = ""
    kind: str = ""
    speed_rpm: float | None = None
    km_since_burn: float | None = None
    minutes_since_burn: float | None = None
    after_burn: bool = False


@dataclass(frozen=True, slots=True)
class CodeSaid:
    """A code as printed without failure type, with its status byte where that was read."""

    code: str
    status_byte: int | None = None


@dataclass(frozen=True, slots=True)
class VisitSaid:
    """All that is said of one visit at one phase.

    Attributes
    ----------
    readings : tuple of ReadingSaid
        Of this phase.
    lasting : tuple of ReadingSaid
        Of every phase, in order: sizes of the filter hold whenever they were written down.
    codes : tuple of CodeSaid
        Empty where none were written down, for that is not "none are stored".
    unread : tuple of Unused
        What was written among the codes and is none.
    at_odds : tuple of Fault
        Readings that cannot all be true.
    findings : mapping of finding to state
        What somebody saw.
    grades : tuple of Grade
        What logged drives and burns say.
    soot_fall_inlet_c : float or None
        Highest inlet temperature logged while the reckoned soot fell.
    family : Family
        What the engine family reads at raised speed.
    own_clean_mbar : float or None
        This vehicle's own clean value at raised speed.
    cleaned : bool
        Whether the filter was cleaned off the vehicle since the fault, before this phase.
    own_meanings : mapping of code to Meaning
        The organisation's own words for codes.
    """

    readings: tuple[ReadingSaid, ...] = ()
    lasting: tuple[ReadingSaid, ...] = ()
    codes: tuple[CodeSaid, ...] = ()
    unread: tuple[Unused, ...] = ()
    at_odds: tuple[Fault, ...] = ()
    findings: Mapping[str, str] = field(default_factory=lambda: _NO_FINDINGS)
    grades: tuple[Grade, ...] = ()
    soot_fall_inlet_c: float | None = None
    family: Family = field(default_factory=Family)
    own_clean_mbar: float | None = None
    cleaned: bool = False
    own_meanings: Mapping[str, Meaning] = field(default_factory=lambda: _NO_MEANINGS)
