"""The *expected* table of lives, by way of a first estimate that knows of visits alone."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Self

import numpy as np

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.resampling.expected_input import ExpectedLives, VisitGroup
from garage.lifetimes.resampling.expected_shares import (
    FirstEstimate,
    Shares,
    Silences,
    by_first_estimate,
    by_visits_alone,
    silent_shares,
)
from garage.lifetimes.risk_table import RiskRows, RiskTable


@dataclass(frozen=True, slots=True, eq=False)
class ExpectedEstimate:
    """The table, and what it rests on."""

    lives: ExpectedLives
    table: RiskTable
    silences: Silences
    first: FirstEstimate
    unnoticed: FloatArray

    @classmethod
    def of(cls, lives: ExpectedLives, visits: Sequence[VisitGroup], shares: FloatArray) -> Self:
        lives.refuse_groups(visits, shares.size)
        silent = np.flatnonzero(lives.silent)
        silences = Silences.judged(lives, visits, [group.law for group in visits], silent)
        first = FirstEstimate.of(_table(lives, by_visits_alone(lives, silences), shares))
        away = np.array([group.stay_away for group in visits])
        unnoticed = ((1 - shares[: away.size]) * (1 - away))[lives.group]
        left = by_first_estimate(lives, silences, first, unnoticed)
        return cls(lives, _table(lives, left, shares), silences, first, unnoticed)

    def left(self) -> Iterator[Shares]:
        """Where the unfailed lives leave."""
        return by_first_estimate(self.lives, self.silences, self.first, self.unnoticed)

    def silent_left(self, silences: Silences) -> Iterator[Shares]:
        """Where silent lives leave if they were judged so."""
        return silent_shares(self.lives, silences, self.first, self.unnoticed)


def _table(lives: ExpectedLives, left: Iterable[Shares], capture: FloatArray) -> RiskTable:
    failed = np.flatnonzero(lives.failed)
    summed = [each.by_clock() for each in left]
    clock = np.concatenate([lives.entry, lives.exit[failed], *(at for at, _ in summed)])
    rows = np.zeros((4, clock.size))
    entries, failures = slice(0, lives.n), slice(lives.n, lives.n + failed.size)
    rows[0, entries] = 1
    rows[1, failures] = 1
    rows[2, lives.n + failed.size :] = np.concatenate([share for _, share in summed])
    rows[3, failures] = 1 / capture[lives.group[failed]]
    return RiskTable.from_rows(RiskRows(clock, rows[0], rows[1], rows[2], rows[3]), unit=lives.unit)
