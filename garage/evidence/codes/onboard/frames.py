"""The whole answers in bytes as somebody copied them: from lines, echoes and frames of a bus."""

import re
from dataclasses import dataclass, field

from garage.evidence.codes.line import PartUnread

_SPACES = re.compile(r"\s")
#: What some displays put in front of a frame: the bus, and after the address its length.
_BUS = re.compile(r"^(?:v?can\d+\s+)", re.IGNORECASE)
_FRAME_LENGTH = re.compile(r"\[\d\]")
#: Addresses that answers come from (ISO 15765-4, from memory): 11 bits, or 29 bits.
_SENDER = re.compile(r"^(?P<sender>7E[89A-F]|18DAF1[0-9A-F]{2})(?P<rest>(?:[0-9A-F]{2})+)$")
_INDEXED = re.compile(r"^(?P<at>[0-9A-F]):(?P<rest>(?:[0-9A-F]{2})*)$")
_LENGTH = re.compile(r"^[0-9A-F]{3}$")
_BYTES = re.compile(r"^(?:[0-9A-F]{2})+$")
_REQUEST, _ANSWER, _REFUSAL = 0x01, 0x41, 0x7F
# Frames by the upper half of their first byte (ISO 15765-2, from memory).
_SINGLE, _FIRST, _NEXT, _FLOW = 0, 1, 2, 3
_SINGLE_MOST = 7
_FRAMES_COUNTED = 16
_INDEXED_SENDER = ":"


@dataclass(frozen=True, slots=True)
class Message:
    """The bytes of one answer without what carried them.

    Attributes
    ----------
    sender : str
        The control unit's address; empty where none was copied.
    data : bytes
    written : str
    stuffed : bool
        Whether bytes that fill the last frame may stand at the end, for no length was copied.
    """

    sender: str
    data: bytes
    written: str
    stuffed: bool = False


@dataclass(frozen=True, slots=True)
class Messages:
    """The answers of a text in order, and every part that is none."""

    whole: tuple[Message, ...]
    unread: tuple[PartUnread, ...]


def messages_of(text: str) -> Messages:
    """Which answers in bytes does this text hold?

    Lines, or parts between semicolons: an answer alone (`41 31 01 2C`, with or without spaces); a
    request before it or on a line of its own is passed over; frames with their address or their
    length in front, and answers of several frames, by address or numbered `0:`, `1:`. Source: ISO
    15765-2 and 15765-4, from memory.

    Examples
    --------
    >>> messages_of("01 31; 7E8 04 41 31 01 2C AA AA AA").whole[0].data.hex()
    '4131012c'
    """
    reader = _Reader()
    for line in re.split(r"[\n;]", text):
        written = line.strip().lstrip(">").strip()
        if written:
            reader.read(written)
    reader.close_all()
    return Messages(tuple(reader.whole), tuple(reader.unread))


@dataclass
class _Open:
    """An answer of several frames that is not whole yet; `total` is None where none was copied."""

    total: int | None
    got: bytearray
    next_at: int
    written: list[str]


