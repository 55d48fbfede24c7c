"""Counts entries and exits of single lives by clock value, a row for each cause or group."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from garage.lifetimes.arrays import IntArray, WholeArray
from garage.lifetimes.counting import blocks, refuse_too_many
from garage.lifetimes.life_rows import CheckedLives, LifePlaces

LIVES_AT_A_TIME = 2**16
"""Lives whose places, 512 kB, are worked out before they are counted. Judgement, measured on a
million lives: the quickest of 2**12 to 2**20; fewer cost calls, more cost new memory."""

NARROW_AND_WIDE = (np.uint16, np.int64)
"""Widths in which lives are counted, in turn: a million lives seldom meet 65 536 at one clock
value, and narrow counts stay in the processor's cache."""

ONE_ROW = np.zeros(1, np.int32)
"""The row of every life, where there is but one row."""

LARGE_PAGES_FROM, WORTH_LARGE_PAGES = 2**22, 2**20
"""Bytes from which NumPy asks the system for large pages, and from which counts are worth them: in
small pages random additions take up to half as long again. Measured."""


@dataclass(frozen=True, slots=True)
class CountRows:
    """So many rows of counts, and in which of them each of some lives counts.

    None where there is but one row.
    """

    count: int = 1
    of: Callable[[slice], WholeArray] | None = None

    def rows(self, some: slice) -> WholeArray:
        """The row of each of some lives, or the one row of all."""
        return ONE_ROW if self.of is None else self.of(some)


@dataclass(frozen=True, slots=True, eq=False)
class EntriesAndExits:
    """Lives by row and place, of the p places at which they may enter and leave.

    Attributes
    ----------
    left : array of whole numbers, shape (x, p)
        Lives that leave.
    late : array of whole numbers, shape (e, p)
        Lives that come under watch later than at the lowest place.
    all_left, all_late : arrays of int64, shapes (x,) and (e,)
        Each row added up.
    """

    left: WholeArray
    late: WholeArray
    all_left: IntArray
    all_late: IntArray


def entries_and_exits(
    life: CheckedLives, places: LifePlaces, *, exits: CountRows, entries: CountRows
) -> EntriesAndExits:
    """Count lives where they enter and where they leave."""
    if life.weight is not None:
        refuse_too_many(life.weight)
    for width in NARROW_AND_WIDE if life.weight is None else NARROW_AND_WIDE[-1:]:
        # In one block: the system gives out a large one, and finds its way in it, far quicker.
        counts = _counts((exits.count + entries.count, places.rows), width)
        left, late = counts[: exits.count], counts[exits.count :]
        events = life.lives
        for some in blocks(0, len(places.end), LIVES_AT_A_TIME):
            # Withdrawals and failures of each cause side by side, so that one pass counts all.
            _add(left, exits.rows(some), places.end[some], life.weighed(some))
            events += _add_late(late, entries, life, places, some)
        # Added up in the least width that holds it: twice as fast.
        of_row = counts.sum(axis=1, dtype=np.uint32 if width is np.uint16 else np.int64)
        # A count too large for its width begins again at 0, and the sum tells.
        if of_row.sum() == events:
            break
    of_row = of_row.astype(np.int64)
    return EntriesAndExits(left, late, of_row[: exits.count], of_row[exits.count :])


def _counts(shape: tuple[int, int], width: type[np.integer[Any]]) -> WholeArray:
    """Counts of 0, in large pages of memory where they are many."""
    size = shape[0] * shape[1]
    taken, a_count = size, np.dtype(width).itemsize
    if size * a_count >= WORTH_LARGE_PAGES:
        taken = max(size, LARGE_PAGES_FROM // a_count)
    return np.zeros(taken, width)[:size].reshape(shape)


def _add_late(
    late: WholeArray, entries: CountRows, life: CheckedLives, places: LifePlaces, some: slice
) -> int:
    """Add those of some lives that enter after the lowest place; how many they are.

    Most enter at the lowest, and adding to one and the same count over and over is slow.
    """
    chosen = np.flatnonzero(places.begin[some] != 0)
    if not len(chosen):
        return 0
    row = entries.rows(some)
    row = row if row is ONE_ROW else row.take(chosen)
    weight = life.weighed(some, chosen)
    _add(late, row, places.begin[some].take(chosen), weight)
    return len(chosen) if life.weight is None else int(weight.sum())


def _add(counts: WholeArray, row: WholeArray, place: WholeArray, weight: IntArray) -> None:
    """Add the weights where these rows and places stand."""
    # Worked out in half the width where that holds them, and widened once.
    narrow = row.dtype == place.dtype == np.int32 and counts.size <= np.iinfo(np.int32).max
    cell = np.multiply(row, counts.shape[1], dtype=np.int32 if narrow else np.int64) + place
    np.add.at(counts.reshape(-1), cell.astype(np.intp, copy=False), weight.astype(counts.dtype))
