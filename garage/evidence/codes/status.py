"""What the status of a trouble code says, and what it leaves open."""

from dataclasses import dataclass
from enum import IntEnum, StrEnum

from garage.evidence.codes.line import SaidState


class Bit(IntEnum):
    """The bits of the status byte, by ISO 14229-1."""

    FAILED_NOW = 0
    FAILED_THIS_CYCLE = 1
    PENDING = 2
    CONFIRMED = 3
    NOT_COMPLETED_SINCE_CLEAR = 4
    FAILED_SINCE_CLEAR = 5
    NOT_COMPLETED_THIS_CYCLE = 6
    LAMP_ASKED_FOR = 7

    @property
    def words(self) -> str:
        return _BIT_WORDS[self]


_BIT_WORDS = {
    Bit.FAILED_NOW: "the test fails now",
    Bit.FAILED_THIS_CYCLE: "the test failed in this cycle",
    Bit.PENDING: "pending: failed in this cycle or the last",
    Bit.CONFIRMED: "confirmed",
    Bit.NOT_COMPLETED_SINCE_CLEAR: "the test has not completed since codes were cleared",
    Bit.FAILED_SINCE_CLEAR: "the test failed since codes were cleared",
    Bit.NOT_COMPLETED_THIS_CYCLE: "the test has not completed in this cycle",
    Bit.LAMP_ASKED_FOR: "the warning lamp is asked for",
}
_BYTE_MOST = 0xFF

#: A test that fails sets the left one and lifts the right one, so both at once do not agree.
_EXCLUDE = (
    (Bit.FAILED_NOW, Bit.NOT_COMPLETED_SINCE_CLEAR),
    (Bit.FAILED_NOW, Bit.NOT_COMPLETED_THIS_CYCLE),
    (Bit.FAILED_THIS_CYCLE, Bit.NOT_COMPLETED_THIS_CYCLE),
    (Bit.FAILED_THIS_CYCLE, Bit.NOT_COMPLETED_SINCE_CLEAR),
    (Bit.PENDING, Bit.NOT_COMPLETED_SINCE_CLEAR),
    (Bit.CONFIRMED, Bit.NOT_COMPLETED_SINCE_CLEAR),
    (Bit.FAILED_SINCE_CLEAR, Bit.NOT_COMPLETED_SINCE_CLEAR),
)


class FaultState(StrEnum):
    """How a fault stands by its status byte."""

    PRESENT = "present"
    PRESENT_NOT_CONFIRMED = "present_not_confirmed"
    INTERMITTENT = "intermittent"
    HISTORY = "history"
    CONFIRMED_NOT_RETESTED = "confirmed_not_retested"
    PENDING = "pending"
    FAILED_EARLIER = "failed_earlier"
    PASSED = "passed"
    PASSED_EARLIER = "passed_earlier"
    UNKNOWN = "unknown"
    INCONSISTENT = "inconsistent"


_STATE_WORDS = {
    FaultState.PRESENT: "confirmed, and the test fails now",
    FaultState.PRESENT_NOT_CONFIRMED: "the test fails now; not yet confirmed",
    FaultState.INTERMITTENT: "confirmed and failed of late, but not now: comes and goes",
    FaultState.HISTORY: "confirmed earlier; the test has run in this cycle and found no fault",
    FaultState.CONFIRMED_NOT_RETESTED: (
        "confirmed; the test has not run in this cycle, so whether the fault is still there "
        "is not known"
    ),
    FaultState.PENDING: "pending: failed in this cycle or the last, not confirmed",
    FaultState.FAILED_EARLIER: "failed since codes were cleared, not of late",
    FaultState.PASSED: "the test has run in this cycle and found no fault",
    FaultState.PASSED_EARLIER: "found no fault since codes were cleared; not run in this cycle",
    FaultState.UNKNOWN: (
        "not known: the test has not completed since codes were cleared, so no fault found is "
        "not a sound part"
    ),
    FaultState.INCONSISTENT: "inconsistent reading: the bits do not agree; read it again",
}


@dataclass(frozen=True, slots=True)
class Status:
    """A status byte in words.

    Attributes
    ----------
    state : FaultState
    reason : str
        The state in words.
    bits : tuple of Bit
        Those that are set and that the controller keeps.
    not_kept : tuple of Bit
        Those that the controller does not keep; they say nothing, set or not.
    """

    state: FaultState
    reason: str
    bits: tuple[Bit, ...]
    not_kept: tuple[Bit, ...]

    @property
    def is_known_sound(self) -> bool:
        """Whether the test is said to have run and found nothing; False is not "faulty"."""
        return self.state in (FaultState.PASSED, FaultState.PASSED_EARLIER)


