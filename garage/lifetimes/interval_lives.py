"""Lives whose failure is known only to lie between two clock values."""

from collections.abc import Iterable
from dataclasses import dataclass, fields
from typing import Self

import numpy as np
from numpy.typing import ArrayLike

from garage.lifetimes.arrays import BoolArray, FloatArray
from garage.lifetimes.life_rows import FROM_THE_START, refuse_first
from garage.lifetimes.risk_table import COUNT_SLACK, RiskTable


@dataclass(frozen=True, slots=True, eq=False)
class IntervalLives:
    """Lives one by one, each with the stretch of the clock that its failure lies in.

    Attributes
    ----------
    left, right : arrays of float64, shape (n,), clock units
        The failure lies in (left, right]: last known sound at `left`, found failed at
        `right`. ``left == right`` is a failure at that very clock value, ``right = inf`` a
        life last seen unfailed at `left`, ``left = entry`` one known only to have failed by
        `right`. Infinity is allowed in `right` alone, as input.
    entry : array of float64, shape (n,), optional
        The life was watched after `entry` only, and would not be known had it failed by then.
        0 where left out. ``FROM_THE_START`` (-1) lets failures at clock 0 itself count; a law
        without failures at 0 takes it as 0, and so a `left` of -1.
    weight : array of float64, shape (n,), optional
        How many lives the row stands for, 0 or more, fractions allowed; 1 where left out.

    Raises
    ------
    ValueError
        If shapes differ, a value is not a number, a life ends before it begins or begins
        before its entry, a failure lies at its entry or a weight is below 0.

    Examples
    --------
    A failure between 10 and 20, one at 15, one by 30, a life still sound at 40:

    >>> lives = IntervalLives([10, 15, 0, 40], [20, 15, 30, np.inf])
    >>> lives.n, lives.failed
    (4.0, 3.0)
    >>> lives.exact.tolist(), lives.unfailed.tolist()
    ([False, True, False, False], [False, False, False, True])
    """

    left: FloatArray
    right: FloatArray
    # Never None once the life is made; the annotation says what readers find.
    entry: FloatArray = None  # type: ignore[assignment]
    weight: FloatArray = None  # type: ignore[assignment]

    def __post_init__(self) -> None:
        count = np.shape(self.left)
        if len(count) != 1:
            raise ValueError(f"`left` holds one number for each life; got shape {count}")
        for name, usual in (("left", None), ("right", None), ("entry", 0.0), ("weight", 1.0)):
            given = getattr(self, name)
            if given is None and usual is not None:
                given = np.full(count, usual)
            # A copy: it is locked below, and must not lock what was handed in.
            held = np.array(given, dtype=np.float64)
            if held.shape != count:
                raise ValueError(f"`{name}` must have shape {count}; got {held.shape}")
            object.__setattr__(self, name, held)
        self._refuse()
        for each in fields(self):
            getattr(self, each.name).setflags(write=False)

    def _refuse(self) -> None:
        left, right, entry, weight = self.left, self.right, self.entry, self.weight
        for name, values in (("left", left), ("entry", entry), ("weight", weight)):
            refuse_first(~np.isfinite(values), f"`{name}` is a finite number", values)
        refuse_first(np.isnan(right), "`right` is a number, or inf for an unfailed life", right)
        refuse_first(
            (entry < 0) & (entry != FROM_THE_START),
            "a life is watched from 0 or later, or from -1 where failures at 0 count",
            entry,
        )
        refuse_first(
            left < entry,
            "a life was sound when its watch began: `left` is never below `entry`",
            left,
            entry,
        )
        refuse_first(right < left, "`right` is never below `left` (exchange them?)", left, right)
        refuse_first(
            (left == right) & (right <= entry),
            "a life that fails where it enters has no watched time; leave it out, or let it "
            "enter at -1 where failures at clock 0 count",
            right,
            entry,
        )
        refuse_first(weight < 0, "a weight is a number of lives, 0 or more", weight)

    @classmethod
    def from_rows(cls, rows: Iterable[tuple[float, float, float]]) -> Self:
        """Take rows (last sound, found failed, count), all watched from 0.

        Examples
        --------
        >>> IntervalLives.from_rows([(10_000, 20_000, 2), (30_000, 45_000, 1)]).n
        3.0
        """
        left, right, count = _columns(rows)
        return cls(left, right, weight=count)

    @classmethod
    def from_risk_table(
        cls, table: RiskTable, intervals: Iterable[tuple[float, float, float]] = ()
    ) -> Self:
        """Take the lives of a risk table; failures named in `intervals` become intervals.

        Parameters
        ----------
        table : RiskTable
            All causes count as failures; choose one with ``table.cause_alone``. Failures
            must not be raised by a capture share, which no interval can carry.
        intervals : rows (last sound, found failed, count)
            Failures that stand in the table where they were found, and were last sound at
            an earlier clock value, while under watch.

        Raises
        ------
        ValueError
            If an interval names failures that the table does not hold, or lives last sound
            before as many had come under watch; or if `corrected` differs from `failed`.

        Notes
        -----
        A table does not say which entry belongs to which exit. Those who entered first are
        taken to leave first; a likelihood is the same for every way of joining them.

        Examples
        --------
        >>> from garage.lifetimes.risk_table import LivesArrays
        >>> lives = LivesArrays(entry=[0, 0, 2], exit=[3, 5, 5], cause=[1, 0, 1])
        >>> table = RiskTable.from_lives(lives, unit="km")
        >>> joined = IntervalLives.from_risk_table(table, [(1, 3, 1)])
        >>> for row in zip(joined.entry, joined.left, joined.right): print(*row)
        0.0 1.0 3.0
        0.0 5.0 5.0
        2.0 5.0 inf
        """
        if np.any(np.abs(table.corrected - table.failed) > COUNT_SLACK):
            raise ValueError(
                "interval lives count failures as seen; this table's are divided by a capture "
                "share. Build the table without one."
            )
        failed = table.failed.sum(axis=0).astype(np.float64)
        wide = _columns(intervals)
        for last_sound, found, lives in zip(*wide, strict=True):
            row = int(np.searchsorted(table.clock, found))
            known = row < len(table.clock) and table.clock[row] == found
            if not (last_sound < found and lives >= 0 and known and lives <= failed[row]):
                raise ValueError(
                    "an interval ends after its last sound clock value, at one where the table "
                    f"holds its failures; got {last_sound} to {found} for {lives} lives, and "
                    f"the table holds {failed[row] if known else 0.0} more there"
                )
            failed[row] -= lives
        clock = table.clock.astype(np.float64)
        never = np.full(len(clock), np.inf)
        staying = max(float(table.n - failed.sum() - wide[2].sum() - table.withdrawn.sum()), 0.0)
        end = clock[-1:]
        left = np.concatenate([wide[0], clock, clock, end])
        right = np.concatenate([wide[1], clock, never, np.full(len(end), np.inf)])
        weight = np.concatenate([wide[2], failed, table.withdrawn, np.full(len(end), staying)])
        # The last entry that a life with this end may have had; entries are whole numbers.
        latest = np.concatenate([wide[0], clock - 1, clock, end])
        order = np.argsort(latest, kind="stable")
        entry, place, share = _first_in_first_out(
            (clock, table.entered.astype(np.float64)), (latest[order], weight[order])
        )
        return cls(left[order][place], right[order][place], entry, share)

    @property
    def n(self) -> float:
        """Number of lives, the sum of the weights."""
        return float(self.weight.sum())

    @property
    def failed(self) -> float:
        """Number of lives known to have failed."""
        return float(self.weight[~self.unfailed].sum())

    @property
    def exact(self) -> BoolArray:
        """Which failures are known to the very clock value."""
        return np.asarray(self.left == self.right)

    @property
    def unfailed(self) -> BoolArray:
        """Which lives were last seen unfailed."""
        return np.asarray(np.isinf(self.right))

    def where(self, kept: BoolArray) -> Self:
        """The lives in the marked rows."""
        return type(self)(self.left[kept], self.right[kept], self.entry[kept], self.weight[kept])

    def distinct(self) -> Self:
        """The same lives with equal rows joined, sorted, rows of weight 0 left out.

        Examples
        --------
        >>> IntervalLives([5, 1, 5], [9, 2, 9], weight=[1, 0, 2]).distinct().weight.tolist()
        [3.0]
        """
        kept = self.weight > 0
        rows = np.column_stack([self.left, self.right, self.entry])[kept]
        joined, place = np.unique(rows, axis=0, return_inverse=True)
        weight = np.zeros(len(joined))
        np.add.at(weight, place.reshape(-1), self.weight[kept])
        return type(self)(joined[:, 0], joined[:, 1], joined[:, 2], weight)


