"""Seeded faults put into good odometer histories, for measuring what the judgement finds.

One fault a history. An odometer set back or replaced stays so: every later reading is wrong with
it. What is right to say of a fault is stated here, not taken from the code under test.
"""

from calendar import monthrange
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

import numpy as np

from garage.records.choices import Doubt
from garage.records.odometers.readings import Judgement, Reading
from garage.records.odometers.trace import leaves_trace

KM_PER_MILE = 1.609344  # exact: NIST SP 811 (2008), appendix B.8
FEWEST, MOST = 2, 15
Judge = Callable[[Sequence[Reading]], list[Judgement]]


@dataclass(frozen=True)
class Spoilt:
    """A history with one fault: which readings are wrong, and what it may be called."""

    readings: list[Reading]
    wrong: frozenset[int]
    first_wrong: int
    names: frozenset[Doubt]
    true: Reading


def _one(history: Sequence[Reading], at: int, reading: Reading, name: Doubt) -> Spoilt | None:
    names = {name}
    true, read = int(history[at].typed), int(reading.typed)
    if read // 10 == true or true // 10 == read:
        # One figure too many at the end, or too few, is tenths whichever way it came about.
        names.add(Doubt.TENTHS)
    if reading == history[at]:
        return None
    readings = [*history[:at], reading, *history[at + 1 :]]
    return Spoilt(readings, frozenset({at}), at, frozenset(names), history[at])


def _digits(history: Sequence[Reading], at: int, text: str) -> Spoilt | None:
    return _one(history, at, replace(history[at], typed=int(text or 0)), Doubt.WRONG_DIGIT)


def unit(history: Sequence[Reading], at: int, rng: np.random.Generator) -> Spoilt | None:
    """Miles typed as km, km typed as miles, or km turned from miles that were none."""
    km = int(history[at].typed)
    how = int(rng.integers(4))
    if how < 2:
        spoilt = replace(history[at], typed=round(km / KM_PER_MILE))
    elif how == 2:
        spoilt = replace(history[at], unit="mi")
    else:
        spoilt = replace(history[at], typed=round(km * KM_PER_MILE))
    return _one(history, at, spoilt, Doubt.WRONG_UNIT)


def dropped_digit(history: Sequence[Reading], at: int, rng: np.random.Generator) -> Spoilt | None:
    text = str(history[at].typed)
    place = int(rng.integers(len(text)))
    return _digits(history, at, text[:place] + text[place + 1 :])


def added_digit(history: Sequence[Reading], at: int, rng: np.random.Generator) -> Spoilt | None:
    text = str(history[at].typed)
    place = int(rng.integers(len(text) + 1))
    return _digits(history, at, text[:place] + str(rng.integers(10)) + text[place:])


def swapped_digits(history: Sequence[Reading], at: int, rng: np.random.Generator) -> Spoilt | None:
    text = str(history[at].typed)
    place = int(rng.integers(max(1, len(text) - 1)))
    return _digits(history, at, text[:place] + text[place : place + 2][::-1] + text[place + 2 :])


def mistyped_digit(history: Sequence[Reading], at: int, rng: np.random.Generator) -> Spoilt | None:
    text = str(history[at].typed)
    place = int(rng.integers(len(text)))
    return _digits(history, at, text[:place] + str(rng.integers(10)) + text[place + 1 :])


def tenths(history: Sequence[Reading], at: int, rng: np.random.Generator) -> Spoilt | None:
    km = int(history[at].typed)
    typed = km * 10 + int(rng.integers(10)) if rng.integers(2) else km // 10
    return _one(history, at, replace(history[at], typed=typed), Doubt.TENTHS)


def wrong_date(history: Sequence[Reading], at: int, rng: np.random.Generator) -> Spoilt | None:
    """Day and month exchanged where that is a day, else the year or the month off by one."""
    day = history[at].read_on
    how = rng.choice(["exchanged", "year before", "year after", "month"], p=[0.4, 0.3, 0.1, 0.2])
    if how == "exchanged" and day.day <= 12:
        moved = date(day.year, day.day, day.month)
    elif how == "month":
        moved = _months_on(day, int(rng.choice([-1, 1])))
    else:
        moved = _months_on(day, 12 if how == "year after" else -12)
    return _one(history, at, replace(history[at], read_on=moved), Doubt.WRONG_DATE)


def set_back(history: Sequence[Reading], at: int, rng: np.random.Generator) -> Spoilt | None:
    """From this reading on, a tenth to seven tenths of what it had gone is missing."""
    off = int(int(history[at].typed) * rng.uniform(0.1, 0.7))
    return _from(history, at, off)


def replaced(history: Sequence[Reading], at: int, rng: np.random.Generator) -> Spoilt | None:
    """A new instrument, at 0 on some day since the reading before."""
    if at == 0:
        return None
    before, now = int(history[at - 1].typed), int(history[at].typed)
    return _from(history, at, before + round(float(rng.uniform()) * (now - before)))


def _from(history: Sequence[Reading], at: int, off_km: int) -> Spoilt | None:
    if at == 0 or off_km == 0:
        return None
    later = [replace(each, typed=int(each.typed) - off_km) for each in history[at:]]
    names = {Doubt.CLUSTER_REPLACED}
    if len(later) == 1:
        # One lower reading alone does not show how it goes on.
        names.add(Doubt.BACKWARDS)
    wrong = frozenset(range(at, len(history)))
    return Spoilt([*history[:at], *later], wrong, at, frozenset(names), history[at])


