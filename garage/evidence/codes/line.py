"""Several trouble codes typed into one line, each with the state that was said of it."""

import re
from dataclasses import dataclass
from enum import StrEnum

from garage.evidence.codes.form import TroubleCode, parse_code
from garage.evidence.codes.heavy import SHORT, WORDED, HeavyCode, heavy_of_match


class SaidState(StrEnum):
    """What a line says of a code."""

    CONFIRMED = "confirmed"
    PENDING = "pending"
    PERMANENT = "permanent"
    NOT_SAID = "not_said"


@dataclass(frozen=True, slots=True)
class CodeInLine:
    """One code with its state; `said` is the word the state was taken from, empty where none."""

    code: TroubleCode | HeavyCode
    state: SaidState
    said: str
    written: str


@dataclass(frozen=True, slots=True)
class PartUnread:
    """A part of the line that gave no code, and why."""

    written: str
    reason: str


@dataclass(frozen=True, slots=True)
class Line:
    """What a line holds: its codes in order, and every part that is none."""

    codes: tuple[CodeInLine, ...]
    unread: tuple[PartUnread, ...]


#: The words that workshops type. "Stored" and "active" are confirmed codes; so is "history", which
#: says further that the fault is not there now.
_STATES = {
    "confirmed": SaidState.CONFIRMED,
    "conf": SaidState.CONFIRMED,
    "stored": SaidState.CONFIRMED,
    "active": SaidState.CONFIRMED,
    "current": SaidState.CONFIRMED,
    "present": SaidState.CONFIRMED,
    "history": SaidState.CONFIRMED,
    "historic": SaidState.CONFIRMED,
    "pending": SaidState.PENDING,
    "pend": SaidState.PENDING,
    "permanent": SaidState.PERMANENT,
    "perm": SaidState.PERMANENT,
}
#: Why a code that was typed twice is not kept twice; nothing is lost by it.
REPEATED = "the same code and state stand before it"
_JOINING = frozenset({"and", "with", "code", "codes", "dtc", "dtcs", "&", "+"})
_NEGATING = frozenset({"not", "no", "non", "never"})
#: Up to here a short form such as 12/3 may as well be a day and a month.
_DAY_MOST = 31
_SIGNS = ".()[]{},;:/|-–—\"'"
#: A failure type may stand off its code by a sign, never by a space alone: that may be a word.
_PIECE = re.compile(
    r"(?P<sign>[,;\n|])|(?P<code>[A-Za-z0-9]+\s?[-:]\s?[0-9A-Fa-f]{2}(?![\w]))|(?P<word>[^\s,;|]+)"
)
_LOOKS_LIKE_CODE = re.compile(r"[A-Za-z][0-9A-Za-z]*\d[0-9A-Za-z]*")


@dataclass(frozen=True, slots=True)
class _Piece:
    """A stretch of the line; `after_sign` says whether a comma or the like stands before it."""

    written: str
    code: TroubleCode | HeavyCode | None = None
    state: SaidState | None = None
    reason: str = ""
    after_sign: bool = False
    is_heading: bool = False


def parse_line(text: str) -> Line:
    """Which codes does this line hold, and what is said of each?

    A state is taken from the word right after a code (`P244B pend.`, `P2002 (perm)`). A word before
    all codes, after a comma and right before a code, or with a colon, holds for the codes that
    follow, until the next such word.

    Parameters
    ----------
    text : str
        Anything typed: codes of five characters and SPN/FMI, in any mixture.

    Returns
    -------
    Line
        No code and no other word is dropped: what gave no code stands in `unread` with the reason.
        Only signs, and words that join, such as "and", are passed over.

    Examples
    --------
    >>> line = parse_line("P2463, P244B pend.; p2002 (perm), P2O63")
    >>> [(each.code.printed, each.state.value) for each in line.codes]
    [('P2463', 'not_said'), ('P244B', 'pending'), ('P2002', 'permanent')]
    >>> line.unread[0].written
    'P2O63'
    """
    pieces = _pieces(text)
    codes: list[CodeInLine] = []
    unread: list[PartUnread] = []
    heading, heading_said = SaidState.NOT_SAID, ""
    for at, piece in enumerate(pieces):
        if piece.code is not None:
            said = _said_after(pieces, at) or [(heading, heading_said)]
            for state, word in said:
                codes.append(CodeInLine(piece.code, state, word, piece.written))
        elif piece.state is not None:
            if _is_unclear(pieces, at):
                heading, heading_said = SaidState.NOT_SAID, ""
                unread.append(PartUnread(piece.written, "it is not clear which code it speaks of"))
            elif _heads(pieces, at):
                heading, heading_said = piece.state, piece.written
                if not any(each.code is not None for each in pieces[at + 1 :]):
                    unread.append(PartUnread(piece.written, "a state with no code after it"))
        else:
            unread.append(PartUnread(piece.written, piece.reason))
    return Line(*_without_repeats(codes, unread))


