"""Find the lexicon's phrases in a folded line: the longest first, misspelt words forgiven."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

from rapidfuzz import process
from rapidfuzz.distance import OSA

from garage.records.job_lines.lexicon import Role, Sense, lexicon, singular

#: A shorter word has too many neighbours to be taken for a misspelt one.
SHORTEST_ALIKE = 5
#: Letters that may differ, as a share: one of five to seven, two of eight and more. Judgement.
ALIKE_SHORT, ALIKE_LONG = 0.8, 0.75
LONG_WORD = 8
_STOPS = frozenset({".", ",", ";", ":"})
_FEW_WORDS_BETWEEN = 2


@dataclass(frozen=True)
class Mark:
    """A phrase found, as it stands in the line; `is_fuzzy` where a word was misspelt."""

    text: str
    sense: Sense
    is_fuzzy: bool = False

    @property
    def role(self) -> Role:
        return self.sense.role


def marks_of(phrase: str) -> list[Mark]:
    """The phrases of a folded line in their order, parts with what belongs to them."""
    return list(_headed(_placed(list(_found(phrase.split())))))


def _found(words: list[str]) -> Iterator[Mark]:
    book = lexicon()
    known = [word_known(word) for word in words]
    at = 0
    while at < len(words):
        end, sense = at + 1, _lone(words[at])
        for phrase in book.by_first.get(known[at], ()):
            if tuple(known[at : at + len(phrase)]) == phrase:
                end, sense = at + len(phrase), book.phrases[phrase]
                break
        is_fuzzy = any(_misspelt(words[i], known[i]) for i in range(at, end))
        yield Mark(" ".join(known[at:end]), sense, is_fuzzy)
        at = end


def _lone(word: str) -> Sense:
    if word in _STOPS:
        return Sense(Role.STOP, word)
    if word.isdigit():
        return Sense(Role.NUMBER, word)
    if _is_code(word):
        return Sense(Role.CODES)
    return Sense(Role.UNKNOWN)


def _is_code(word: str) -> bool:
    """Whether it has the form of a trouble code: a letter and four signs."""
    return len(word) == 5 and word[0] in "pbcu" and word[1:].isalnum() and word[1].isdigit()


def _misspelt(word: str, known: str) -> bool:
    return word != known and word not in (f"{known}s", f"{known}es")


@lru_cache(maxsize=50_000)
def word_known(word: str) -> str:
    """The word of the lexicon that is meant: itself, its singular, or the one spelt nearly so."""
    vocabulary = lexicon().vocabulary
    word = singular(word, vocabulary)
    if word in vocabulary or not word.isalpha():
        return word
    if len(word) < SHORTEST_ALIKE:
        return word
    found = process.extractOne(
        word,
        lexicon().spelt,
        scorer=OSA.normalized_similarity,
        score_cutoff=ALIKE_LONG if len(word) >= LONG_WORD else ALIKE_SHORT,
    )
    return str(found[0]) if found is not None else word


def _placed(marks: list[Mark]) -> Iterator[Mark]:
    """Numbers as what they are: a position after a part, an ordinal word or `cyl`; else a count."""
    at = 0
    while at < len(marks):
        mark, before = marks[at], marks[at - 1] if at else None
        following = marks[at + 1] if at + 1 < len(marks) else None
        if _names_number(mark, following):
            numbers, at = _numbers(marks, at + 1)
            kind = "bank" if mark.role is Role.BANK else "number"
            yield Mark(mark.text, Sense(Role.POSITION, " ".join([kind, *numbers])))
            continue
        if mark.role is Role.NUMBER and before is not None and before.role is Role.PART:
            numbers, at = _numbers(marks, at)
            yield Mark(mark.text, Sense(Role.POSITION, " ".join(["number", *numbers])))
            continue
        if mark.text == "off" and before is not None and before.role is Role.NUMBER:
            mark = Mark("off", Sense(Role.PLAIN))
        yield mark
        at += 1


def _names_number(mark: Mark, following: Mark | None) -> bool:
    names = mark.role in (Role.ORDINAL, Role.BANK) or mark.text == "no"
    return names and following is not None and following.role is Role.NUMBER


def _numbers(marks: list[Mark], at: int) -> tuple[list[str], int]:
    """The numbers that stand in a row from here, and where the row ends."""
    numbers = [marks[at].text]
    at += 1
    while (
        at + 1 < len(marks)
        and (marks[at].role is Role.AND or marks[at].text == ",")
        and marks[at + 1].role is Role.NUMBER
    ):
        numbers.append(marks[at + 1].text)
        at += 2
    return numbers, at


def _headed(marks: Iterator[Mark]) -> Iterator[Mark]:
    """One mark for each thing: `turbo hose` is a hose, `wire at the sensor` a wire, `pipe to the
    filter` the pipe; `filter sensor` says of no sensor which."""
    held: Mark | None = None
    between: list[Mark] = []
    for mark in marks:
        if held is None:
            if mark.role in (Role.PART, Role.FITTING):
                held = mark
            else:
                yield mark
            continue
        joined = _joined(held, between, mark)
        if joined is not None:
            held, between = joined, []
        elif _may_lie_between(mark) and len(between) < _FEW_WORDS_BETWEEN:
            between.append(mark)
        else:
            yield held
            yield from between
            held, between = None, []
            if mark.role in (Role.PART, Role.FITTING):
                held = mark
            else:
                yield mark
    if held is not None:
        yield held
        yield from between


def _may_lie_between(mark: Mark) -> bool:
    return mark.role in (Role.OF, Role.BECAUSE, Role.POSITION, Role.NUMBER, Role.PLAIN)


def _joined(held: Mark, between: list[Mark], mark: Mark) -> Mark | None:
    """The two as one thing, or None where they are two."""
    if any(each.role in (Role.OF, Role.BECAUSE) for each in between):
        return held if mark.role in (Role.PART, Role.FITTING) else None
    if mark.role is Role.FITTING:
        system = held.sense.system if held.role is Role.PART else ""
        return Mark(f"{held.text} {mark.text}", Sense(Role.PART, "", system), held.is_fuzzy)
    if between:
        return None
    if held.role is Role.PART and mark.text == "sensor":
        return Mark(f"{held.text} sensor", Sense(Role.PART, "?", held.sense.system))
    if held.role is Role.PART and mark.role is Role.PART:
        return replace(mark, text=f"{held.text} {mark.text}", is_fuzzy=True)
    return None
