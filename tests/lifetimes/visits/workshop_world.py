"""A simulated workshop with known truth: parts fail, here or elsewhere, and customers leave."""

from dataclasses import dataclass

import numpy as np

from garage.lifetimes.arrays import BoolArray, FloatArray, IntArray
from garage.lifetimes.capture.share import PART_PRIOR, CapturePrior, CaptureShare, capture_share
from garage.lifetimes.resampling.expected_lives import ExpectedLives
from garage.lifetimes.risk_table import LivesArrays
from garage.lifetimes.visits.input import VisitHistories
from garage.lifetimes.visits.law import VisitLaw

SHAPE, SCALE_KM = 2.5, 300_000.0
LATEST_ENTRY_KM = 120_000.0
LATE_START_KM = 10_000
MOST_PARTS = 12
NEVER = np.inf


@dataclass(frozen=True, slots=True)
class World:
    """What is true of a workshop, times in years.

    `stay_away` of those repaired elsewhere never come back. A look at the part in place is taken
    at `look_share` of visits, and of repairs. After a failure of its part, wherever repaired, a
    vehicle's visits come `after_trouble` times as often. In the year `campaign`, where given,
    all vehicles still driven come once, also those that had left.
    """

    law: VisitLaw
    capture: float = 1.0
    stay_away: float = 0.3
    look_share: float = 0.2
    late: bool = False
    years: float = 9.0
    after_trouble: float = 1.0
    campaign: float | None = None

    @property
    def start_km(self) -> int | None:
        """Where curves begin: at 0, or where enough have come under watch."""
        return LATE_START_KM if self.late else None

    def truth(self, at_km: FloatArray) -> FloatArray:
        """Survival to these distances, of parts that have reached the start."""
        begin = float(self.start_km or 0)
        hazard = (np.asarray(at_km) / SCALE_KM) ** SHAPE - (begin / SCALE_KM) ** SHAPE
        return np.asarray(np.exp(-hazard), np.float64)


@dataclass(frozen=True, slots=True, eq=False)
class Workshop:
    """What its records say: lives, visits, and failures on vehicles looked at again later.

    `watched` are the same lives as one would have them who had seen all: each to the end of its
    part or of its customer, failed where that was repaired here.
    """

    lives: ExpectedLives
    watched: LivesArrays
    known: VisitHistories
    here: int
    elsewhere: int

    def share(self, stay_away: float, held: float = PART_PRIOR.mean) -> CaptureShare:
        """The capture share as estimated, with what is held beforehand."""
        prior = CapturePrior(stay_away, held, PART_PRIOR.weight)
        return capture_share(self.here, self.elsewhere, prior=prior)