def _months_on(day: date, months: int) -> date:
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))


KINDS: dict[str, Callable[[Sequence[Reading], int, np.random.Generator], Spoilt | None]] = {
    "unit": unit,
    "dropped digit": dropped_digit,
    "added digit": added_digit,
    "swapped digits": swapped_digits,
    "mistyped digit": mistyped_digit,
    "tenths": tenths,
    "wrong date": wrong_date,
    "set back": set_back,
    "instrument replaced": replaced,
}


def shown_km(reading: Reading) -> int:
    return round(float(reading.typed) * (KM_PER_MILE if reading.unit == "mi" else 1))


@dataclass
class Tally:
    """What became of the faults of one kind, or of histories of one length."""

    faults: int = 0
    with_trace: int = 0
    found: int = 0
    one_of_several: int = 0
    named: int = 0
    strictly_named: int = 0
    good: int = 0
    good_doubted: int = 0
    good_in_pair: int = 0

    @property
    def share_traced(self) -> float:
        return self.with_trace / self.faults

    @property
    def share_found(self) -> float:
        return self.found / self.with_trace

    @property
    def share_in_pair(self) -> float:
        return self.one_of_several / self.with_trace

    @property
    def share_named(self) -> float:
        return self.named / self.found

    @property
    def share_good_doubted(self) -> float:
        return self.good_doubted / self.good

    def row(self, name: str) -> str:
        """As it stands in the document."""
        return (
            f"| {name} | {self.faults} | {self.share_traced:.0%} | {self.share_found:.1%} "
            f"| {self.share_in_pair:.0%} | {self.share_named:.0%} "
            f"| {self.strictly_named / self.found:.0%} | {self.share_good_doubted:.1%} "
            f"| {self.good_in_pair / self.good:.1%} |"
        )


@dataclass
class Measured:
    """Tallies by kind of fault and by number of readings."""

    by_kind: dict[str, Tally] = field(default_factory=dict)
    by_length: dict[int, Tally] = field(default_factory=dict)
    whole: Tally = field(default_factory=Tally)


def has_trace(readings: Sequence[Reading]) -> bool:
    ordered = sorted((each.read_on.toordinal(), shown_km(each)) for each in readings)
    return leaves_trace([day for day, _ in ordered], [km for _, km in ordered])


def measure(
    histories: Sequence[Sequence[Reading]], judge: Judge, rounds: int, rng: np.random.Generator
) -> Measured:
    """Thin each history to 2 to 15 readings, put one fault of each kind in, and judge."""
    found = Measured()
    for _ in range(rounds):
        for history in histories:
            for kind, spoil in KINDS.items():
                count = int(rng.integers(FEWEST, MOST + 1))
                kept = np.sort(rng.choice(len(history), min(count, len(history)), replace=False))
                thinned = [history[int(i)] for i in kept]
                spoilt = spoil(thinned, int(rng.integers(len(thinned))), rng)
                if spoilt is None or min(int(each.typed) for each in spoilt.readings) < 0:
                    continue
                tallies = (
                    found.by_kind.setdefault(kind, Tally()),
                    found.by_length.setdefault(len(thinned), Tally()),
                    found.whole,
                )
                _count(spoilt, judge, tallies)
    return found


def _count(spoilt: Spoilt, judge: Judge, tallies: Sequence[Tally]) -> None:
    trace = has_trace(spoilt.readings)
    judgements = judge(spoilt.readings) if trace else []
    for tally in tallies:
        tally.faults += 1
        if not trace:
            continue
        tally.with_trace += 1
        first = judgements[spoilt.first_wrong]
        tally.found += first.doubt is not None
        tally.one_of_several += first.doubt == Doubt.ONE_OF_SEVERAL
        tally.strictly_named += _name(first) in spoilt.names
        tally.named += _name(first) in spoilt.names or _figure_named(spoilt, first)
        for place, judgement in enumerate(judgements):
            if place in spoilt.wrong:
                continue
            tally.good += 1
            if judgement.doubt is None:
                continue
            pair = spoilt.first_wrong in judgement.partners or bool(
                spoilt.wrong & set(judgement.partners)
            )
            cannot_tell = len(judgement.partners) <= 2 and pair
            tally.good_in_pair += cannot_tell
            tally.good_doubted += not cannot_tell


def _name(judgement: Judgement) -> Doubt | None:
    """Its doubt; of one of several, the likeliest that mends it."""
    if judgement.doubt != Doubt.ONE_OF_SEVERAL:
        return judgement.doubt
    kinds = [each.kind for each in judgement.explanations if each.kind is not None]
    return kinds[0]


#: A figure too many in the middle and one too many at the end come to values so near.
FIGURE_TOLERANCE = 0.02


def _figure_named(spoilt: Spoilt, judgement: Judgement) -> bool:
    """A figure too many or too few, found as one, but at another place that comes to the same."""
    true, read = int(spoilt.true.typed), int(spoilt.readings[spoilt.first_wrong].typed)
    if len(str(true)) == len(str(read)) or len(spoilt.wrong) > 1:
        return False
    if not {Doubt.TENTHS, Doubt.WRONG_DIGIT} & spoilt.names:
        return False
    if _name(judgement) not in (Doubt.TENTHS, Doubt.WRONG_DIGIT):
        return False
    mended = next(each.km for each in judgement.explanations if each.km is not None and each.kind)
    return abs(mended - true) <= FIGURE_TOLERANCE * true
