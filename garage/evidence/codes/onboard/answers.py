"""What a text of answers to service 01 says: values, states, self-tests, and what is not read."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from garage.evidence.codes.line import PartUnread
from garage.evidence.codes.onboard.decode import (
    ANSWER,
    DEFAULTS,
    Decoded,
    Stated,
    decode_data,
    row_of,
)
from garage.evidence.codes.onboard.frames import Message, messages_of
from garage.evidence.codes.onboard.monitors import Monitors, read_monitors
from garage.evidence.codes.onboard.support import LISTS, list_of, pids_supported
from garage.evidence.thresholds import Thresholds

_REFUSAL = b"\x7f"
_SINCE_CLEAR, _THIS_DRIVE = "01", "41"
#: What frames are filled up with (common practice, no source), and how many bytes at most.
_STUFFING = (0x00, 0x55, 0xAA, 0xCC, 0xFF)
_STUFFING_MOST = 6
_NOT_LISTED = "the control unit does not list this value among those it has; doubt it"


@dataclass(frozen=True, slots=True)
class Supported:
    """The PIDs that a control unit says it has, of the lists that were copied."""

    sender: str
    lists: tuple[str, ...]
    pids: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Answers:
    """What a text holds, in order; nothing of it is dropped but requests.

    Attributes
    ----------
    decoded : tuple of Decoded
        Numbers; None with a reason where one is not known.
    unread : tuple of PartUnread
        Every part that gave nothing, and why.
    states : tuple of Stated
    monitors : tuple of Monitors
        Of PID 01 and PID 41.
    supported : tuple of Supported
        One for each control unit.
    """

    decoded: tuple[Decoded, ...]
    unread: tuple[PartUnread, ...]
    states: tuple[Stated, ...] = ()
    monitors: tuple[Monitors, ...] = ()
    supported: tuple[Supported, ...] = ()


def read_answers(text: str, limits: Thresholds = DEFAULTS) -> Answers:
    """What do these answers say, copied as bytes from the port of a vehicle?

    Any text is taken; see `messages_of` for the forms, and `decode` for source and coding. A number
    that its control unit does not list among those it has stands with a warning.

    Examples
    --------
    >>> told = read_answers("01 31\\n41 31 01 2C\\n7E8 10 09 41 7A 01 00 64 00\\n7E8 21 00 00 00")
    >>> [(each.item, each.value) for each in told.decoded[:2]]
    [('distance since codes were cleared', 300.0), ('pressure across the filter, bank 1', 1.0)]
    >>> read_answers("NO DATA").unread[0].reason
    'no bytes in hexadecimal, two figures each'
    """
    messages = messages_of(text)
    found = _Found(unread=list(messages.unread))
    for each in messages.whole:
        try:
            _take(each, found, limits)
        except ValueError as wrong:
            found.unread.append(PartUnread(each.written, str(wrong)))
    supported = {each.sender: each for each in _merged(found.lists)}
    return Answers(
        decoded=tuple(_warned(each, supported) for each in found.decoded),
        unread=tuple(found.unread),
        states=tuple(found.states),
        monitors=tuple(found.monitors),
        supported=tuple(supported.values()),
    )


@dataclass
class _Found:
    """What has been read so far."""

    unread: list[PartUnread]
    decoded: list[Decoded] = field(default_factory=list)
    states: list[Stated] = field(default_factory=list)
    monitors: list[Monitors] = field(default_factory=list)
    lists: list[Supported] = field(default_factory=list)


def _take(message: Message, found: _Found, limits: Thresholds) -> None:
    """Raises ValueError for a message that is no answer known here."""
    if message.data[:1] == _REFUSAL:
        raise ValueError("the vehicle answered that it does not give this value")
    if len(message.data) < 3 or message.data[0] != ANSWER:
        raise ValueError("an answer is 41, a PID and its data. Copy it whole")
    pid, sender = f"{message.data[1]:02X}", message.sender
    data = _without_stuffing(pid, message)
    if pid in LISTS:
        found.lists.append(Supported(sender, (pid,), pids_supported(pid, data)))
    elif pid in (_SINCE_CLEAR, _THIS_DRIVE):
        read = read_monitors(data, this_drive=pid == _THIS_DRIVE)
        found.monitors.append(replace(read, sender=sender))
    else:
        answer = decode_data(pid, data, limits)
        found.decoded += [replace(each, sender=sender) for each in answer.numbers]
        found.states += [replace(each, sender=sender) for each in answer.states]


def _without_stuffing(pid: str, message: Message) -> bytes:
    data = message.data[2:]
    if not message.stuffed:
        return data
    fitting = [each for each in _lengths(pid) if _is_stuffing(data[each:], len(data) - each)]
    if len(fitting) != 1:
        raise ValueError("how long the answer is cannot be told; copy the length before it too")
    return data[: fitting[0]]


def _lengths(pid: str) -> tuple[int, ...]:
    return (4,) if pid in (*LISTS, _SINCE_CLEAR, _THIS_DRIVE) else row_of(pid).lengths


def _is_stuffing(rest: bytes, length: int) -> bool:
    if not 0 <= length <= _STUFFING_MOST:
        return False
    return not rest or (len(set(rest)) == 1 and rest[0] in _STUFFING)


def _merged(lists: list[Supported]) -> list[Supported]:
    merged: dict[str, Supported] = {}
    for each in lists:
        before = merged.get(each.sender, Supported(each.sender, (), ()))
        merged[each.sender] = Supported(
            each.sender,
            tuple(sorted({*before.lists, *each.lists})),
            tuple(sorted({*before.pids, *each.pids})),
        )
    return list(merged.values())


def _warned(number: Decoded, supported: Mapping[str, Supported]) -> Decoded:
    told = supported.get(number.sender)
    if told is None or list_of(number.pid) not in told.lists or number.pid in told.pids:
        return number
    return replace(number, warning=_NOT_LISTED)