class _Run:
    """The simulation, vehicle by vehicle in arrays; times are years from the first visit."""

    def __init__(self, world: World, n: int, rng: np.random.Generator) -> None:
        self.world, self.n, self.rng = world, n, rng
        self.watched = rng.uniform(0.3, world.years, n)
        self.pace = rng.lognormal(np.log(20_000), 0.25, n)
        self.entry = np.floor(rng.uniform(0, LATEST_ENTRY_KM, n)) if world.late else np.zeros(n)
        self._failures()
        self._leaving()
        self._visits()

    def _failures(self) -> None:
        """Times of failure of the part in place, one after the other, each replaced at once."""
        rng, n = self.rng, self.n
        hazard = (self.entry / SCALE_KM) ** SHAPE + rng.exponential(size=n)
        at = (SCALE_KM * hazard ** (1 / SHAPE) - self.entry) / self.pace
        times = [at]
        for _ in range(MOST_PARTS - 1):
            at = at + SCALE_KM * rng.exponential(size=n) ** (1 / SHAPE) / self.pace
            times.append(at)
        self.failures = np.stack(times, axis=1)
        assert np.all(self.failures[:, -1] > self.watched)
        self.here = rng.random(self.failures.shape) < self.world.capture

    def _leaving(self) -> None:
        law, rng, n = self.world.law, self.rng, self.n
        rate = np.full(n, law.leaving_rate)
        if law.leaving_shape is not None:
            rate = rng.gamma(law.leaving_shape, law.leaving_rate / law.leaving_shape, n)
        left = rng.exponential(1 / np.maximum(rate, 1e-12))
        gone = ~self.here & (rng.random(self.here.shape) < self.world.stay_away)
        first_gone = np.where(gone, self.failures, NEVER).min(axis=1)
        self.until = np.minimum(np.minimum(left, first_gone), self.watched)

    def _visits(self) -> None:
        """Visit times of customers, shape (n, m), rising, NEVER beyond the last."""
        law, rng, n = self.world.law, self.rng, self.n
        rate = rng.gamma(law.rate_shape, law.visit_rate / law.rate_shape, n)
        most = int(np.ceil(self.world.years * rate.max() * 2 + 25))
        gaps = rng.gamma(law.regularity, 1 / law.regularity, (n, most))
        if self.world.after_trouble == 1:
            at = np.cumsum(gaps / rate[:, None], axis=1)
        else:
            # Time runs at another pace after the first failure.
            inner = np.cumsum(gaps, axis=1)
            turn = (rate * self.failures[:, 0])[:, None]
            slow = (rate * self.world.after_trouble)[:, None]
            later = self.failures[:, :1] + (inner - turn) / slow
            at = np.where(inner <= turn, inner / rate[:, None], later)
        at = np.where(at < self.until[:, None], at, NEVER)
        assert np.all(np.isinf(at[:, -1])), "more visits than the simulation allows for"
        if self.world.campaign is not None:
            # Counted from the end of the watch back, when the campaign was for all.
            recall = self.watched - self.world.campaign
            at = np.sort(np.column_stack([at, np.where(recall > 0, recall, NEVER)]), axis=1)
        self.visits = at[:, : max(int(np.isfinite(at).sum(axis=1).max()), 1)]
        looked = rng.random(self.visits.shape) < self.world.look_share
        self.looks = np.where(looked & np.isfinite(self.visits), self.visits, NEVER)


def workshop(world: World, n: int, rng: np.random.Generator) -> Workshop:
    """Simulate, and write down what the workshop can know."""
    run = _Run(world, n, rng)
    book = _Book(run)
    for part in range(MOST_PARTS):
        begin = run.failures[:, part - 1] if part else np.zeros(n)
        book.look_between(begin, run.failures[:, part])
        book.fail(part)
    book.end()
    return book.written()


