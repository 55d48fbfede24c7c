"""The risk table: all that the statistics need to know about one group of lives."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields
from typing import Any, Self

import numpy as np
from numpy.typing import ArrayLike

from garage.lifetimes.arrays import FloatArray, IntArray
from garage.lifetimes.counted_lives import CountedLives, counted_lives
from garage.lifetimes.counting import busy_rows, over_causes, placed, summed_parts, summed_whole
from garage.lifetimes.life_rows import (
    FROM_THE_START,
    LivesArrays,
    RiskRows,
    refuse_shape,
    whole_numbers,
)
from garage.lifetimes.table_checks import (
    COUNT_SLACK,
    refuse_counts,
    refuse_form,
    refuse_names,
    refuse_overdrawn,
)
from garage.lifetimes.table_form import KeptTable, packed, plain_form, plain_read, unpacked

__all__ = ["COUNT_SLACK", "FROM_THE_START", "LivesArrays", "RiskRows", "RiskTable"]


@dataclass(frozen=True, slots=True, eq=False)
class RiskTable:
    """Who came under watch, failed and left at each clock value, for one group of lives.

    Sufficient for every estimate in this package, and additive: the table of two groups is
    the sum of their tables.

    Attributes
    ----------
    unit : str
        Unit of the clock, such as ``"km"`` or ``"days"``.
    causes : tuple of str, length c
        Names of the causes of failure, in the order of the rows of `failed`.
    clock : array of int64, shape (r,)
        Clock values at which anything happened, strictly ascending.
    entered : array of int64, shape (r,)
        Lives that came under watch at this clock value; at risk after it, not at it.
    failed, corrected : arrays, shape (c, r)
        Failures seen (whole), and the same divided by the share that comes to be seen.
    withdrawn : array of float64, shape (r,)
        Lives left unfailed here, fractions allowed; still at risk at this clock value.

    Raises
    ------
    ValueError
        From the constructors, if a count is negative or not whole where it must be, if an
        exit lies before its entry, or if more lives fail or leave than were at risk.

    Notes
    -----
    A loss tied with a failure counts as at risk. Tables are compared by value with ``==``.

    Examples
    --------
    Three lives, the last watched only from clock 2 on:

    >>> lives = LivesArrays(entry=[0, 0, 2], exit=[3, 5, 5], cause=[1, 0, 1])
    >>> table = RiskTable.from_lives(lives, unit="km")
    >>> table.clock.tolist(), table.at_risk.tolist()
    ([0, 2, 3, 5], [0.0, 2.0, 3.0, 2.0])
    >>> (table + table).n, (table + table).failed_total
    (6, 4)
    """

    unit: str
    causes: tuple[str, ...]
    clock: IntArray
    entered: IntArray
    failed: IntArray
    corrected: FloatArray
    withdrawn: FloatArray
    # At risk before each row, and after the last: shape (r + 1,).
    _held: FloatArray = field(init=False, repr=False)
    _all_seen: bool = field(init=False, repr=False)

    def __post_init__(self) -> None:
        refuse_form(self)
        refuse_counts(self)
        change = self.entered - over_causes(self.failed) - self.withdrawn
        held = np.zeros(len(change) + 1)
        np.cumsum(change, out=held[1:])
        held[np.abs(held) < COUNT_SLACK] = 0.0
        object.__setattr__(self, "_held", held)
        object.__setattr__(self, "_all_seen", bool(np.all(self.corrected == self.failed)))
        refuse_overdrawn(self)
        self._freeze()

    def _freeze(self) -> None:
        for each in fields(self):
            held = getattr(self, each.name)
            if isinstance(held, np.ndarray):
                held.setflags(write=False)

    @classmethod
    def from_lives(
        cls, lives: LivesArrays, *, unit: str, causes: Sequence[str] = ("failed",)
    ) -> Self:
        """Count lives given one by one; see the class for the rules and an example."""
        names = tuple(causes)
        counts = counted_lives(lives, len(names))
        if counts.corrected is None:
            return cls._of_counts(counts, unit, names)
        # A capture share near 0 may correct a failure beyond what float64 holds.
        clock = counts.places.values(np.arange(counts.places.rows))
        rows = RiskRows(clock, counts.entered, counts.left[1:], counts.left[0], counts.corrected)
        return cls.from_rows(rows, unit=unit, causes=names)

    @classmethod
    def _of_counts(cls, counts: CountedLives, unit: str, causes: tuple[str, ...]) -> Self:
        """The table that `from_rows` would make, without asking again what holds of lives.

        Each was at risk on (entry, exit] before it failed or left, so no count can fall below
        0 or be overdrawn. The checks would take as long as the counting.
        """
        refuse_names(causes)
        table = object.__new__(cls)
        for name, held in {"unit": unit, "causes": causes, **counts.columns()}.items():
            object.__setattr__(table, name, held)
        table._freeze()
        return table

    @classmethod
    def from_rows(cls, rows: RiskRows, *, unit: str, causes: Sequence[str] = ("failed",)) -> Self:
        """Sum counted rows, in any order and with repeated clock values, into a table.

        A database counts them in one pass; no life leaves it::

            SELECT clock, SUM(entered), SUM(failed), SUM(withdrawn) FROM (
                SELECT entry_km AS clock, 1 AS entered, 0 AS failed, 0 AS withdrawn FROM life
                UNION ALL
                SELECT exit_km, 0, cause = 1, cause = 0 FROM life
            ) GROUP BY clock

        Examples
        --------
        >>> rows = RiskRows(clock=[5, 0, 5], entered=[0, 3, 0], failed=[1, 0, 1],
        ...                 withdrawn=[0, 0, 1])
        >>> RiskTable.from_rows(rows, unit="days").failed.tolist()
        [[0, 2]]
        """
        names = tuple(causes)
        refuse_names(names)
        clock, entered = whole_numbers("clock", rows.clock), whole_numbers("entered", rows.entered)
        failed = np.atleast_2d(whole_numbers("failed", rows.failed))
        if failed.size == 0:
            failed = failed.reshape(len(names), len(clock))
        corrected = failed.astype(np.float64)
        if rows.corrected is not None:
            corrected = np.atleast_2d(np.asarray(rows.corrected, np.float64))
            corrected = corrected.reshape(failed.shape) if corrected.size == 0 else corrected
        withdrawn = np.asarray(rows.withdrawn, np.float64)
        count = len(clock)
        for name, values in (("entered", entered), ("withdrawn", withdrawn)):
            refuse_shape(name, values, (count,))
        for name, values in (("failed", failed), ("corrected", corrected)):
            refuse_shape(name, values, (len(names), count))
        ascending, place = placed(clock)
        size = len(ascending)
        whole = [summed_whole(each, place, size) for each in (entered, *failed)]
        parts = [summed_parts(each, place, size, COUNT_SLACK) for each in (withdrawn, *corrected)]
        busy = np.flatnonzero(busy_rows(*whole, parts[0]))
        return cls(
            unit=unit,
            causes=names,
            clock=ascending.take(busy),
            entered=whole[0].take(busy),
            failed=np.stack([each.take(busy) for each in whole[1:]]),
            corrected=np.stack([each.take(busy) for each in parts[1:]]),
            withdrawn=parts[0].take(busy),
        )

    @classmethod
    def empty(cls, unit: str, causes: Sequence[str] = ("failed",)) -> Self:
        """The table of no lives; adding it changes nothing."""
        none = np.zeros((len(tuple(causes)), 0), np.int64)
        return cls.from_rows(RiskRows([], [], none, []), unit=unit, causes=causes)

    @property
    def n(self) -> int:
        """Number of lives that came under watch."""
        return int(self.entered.sum())

    @property
    def failed_total(self) -> int:
        """Number of failures seen, over all causes."""
        return int(self.failed.sum())

    @property
    def all_seen(self) -> bool:
        """Whether each failure counts once, for all come to be seen."""
        return self._all_seen

    @property
    def at_risk(self) -> FloatArray:
        """Lives at risk just before each clock value: entered, not yet failed or left."""
        return self._held[:-1]

    @property
    def watched_to(self) -> int | None:
        """The last clock value at which anybody was at risk; None in an empty table."""
        return int(self.clock[-1]) if len(self.clock) else None

    def at_risk_at(self, clock: ArrayLike) -> FloatArray:
        """Lives at risk just before any clock values, in the table or not."""
        return np.asarray(self._held[np.searchsorted(self.clock, clock, side="left")])

    def cause_alone(self, cause: str) -> Self:
        """The table in which only `cause` is a failure; other failures count as withdrawn."""
        if cause not in self.causes:
            raise ValueError(f"the causes of this table are {list(self.causes)}; got {cause!r}")
        number = self.causes.index(cause)
        others = self.failed.sum(axis=0) - self.failed[number]
        rows = RiskRows(
            self.clock,
            self.entered,
            self.failed[number],
            self.withdrawn + others,
            self.corrected[number],
        )
        return type(self).from_rows(rows, unit=self.unit, causes=(cause,))

    def in_unit(self, unit: str, clock_factor: float) -> Self:
        """The same lives on another clock: new clock = old clock x `clock_factor`.

        On a finer clock values are rounded to the nearest unit. On a coarser one entries go
        down and exits up to whole units, so that a life watched at all is still watched; a
        life may seem watched up to two new units longer. That raises the curves: where the
        new unit is no small part of a life, put the table in bins with `rebinned` first.

        Examples
        --------
        >>> km = RiskTable.from_lives(LivesArrays([0, 0], [8, 16], [1, 0]), unit="km")
        >>> km.in_unit("miles", 0.621371192).clock.tolist()
        [0, 5, 10]
        """
        if not (np.isfinite(clock_factor) and clock_factor > 0):
            raise ValueError(f"a clock factor is a finite number above 0; got {clock_factor}")
        scaled = self.clock * clock_factor
        if clock_factor >= 1:
            down = up = np.floor(scaled + 0.5)
        else:
            down, up = np.floor(scaled + COUNT_SLACK), np.ceil(scaled - COUNT_SLACK)
        start = self.clock == FROM_THE_START
        down, up = (np.where(start, float(FROM_THE_START), each) for each in (down, up))
        nothing = np.zeros_like(self.entered)
        rows = RiskRows(
            clock=np.concatenate([down, up]).astype(np.int64),
            entered=np.concatenate([self.entered, nothing]),
            failed=np.hstack([np.zeros_like(self.failed), self.failed]),
            withdrawn=np.concatenate([nothing, self.withdrawn]),
            corrected=np.hstack([np.zeros_like(self.corrected), self.corrected]),
        )
        return type(self).from_rows(rows, unit=unit, causes=self.causes)

    def __add__(self, other: Self) -> Self:
        return self._combined(other, 1)

    def __sub__(self, other: Self) -> Self:
        """This table without the lives of `other`, which must all be among its own."""
        return self._combined(other, -1)

    def _combined(self, other: Self, sign: int) -> Self:
        if (self.unit, self.causes) != (other.unit, other.causes):
            raise ValueError(
                "tables are combined on one clock and the same causes; got "
                f"{self.unit} {list(self.causes)} and {other.unit} {list(other.causes)}"
            )
        rows = RiskRows(
            clock=np.concatenate([self.clock, other.clock]),
            entered=np.concatenate([self.entered, sign * other.entered]),
            failed=np.hstack([self.failed, sign * other.failed]),
            withdrawn=np.concatenate([self.withdrawn, sign * other.withdrawn]),
            corrected=np.hstack([self.corrected, sign * other.corrected]),
        )
        return type(self).from_rows(rows, unit=self.unit, causes=self.causes)

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, RiskTable):
            return NotImplemented
        return (self.unit, self.causes) == (other.unit, other.causes) and all(
            np.array_equal(getattr(self, name), getattr(other, name))
            for name in ("clock", "entered", "failed", "corrected", "withdrawn")
        )

    __hash__ = None  # type: ignore[assignment]

    def to_dict(self) -> dict[str, Any]:
        """Plain lists and numbers, fit for JSON; `from_dict` gives the same table back."""
        return plain_form(self._kept())

    @classmethod
    def from_dict(cls, kept: Mapping[str, Any]) -> Self:
        """Read what `to_dict` wrote; a form that is not known is refused."""
        return cls._from_kept(plain_read(kept))

    def to_bytes(self) -> bytes:
        """A few compressed bytes with a check sum; `from_bytes` gives the same table back."""
        return packed(self._kept())

    @classmethod
    def from_bytes(cls, kept: bytes) -> Self:
        """Read what `to_bytes` wrote; other, damaged or unknown bytes are refused.

        Examples
        --------
        >>> table = RiskTable.from_lives(LivesArrays([0, 0], [8, 16], [1, 0]), unit="km")
        >>> RiskTable.from_bytes(table.to_bytes()) == table
        True
        """
        return cls._from_kept(unpacked(kept))

    def _kept(self) -> KeptTable:
        rows = RiskRows(self.clock, self.entered, self.failed, self.withdrawn, self.corrected)
        return KeptTable(self.unit, self.causes, rows)

    @classmethod
    def _from_kept(cls, kept: KeptTable) -> Self:
        return cls.from_rows(kept.rows, unit=kept.unit, causes=kept.causes)