def read_status(status_byte: int, kept: int = _BYTE_MOST) -> Status:
    """How does a fault stand, by the status byte of its code?

    Parameters
    ----------
    status_byte : int
        0 to 255.
    kept : int
        The controller's availability mask, 0 to 255: a bit of 0 is not kept by it.

    Returns
    -------
    Status

    Raises
    ------
    ValueError
        Outside one byte.

    Notes
    -----
    Meaning of the bits: ISO 14229-1. How their combinations are read here is common practice, no
    source. Where a bit that the answer turns on is not kept, the state is `UNKNOWN`.

    Examples
    --------
    >>> read_status(0x08).state.value, read_status(0x50).state.value, read_status(0x00).state.value
    ('history', 'unknown', 'passed')
    """
    for name, value in (("status byte", status_byte), ("mask of kept bits", kept)):
        if not 0 <= value <= _BYTE_MOST:
            raise ValueError(f"a {name} is one byte, 0 to 255; got {value}. Read it again")
    bits = tuple(each for each in Bit if status_byte & kept & 1 << each)
    not_kept = tuple(each for each in Bit if not kept & 1 << each)
    state = _state(frozenset(bits), frozenset(not_kept))
    reason = _STATE_WORDS[state]
    missing = _NEEDED_FOR_PASSED & set(not_kept)
    if state is FaultState.UNKNOWN and Bit.NOT_COMPLETED_SINCE_CLEAR not in bits and missing:
        reason = "not known: the controller does not keep the bits that would tell"
    return Status(state, reason, bits, not_kept)


_NEEDED_FOR_PASSED = frozenset(
    {Bit.FAILED_NOW, Bit.NOT_COMPLETED_SINCE_CLEAR, Bit.NOT_COMPLETED_THIS_CYCLE}
)


def _state(bits: frozenset[Bit], not_kept: frozenset[Bit]) -> FaultState:
    if any(one in bits and other in bits for one, other in _EXCLUDE):
        return FaultState.INCONSISTENT
    if Bit.FAILED_NOW in bits:
        confirmed = Bit.CONFIRMED in bits
        return FaultState.PRESENT if confirmed else FaultState.PRESENT_NOT_CONFIRMED
    of_late = Bit.FAILED_THIS_CYCLE in bits or Bit.PENDING in bits
    if Bit.CONFIRMED in bits:
        return _state_of_confirmed(bits, not_kept, of_late)
    if of_late:
        return FaultState.PENDING
    if Bit.FAILED_SINCE_CLEAR in bits:
        return FaultState.FAILED_EARLIER
    if Bit.NOT_COMPLETED_SINCE_CLEAR in bits or _NEEDED_FOR_PASSED & not_kept:
        return FaultState.UNKNOWN
    return FaultState.PASSED_EARLIER if Bit.NOT_COMPLETED_THIS_CYCLE in bits else FaultState.PASSED


def _state_of_confirmed(
    bits: frozenset[Bit], not_kept: frozenset[Bit], of_late: bool
) -> FaultState:
    if of_late:
        return FaultState.INTERMITTENT
    untested = Bit.NOT_COMPLETED_THIS_CYCLE in bits
    if untested or not_kept & {Bit.FAILED_NOW, Bit.NOT_COMPLETED_THIS_CYCLE}:
        return FaultState.CONFIRMED_NOT_RETESTED
    return FaultState.HISTORY


#: Services of SAE J1979, from memory.
_SERVICES = {
    0x03: SaidState.CONFIRMED,
    0x07: SaidState.PENDING,
    0x0A: SaidState.PERMANENT,
}


def state_of_service(service: int) -> SaidState:
    """Which state has a code that was read with this service of SAE J1979?

    Raises ValueError for a service that reads no codes. Source: SAE J1979, from memory.

    Examples
    --------
    >>> state_of_service(0x0A).value
    'permanent'
    """
    if service not in _SERVICES:
        raise ValueError(
            f"codes are read with service 03, 07 or 0A; got {service:02X}. Name one of them"
        )
    return _SERVICES[service]


class Region(StrEnum):
    """The rules that the vehicle was built to."""

    UNITED_STATES = "united_states"
    EUROPE = "europe"
    NOT_KNOWN = "not_known"


def permanent_words(region: Region, found: int | None) -> str:
    """What do permanent codes, or their absence, say of a vehicle built to these rules?

    Parameters
    ----------
    region : Region
    found : int or None
        How many were read; None where they were not asked for.

    Notes
    -----
    From memory of SAE J1979 and of the Californian rule 13 CCR 1968.2; check before relying on it.

    Examples
    --------
    >>> permanent_words(Region.EUROPE, 0)
    'no permanent code; such a vehicle need not keep them, so this says nothing'
    """
    if found is None:
        return "permanent codes were not read"
    if found < 0:
        raise ValueError(f"a number of codes is not below 0; got {found}. Count them again")
    if found:
        return (
            "a permanent code: no tool and no battery job lifts it; it goes when its own test has "
            "run and passed"
        )
    if region is Region.UNITED_STATES:
        return "no permanent code; from model year 2010 on such a vehicle keeps them"
    if region is Region.EUROPE:
        return "no permanent code; such a vehicle need not keep them, so this says nothing"
    return "no permanent code; whether this vehicle keeps them is not known, so this says nothing"