class _Book:
    """The workshop's records, kept failure by failure."""

    def __init__(self, run: _Run) -> None:
        self.run = run
        n = run.n
        self.open = np.ones(n, bool)
        self.same = np.ones(n, bool)
        self.fitted = np.zeros(n)
        self.start_km = run.entry.copy()
        self.looked = np.zeros(n)
        self.ended = np.minimum(run.failures[:, 0], run.until)
        self.last_failure = np.zeros(n)
        self.rows: list[dict[str, FloatArray | BoolArray | IntArray]] = []
        self.here = self.elsewhere = 0
        looks = np.where(np.isfinite(run.looks), run.looks, -1)
        self.last_look = looks.max(axis=1)

    def km(self, whose: IntArray, at: FloatArray) -> FloatArray:
        run = self.run.pace[whose] * (at - self.fitted[whose])
        return np.asarray(self.start_km[whose] + run, np.float64)

    def look_between(self, begin: FloatArray, end: FloatArray) -> None:
        """Looks while one part is in place: the recorded one still, or another by now."""
        looks = self.run.looks
        inside = (looks >= begin[:, None]) & (looks < end[:, None]) & np.isfinite(looks)
        any_look = inside.any(axis=1) & self.open
        last = np.where(inside, looks, -1).max(axis=1)
        first = np.where(inside, looks, NEVER).min(axis=1)
        self.looked = np.where(any_look & self.same, last, self.looked)
        other = np.flatnonzero(any_look & ~self.same)
        self._found_gone(other, first[other])

    def fail(self, part: int) -> None:
        run = self.run
        at = run.failures[:, part]
        happens = at < run.until
        comes = happens & run.here[:, part]
        # Those who have left go elsewhere too; only a campaign will ever show it.
        self.same[(at < run.watched) & ~comes] = False
        here = np.flatnonzero(comes)
        noted = run.rng.random(here.size) < run.world.look_share
        known = self.open[here]
        found = here[known & ~self.same[here] & noted]
        self._found_gone(found, at[found])
        failed = here[self.open[here]]
        self._close(failed, at[failed], failed=True)
        self.here += int((self.last_look[failed] > at[failed]).sum())
        self.open[here], self.same[here] = True, True
        self.fitted[here], self.start_km[here] = at[here], 0.0
        self.looked[here], self.last_failure[here] = at[here], at[here]
        if part + 1 < MOST_PARTS:
            self.ended[here] = np.minimum(run.failures[here, part + 1], run.until[here])

    def end(self) -> None:
        """Those still open are silent since the vehicle was last here."""
        run = self.run
        visits = np.where(np.isfinite(run.visits), run.visits, 0).max(axis=1)
        still = np.flatnonzero(self.open)
        last = np.maximum(visits, self.last_failure)[still]
        self._close(still, last, failed=False, silent=True)

    def _found_gone(self, whose: IntArray, at: FloatArray) -> None:
        self._close(whose, self.looked[whose], failed=False, gone_by=at)
        self.elsewhere += whose.size
        self.open[whose] = False

    def _close(
        self,
        whose: IntArray,
        at: FloatArray,
        *,
        failed: bool,
        silent: bool = False,
        gone_by: FloatArray | None = None,
    ) -> None:
        entry, count = np.floor(self.start_km[whose]), whose.size
        end = np.ceil(self.km(whose, at))
        gone = np.full(count, -1.0)
        if gone_by is not None:
            gone = np.maximum(np.ceil(self.km(whose, gone_by)), end)
        visits = np.where(np.isfinite(self.run.visits[whose]), self.run.visits[whose], 0)
        self.rows.append(
            {
                "entry": entry,
                "exit": np.maximum(end, entry + 1 if failed else entry),
                "failed": np.full(count, failed),
                "cluster": whose,
                "silent": np.full(count, silent),
                "still_here": (at - visits.max(axis=1)) if silent else np.zeros(count),
                "looked": np.minimum(np.floor(self.km(whose, self.looked[whose])), end),
                "gone_by": gone,
                "ended": np.maximum(np.ceil(self.km(whose, self.ended[whose])), entry + 1),
                "saw": failed & self.same[whose],
            }
        )
        if not failed and not silent:
            self.open[whose] = False

    def written(self) -> Workshop:
        run = self.run
        columns = {
            name: np.concatenate([each[name] for each in self.rows]) for name in self.rows[0]
        }
        ended, saw = columns.pop("ended"), columns.pop("saw")
        whose = columns["cluster"]
        silent = columns["silent"]
        lives = ExpectedLives(
            **columns,
            group=np.zeros(whose.size, int),
            history=np.where(silent, whose, -1),
            pace=run.pace[whose],
        )
        came = np.isfinite(run.visits)
        before = np.column_stack([np.zeros(run.n), np.where(came, run.visits, 0)[:, :-1]])
        gaps = np.where(came, run.visits - before, 1.0)
        last = np.where(came, run.visits, 0).max(axis=1)
        known = VisitHistories.from_sums(
            came.sum(axis=1),
            last,
            run.watched,
            np.log(np.maximum(gaps, 1e-9)).sum(axis=1),
        )
        watched = LivesArrays(
            columns["entry"], ended, saw.astype(int), capture=np.full(whose.size, run.world.capture)
        )
        return Workshop(lives, watched, known, self.here, self.elsewhere)