def _columns(rows: Iterable[tuple[float, float, float]]) -> tuple[FloatArray, ...]:
    listed: ArrayLike = list(rows)
    table = np.asarray(listed, np.float64)
    if table.size and (table.ndim != 2 or table.shape[1] != 3):
        raise ValueError(
            f"an interval row is last sound, found failed, count; got shape {table.shape}"
        )
    return tuple(np.ascontiguousarray(table.reshape(-1, 3)[:, place]) for place in range(3))


def _first_in_first_out(
    entries: tuple[FloatArray, FloatArray], ends: tuple[FloatArray, FloatArray]
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Join entries to ends, both in order; entry, number of the end, and weight of each pair."""
    (clock, entered), (latest, weight) = entries, ends
    in_sum, out_sum = np.cumsum(entered), np.cumsum(weight)
    edges = np.unique(np.concatenate([[0.0], in_sum, out_sum]))
    edges = edges[edges <= (in_sum[-1] if len(in_sum) else 0.0)]
    middle, share = (edges[1:] + edges[:-1]) / 2, np.diff(edges)
    # Sums of fractions end a little beside each other: such slivers are no lives.
    middle, share = middle[share > COUNT_SLACK], share[share > COUNT_SLACK]
    entry = clock[np.searchsorted(in_sum, middle)]
    place = np.minimum(np.searchsorted(out_sum, middle), max(len(out_sum) - 1, 0))
    early = entry > latest[place]
    if np.any(early):
        at = int(np.argmax(early))
        raise ValueError(
            "a life is last sound while under watch; got more lives last sound by "
            f"{latest[place][at]:g} than had entered by then. Let an interval begin no earlier "
            "than its life's entry."
        )
    return entry, place, share