def _without_repeats(
    codes: list[CodeInLine], unread: list[PartUnread]
) -> tuple[tuple[CodeInLine, ...], tuple[PartUnread, ...]]:
    kept: dict[tuple[str, SaidState], CodeInLine] = {}
    for each in codes:
        key = (each.code.printed, each.state)  # however often it occurred, it is one code
        if key in kept:
            unread.append(PartUnread(each.written, REPEATED))
        else:
            kept[key] = each
    return tuple(kept.values()), tuple(unread)


def _said_after(pieces: list[_Piece], at: int) -> list[tuple[SaidState, str]]:
    said: list[tuple[SaidState, str]] = []
    for later in range(at + 1, len(pieces)):
        state = pieces[later].state
        if state is None or _is_unclear(pieces, later) or _heads(pieces, later):
            break
        said.append((state, pieces[later].written))
    return said


def _is_unclear(pieces: list[_Piece], at: int) -> bool:
    """Whether a state follows a word that may turn its sense, as in "not pending"."""
    if at == 0 or pieces[at - 1].code is not None or pieces[at - 1].state is not None:
        return False
    if pieces[at].is_heading or pieces[at].after_sign:
        return pieces[at - 1].written.lower() in _NEGATING
    return True


def _heads(pieces: list[_Piece], at: int) -> bool:
    """Whether a state speaks of the codes after it rather than of the one before it."""
    piece = pieces[at]
    before = at - 1
    while before >= 0 and pieces[before].state is not None and not pieces[before].is_heading:
        before -= 1
    if piece.is_heading or before < 0 or pieces[before].code is None:
        return True
    following = pieces[at + 1] if at + 1 < len(pieces) else None
    leads = following is not None and following.code is not None and not following.after_sign
    return piece.after_sign and leads


def _pieces(text: str) -> list[_Piece]:
    pieces: list[_Piece] = []
    start = 0
    for found in _heavy_matches(text):
        pieces += _pieces_of_words(text[start : found.start()])
        after_sign = text[: found.start()].rstrip(" ")[-1:] in (",", ";", "\n", "|")
        pieces.append(_heavy_piece(found, after_sign))
        start = found.end()
    return pieces + _pieces_of_words(text[start:])


def _heavy_matches(text: str) -> list[re.Match[str]]:
    worded = list(WORDED.finditer(text))
    spans = [each.span() for each in worded]
    short = [
        each
        for each in SHORT.finditer(text)
        if not any(start < each.end() and each.start() < end for start, end in spans)
    ]
    return sorted([*worded, *short], key=lambda each: each.start())


def _heavy_piece(found: re.Match[str], after_sign: bool) -> _Piece:
    if found.re is SHORT and len(found["spn"]) <= 2 and int(found["spn"]) <= _DAY_MOST:
        return _Piece(found[0], reason="may be a date; write it as SPN and FMI if it is a code")
    try:
        return _Piece(found[0], code=heavy_of_match(found), after_sign=after_sign)
    except ValueError as wrong:
        return _Piece(found[0], reason=str(wrong))


def _pieces_of_words(text: str) -> list[_Piece]:
    pieces: list[_Piece] = []
    after_sign = False
    for found in _PIECE.finditer(text):
        if found["sign"] is not None:
            after_sign = True
            continue
        for written in _split_if_no_code(found):
            piece = _piece(written, after_sign)
            if piece is None:
                after_sign = after_sign or written.strip(_SIGNS).lower() in _JOINING
            else:
                pieces.append(piece)
                after_sign = False
    return pieces


def _split_if_no_code(found: re.Match[str]) -> list[str]:
    """`P2463-92` stays whole; `pending:12`, `P2463/P244B` or `P2463-P244B` comes apart."""
    if found["code"] is not None and _code_or_reason(found[0])[0] is not None:
        return [found[0]]
    return [each for each in re.split(r"(?<=:)|[\s/()\[\]-]+", found[0]) if each]


def _piece(written: str, after_sign: bool) -> _Piece | None:
    word = written.strip(_SIGNS)
    if not word or word.lower() in _JOINING:
        return None
    state = _STATES.get(word.lower())
    if state is not None:
        heading = written.rstrip(".)").endswith(":")
        return _Piece(word, state=state, after_sign=after_sign, is_heading=heading)
    code, reason = _code_or_reason(word)
    return _Piece(word, code=code, reason=reason, after_sign=after_sign)


def _code_or_reason(word: str) -> tuple[TroubleCode | None, str]:
    try:
        return parse_code(word), ""
    except ValueError as wrong:
        near = _LOOKS_LIKE_CODE.fullmatch(word.strip(_SIGNS))
        return None, str(wrong) if near else "no trouble code"
