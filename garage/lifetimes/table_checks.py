"""What the counts of a risk table must meet, said in words where they do not."""

from typing import Protocol

import numpy as np

from garage.lifetimes.arrays import FloatArray, IntArray
from garage.lifetimes.life_rows import FROM_THE_START, refuse_shape

COUNT_SLACK = 1e-9
"""Lives; what sums of fractional withdrawals may miss by rounding. Judgement, no source:
far below any fraction that is ever recorded, far above the rounding of a million sums."""


class CountedTable(Protocol):
    """The columns that are checked; a `RiskTable` has them."""

    @property
    def causes(self) -> tuple[str, ...]: ...
    @property
    def clock(self) -> IntArray: ...
    @property
    def entered(self) -> IntArray: ...
    @property
    def failed(self) -> IntArray: ...
    @property
    def corrected(self) -> FloatArray: ...
    @property
    def withdrawn(self) -> FloatArray: ...
    @property
    def at_risk(self) -> FloatArray: ...
    @property
    def n(self) -> int: ...


def refuse_names(causes: tuple[str, ...]) -> None:
    """Refuse causes named twice, and none at all."""
    if not causes or len(set(causes)) != len(causes):
        raise ValueError(f"a risk table names each of its causes once; got {list(causes)}")


def refuse_form(table: CountedTable) -> None:
    """Refuse columns of unlike lengths, causes named twice and a clock that does not ascend."""
    refuse_names(table.causes)
    rows, causes = len(table.clock), len(table.causes)
    for name in ("entered", "withdrawn"):
        refuse_shape(name, getattr(table, name), (rows,))
    for name in ("failed", "corrected"):
        refuse_shape(name, getattr(table, name), (causes, rows))
    if rows and (np.any(np.diff(table.clock) <= 0) or table.clock[0] < FROM_THE_START):
        raise ValueError(
            "clock values ascend strictly from -1; build the table with from_rows, "
            "which sorts and sums"
        )


def refuse_counts(table: CountedTable) -> None:
    """Refuse counts below 0, and corrected failures below those seen."""
    for name in ("entered", "failed", "corrected", "withdrawn"):
        counts = getattr(table, name)
        bad = ~np.isfinite(counts) | (counts < 0)
        if np.any(bad):
            row = int(np.argwhere(bad)[0][-1])
            raise ValueError(
                f"`{name}` counts lives and is never below 0; got "
                f"{float(counts[..., row].min())} at clock {int(table.clock[row])}. "
                "Subtract only a table whose lives are part of this one."
            )
    short = (table.failed == 0) != (table.corrected == 0)
    short |= table.corrected < table.failed - COUNT_SLACK * np.maximum(table.failed, 1)
    if np.any(short):
        row = int(np.argwhere(short)[0][-1])
        raise ValueError(
            "`corrected` is failures divided by a capture share in (0, 1], so never below "
            f"`failed`; got {table.corrected[:, row].tolist()} for "
            f"{table.failed[:, row].tolist()} at clock {int(table.clock[row])}"
        )


def refuse_overdrawn(table: CountedTable) -> None:
    """Refuse more lives failing or leaving than are at risk."""
    gone, at_risk = table.failed.sum(axis=0), table.at_risk
    left = at_risk + table.entered - gone - table.withdrawn
    slack = COUNT_SLACK * max(table.n, 1)
    over = (gone > at_risk + slack) | (left < -slack)
    if np.any(over):
        row = int(np.argmax(over))
        raise ValueError(
            f"at clock {int(table.clock[row])} more lives fail or leave than are at risk: "
            f"{float(at_risk[row])} at risk, {int(gone[row])} failed, "
            f"{float(table.withdrawn[row])} withdrawn. A life enters before it leaves; one "
            "that fails where it enters has no watched time: leave it out, or let it enter "
            "at -1 where failures at clock 0 count."
        )
