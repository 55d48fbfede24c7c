"""Where each unfailed life leaves, in shares, as its vehicle's silence and its own age tell."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Self

import numpy as np

from garage.lifetimes.arrays import FloatArray, IntArray
from garage.lifetimes.counting import placed
from garage.lifetimes.curves.product_limit import SMALLEST_RISK_SET
from garage.lifetimes.resampling.expected_input import ExpectedLives, VisitGroup
from garage.lifetimes.risk_table import RiskTable
from garage.lifetimes.visits.input import VisitHistories
from garage.lifetimes.visits.law import VisitLaw
from garage.lifetimes.visits.silence import WITHDRAWAL_POINTS, expected_withdrawals

UNSEEN_STRETCHES = 4
"""Stretches into which the time since a part was last looked at is cut, its chance to have been
replaced elsewhere being shared out over their middles. Judgement, no source."""

LIVES_AT_ONCE = 50_000
"""Silent lives whose shares are worked out together: some 20 MB an array."""

MOST_KNOTS = 4_096
"""Failing clock values between which a first estimate is drawn straight. Judgement, no source:
far finer than what a silence tells."""


@dataclass(frozen=True, slots=True, eq=False)
class Shares:
    """Shares of lives withdrawn: of which life, at which clock value, how much of it."""

    life: IntArray
    clock: IntArray
    share: FloatArray

    def by_clock(self) -> tuple[IntArray, FloatArray]:
        """Clock values, and the shares summed at each."""
        clock, place = placed(self.clock)
        return clock, np.asarray(np.bincount(place, self.share, clock.size), np.float64)

    @classmethod
    def of_columns(cls, life: IntArray, clock: FloatArray, mass: FloatArray) -> Self:
        """From one row a life, masses made to add up to 1 and clocks rounded up."""
        total = mass.sum(axis=1, keepdims=True)
        even = np.full_like(mass, 1 / mass.shape[1])
        share = np.divide(mass, total, out=even, where=total > 0)
        kept = np.flatnonzero(share.ravel() > 0)
        return cls(
            np.repeat(life, mass.shape[1])[kept],
            np.ceil(clock.ravel()[kept]).astype(np.int64),
            share.ravel()[kept],
        )


@dataclass(frozen=True, slots=True, eq=False)
class Silences:
    """When the vehicles of the silent lives left, by their visits alone.

    Attributes
    ----------
    life : array, shape (s,)
        Which lives.
    clock : array, shape (s, p + 2)
        Of the life: when the vehicle was last here, `p` times of leaving, the end of the watch.
    each, remaining : arrays, shape (s,)
        Chance of each of the times of leaving, and to be a customer still.
    """

    life: IntArray
    clock: FloatArray
    each: FloatArray
    remaining: FloatArray

    @classmethod
    def judged(
        cls,
        lives: ExpectedLives,
        visits: Sequence[VisitGroup],
        laws: Sequence[VisitLaw],
        life: IntArray,
    ) -> Self:
        """These silent lives, by one law a group."""
        clock = np.zeros((life.size, WITHDRAWAL_POINTS + 2))
        each, remaining = np.zeros(life.size), np.ones(life.size)
        for number, (group, law) in enumerate(zip(visits, laws, strict=True)):
            mine = np.flatnonzero(lives.group[life] == number)
            if not mine.size:
                continue
            known = _rows(group.known, lives.history[life[mine]])
            here = lives.still_here[life[mine]]
            left = expected_withdrawals(law, known, still_here=here)
            times = np.column_stack([here, left.elapsed, known.silence]) - here[:, None]
            run = lives.pace[life[mine], None] * times
            clock[mine] = lives.exit[life[mine], None] + run
            each[mine], remaining[mine] = left.share_each, left.remaining
        return cls(life, clock, each, remaining)

    def parts(self) -> Iterator[Self]:
        """Some lives at a time, so that what is made of them stays small."""
        for begin in range(0, self.life.size, LIVES_AT_ONCE):
            here = slice(begin, begin + LIVES_AT_ONCE)
            yield type(self)(
                self.life[here], self.clock[here], self.each[here], self.remaining[here]
            )


def _rows(known: VisitHistories, rows: IntArray) -> VisitHistories:
    return VisitHistories.from_sums(
        known.repeats[rows], known.last_visit[rows], known.watched_until[rows], known.log_gaps[rows]
    )


@dataclass(frozen=True, slots=True, eq=False)
class FirstEstimate:
    """Survival as a first table has it, fit to judge silences by; linear in its hazard."""

    clock: FloatArray
    hazard: FloatArray

    @classmethod
    def of(cls, table: RiskTable) -> Self:
        """The cumulative hazard of a table.

        Where fewer lives are at risk than can carry a curve, a failure counts as one among so
        many: a lone early failure would otherwise end all hope for every silent part.
        """
        failing = np.flatnonzero(table.failed.sum(axis=0) > 0)
        at_risk = np.maximum(table.at_risk[failing], SMALLEST_RISK_SET)
        steps = np.minimum(table.corrected.sum(axis=0)[failing] / at_risk, 1.0)
        clock = np.concatenate([[0.0], table.clock[failing]])
        hazard = np.concatenate([[0.0], np.cumsum(steps)])
        knots = np.unique(np.linspace(0, failing.size, MOST_KNOTS).round().astype(np.int64))
        return cls(clock[knots], hazard[knots])

    def survival(self, clock: FloatArray) -> FloatArray:
        """Share that outlasts these clock values."""
        return np.asarray(np.exp(-np.interp(clock, self.clock, self.hazard)), np.float64)


def by_visits_alone(lives: ExpectedLives, silences: Silences) -> Iterator[Shares]:
    """Shares that know nothing yet of how long such parts last, some lives at a time."""
    whole = np.flatnonzero(~lives.failed & ~lives.silent)
    yield Shares(whole, lives.exit[whole], np.ones(whole.size))
    for some in silences.parts():
        p = some.clock.shape[1] - 2
        mass = np.column_stack([np.repeat(some.each[:, None], p, axis=1), some.remaining])
        yield Shares.of_columns(some.life, some.clock[:, 1:], mass)


def by_first_estimate(
    lives: ExpectedLives, silences: Silences, first: FirstEstimate, unnoticed: FloatArray
) -> Iterator[Shares]:
    """Shares in the light of a first estimate of survival, some lives at a time.

    Parameters
    ----------
    unnoticed : array, shape (n,)
        Of the failures of each life's kind, the share repaired elsewhere on vehicles that
        remain customers all the same: with another part in place that nobody has noticed yet.
    """
    gone = np.flatnonzero(lives.gone_by >= 0)
    yield _found_gone(lives, gone, first)
    whole = np.flatnonzero(~lives.failed & ~lives.silent & (lives.gone_by < 0))
    yield _withdrawn(lives, whole, first, unnoticed[whole])
    yield from silent_shares(lives, silences, first, unnoticed)


def silent_shares(
    lives: ExpectedLives, silences: Silences, first: FirstEstimate, unnoticed: FloatArray
) -> Iterator[Shares]:
    """`by_first_estimate`, of the silent lives alone."""
    for some in silences.parts():
        yield _silent(lives, some, first, unnoticed[some.life])


def _found_gone(lives: ExpectedLives, life: IntArray, first: FirstEstimate) -> Shares:
    """Replaced elsewhere between two looks, when such parts fail."""
    middle, failing = _unseen(lives.exit[life], lives.gone_by[life], first)
    return Shares.of_columns(life, middle, failing)


def _withdrawn(
    lives: ExpectedLives, life: IntArray, first: FirstEstimate, unnoticed: FloatArray
) -> Shares:
    """Left at the exit, unless replaced elsewhere, unnoticed, since it was last looked at."""
    begin, end = lives.looked[life], lives.exit[life]
    middle, failing = _unseen(begin, end, first)
    mass = np.column_stack([unnoticed[:, None] * failing, first.survival(end.astype(np.float64))])
    # A first estimate of no survival says nothing of one who is here.
    mass[mass.sum(axis=1) <= 0, -1] = 1.0
    return Shares.of_columns(life, np.column_stack([middle, end]), mass)


def _silent(
    lives: ExpectedLives, silences: Silences, first: FirstEstimate, unnoticed: FloatArray
) -> Shares:
    life, clock = silences.life, silences.clock
    points = clock.shape[1] - 2
    survival = first.survival(clock)
    each, remaining = silences.each[:, None], silences.remaining
    mass = np.zeros_like(clock)
    mass[:, 1:-1] = each * survival[:, 1:-1]
    mass[:, -1] = remaining * survival[:, -1]
    # How many of the equal shares have left, on average, between two times of leaving, which
    # are the middles of those shares.
    left = np.arange(points + 1.0)
    left[0], left[-1] = 0.25, points - 0.25
    elsewhere = unnoticed[:, None] * -np.diff(survival, axis=1) * (1 - each * left)
    mass[:, :-1] += elsewhere / 2
    mass[:, 1:] += elsewhere / 2
    middle, failing = _unseen(lives.looked[life], lives.exit[life], first)
    return Shares.of_columns(
        life,
        np.column_stack([middle, clock]),
        np.column_stack([unnoticed[:, None] * failing, mass]),
    )


def _unseen(begin: IntArray, end: IntArray, first: FirstEstimate) -> tuple[FloatArray, FloatArray]:
    """Middles of the stretches between two clock values, and the chance to fail in each."""
    share = np.linspace(0, 1, 2 * UNSEEN_STRETCHES + 1)
    at = begin[:, None] + (end - begin)[:, None] * share
    survival = first.survival(at[:, ::2])
    return np.asarray(at[:, 1::2], np.float64), np.asarray(-np.diff(survival, axis=1), np.float64)