@dataclass
class _Reader:
    """Takes line after line, and keeps what is not whole yet."""

    whole: list[Message] = field(default_factory=list)
    unread: list[PartUnread] = field(default_factory=list)
    open: dict[str, _Open] = field(default_factory=dict)
    announced: tuple[int, str] | None = None

    def read(self, written: str) -> None:
        packed = _SPACES.sub("", _FRAME_LENGTH.sub("", _BUS.sub("", written))).upper()
        packed = packed.replace("0X", "")
        indexed = _INDEXED.fullmatch(packed)
        if indexed is None and _INDEXED_SENDER in self.open:
            self._close(_INDEXED_SENDER)
        if indexed is not None:
            self._read_indexed(int(indexed["at"], 16), bytes.fromhex(indexed["rest"]), written)
            return
        self._drop_announced()
        sent = _SENDER.fullmatch(packed)
        if _LENGTH.fullmatch(packed):
            self.announced = (int(packed, 16), written)
        elif sent is not None:
            self._read_frame(sent["sender"], bytes.fromhex(sent["rest"]), written)
        elif _BYTES.fullmatch(packed):
            self._read_bytes(bytes.fromhex(packed), written)
        else:
            self._refuse(written, "no bytes in hexadecimal, two figures each")

    def close_all(self) -> None:
        self._drop_announced()
        for sender in list(self.open):
            self._close(sender)

    def _read_bytes(self, data: bytes, written: str) -> None:
        if data[0] == _REQUEST:
            self._read_after_request(data, written)
        elif data[0] in (_ANSWER, _REFUSAL):
            self.whole.append(Message("", data, written))
        elif _is_frame(data) or (data[0] >> 4 == _NEXT and "" in self.open):
            self._read_frame("", data, written)
        else:
            self._refuse(written, "an answer to service 01 begins with 41")

    def _read_after_request(self, data: bytes, written: str) -> None:
        if len(data) == 2:
            return
        if len(data) > 3 and data[2] == _ANSWER and data[1] == data[3]:
            self.whole.append(Message("", data[2:], written))
            return
        self._refuse(written, "begins with a request (01); copy the answer, which begins with 41")

    def _read_frame(self, sender: str, data: bytes, written: str) -> None:
        kind, low = data[0] >> 4, data[0] & 0x0F
        if kind == _SINGLE and 0 < low <= min(_SINGLE_MOST, len(data) - 1):
            self.whole.append(Message(sender, data[1 : 1 + low], written))
        elif kind == _FIRST and len(data) > 2:
            self._close(sender)
            total = low << 8 | data[1]
            self.open[sender] = _Open(total, bytearray(data[2:]), 1, [written])
            self._finish(sender)
        elif kind == _NEXT:
            self._read_next(sender, low, data[1:], written)
        elif kind == _FLOW:
            self._refuse(written, "a frame that steers the flow holds no value")
        else:
            self._refuse(written, "the length in front is not that of the bytes after it")

    def _read_indexed(self, at: int, data: bytes, written: str) -> None:
        if at == 0 and not self._awaits(_INDEXED_SENDER, 0):
            self._close(_INDEXED_SENDER)
            total, said = self.announced or (None, "")
            self.announced = None
            self.open[_INDEXED_SENDER] = _Open(total, bytearray(data), 1, [said, written])
            self._finish(_INDEXED_SENDER)
        else:
            self._read_next(_INDEXED_SENDER, at, data, written)

    def _awaits(self, sender: str, at: int) -> bool:
        return sender in self.open and self.open[sender].next_at == at

    def _read_next(self, sender: str, at: int, data: bytes, written: str) -> None:
        if not self._awaits(sender, at):
            due = f"{self.open[sender].next_at:X}" if sender in self.open else "a first frame"
            self._refuse(written, f"frame {at:X} came where {due} was due; copy the frames whole")
            return
        self.open[sender].got += data
        self.open[sender].written.append(written)
        self.open[sender].next_at = (at + 1) % _FRAMES_COUNTED
        self._finish(sender)

    def _finish(self, sender: str) -> None:
        total = self.open[sender].total
        if total is not None and len(self.open[sender].got) >= total:
            done = self.open.pop(sender)
            self.whole.append(_message(sender, bytes(done.got[:total]), done))

    def _close(self, sender: str) -> None:
        done = self.open.pop(sender, None)
        if done is None:
            return
        if done.total is None:
            self.whole.append(_message(sender, bytes(done.got), done))
        else:
            self._refuse(_joined(done), f"{len(done.got)} of {done.total} bytes; copy every frame")

    def _drop_announced(self) -> None:
        if self.announced is not None:
            self._refuse(self.announced[1], "a length with no numbered frames after it")
            self.announced = None

    def _refuse(self, written: str, reason: str) -> None:
        self.unread.append(PartUnread(written, reason))


def _is_frame(data: bytes) -> bool:
    """Whether bytes without an address begin with the length of an answer."""
    if data[0] >> 4 == _FIRST:
        return data[2:3] == bytes([_ANSWER])
    return data[0] <= _SINGLE_MOST and data[1:2] in (bytes([_ANSWER]), bytes([_REFUSAL]))


def _message(sender: str, data: bytes, done: _Open) -> Message:
    named = "" if sender == _INDEXED_SENDER else sender
    return Message(named, data, _joined(done), stuffed=done.total is None)


def _joined(done: _Open) -> str:
    return " / ".join(each for each in done.written if each)
