"""A simulated workshop of known stay-away share, whose silent keepers are asked.

Event by event, vehicle by vehicle: nothing here shares a formula with the estimator.
"""

from dataclasses import dataclass, field

import numpy as np

from garage.lifetimes.capture.answers import Returned, SilentAnswers
from garage.lifetimes.capture.share import PART_PRIOR, CapturePrior, capture_share
from garage.lifetimes.capture.stay_away import (
    STAY_AWAY_PRIOR,
    StayAwayPrior,
    StayAwayShare,
    stay_away_share,
)

SHAPE, SCALE_YEARS = 2.0, 9.0
SILENT_YEARS = 2.0


@dataclass(frozen=True, slots=True)
class Town:
    """What is true: times in years, shares of failures, of keepers and of visits."""

    stay_away: float
    vehicles: int = 500
    years: float = 10.0
    capture: float = 0.7
    leaving_rate: float = 0.10
    gap: float = 1.0
    look_share: float = 0.5
    calls: int = 80
    told_share: float = 0.7
    failures: int = 60
    """Those that the workshop's hazard was learnt from, with the error that so many leave."""
    hazard_error: float = 1.0
    """How many times too high it is held besides."""


@dataclass(slots=True)
class Book:
    """What the workshop has written down."""

    here: int = 0
    elsewhere: int = 0
    found: int = 0
    returns: int = 0
    returns_looked: int = 0
    silent: list[tuple[bool, bool, float, float]] = field(default_factory=list)
    """Of each silent vehicle: repaired elsewhere? gone? the part's age at the last job, now."""

    def asked(self, town: Town, rng: np.random.Generator) -> SilentAnswers:
        """What those drawn tell; `told_share` of them tell."""
        drawn = rng.permutation(len(self.silent))[: town.calls]
        told = [self.silent[each] for each in drawn if rng.random() < town.told_share]

        error = town.hazard_error * rng.gamma(town.failures) / town.failures

        def hazard(begin: float, end: float) -> float:
            """Of failures that come here, from when the customer would have left."""
            begin = min(begin + town.capture * town.gap / 2, end)
            all_failures = (end / SCALE_YEARS) ** SHAPE - (begin / SCALE_YEARS) ** SHAPE
            return town.capture * error * all_failures

        return SilentAnswers(
            gone_elsewhere=np.array([hazard(*ages) for bad, gone, *ages in told if bad and gone]),
            gone_without=np.array([hazard(*ages) for bad, gone, *ages in told if gone and not bad]),
            returning_elsewhere=sum(bad and not gone for bad, gone, *_ in told),
            asked_share=len(told) / len(self.silent),
            failures=town.failures,
        )


def measured(
    town: Town, rng: np.random.Generator, prior: StayAwayPrior = STAY_AWAY_PRIOR
) -> StayAwayShare:
    """The stay-away share as such a workshop finds it."""
    book = _book(town, rng)
    silent = book.asked(town, rng)
    looks = capture_share(book.here, book.elsewhere, prior=PART_PRIOR)
    returned = Returned(book.found, book.returns_looked / book.returns)
    return stay_away_share(silent, returned, looks, prior=prior)


def naive(town: Town, rng: np.random.Generator) -> float:
    """What one would take it for who forgot that customers leave for other reasons too."""
    book = _book(town, rng)
    silent = book.asked(town, rng)
    away = silent.gone_elsewhere.size / silent.asked_share
    back = silent.returning_elsewhere / silent.asked_share
    back += book.found / (book.returns_looked / book.returns)
    return away / (away + back)


def captured_with(town: Town, rng: np.random.Generator) -> tuple[float, float]:
    """The capture share by the stay-away share measured, and by the judgement."""
    book = _book(town, rng)
    share = capture_share(book.here, book.elsewhere)
    silent = book.asked(town, rng)
    returned = Returned(book.found, book.returns_looked / book.returns)
    found = stay_away_share(silent, returned, share)
    prior = CapturePrior(found.value, PART_PRIOR.mean, PART_PRIOR.weight)
    with_calls = capture_share(book.here, book.elsewhere, prior=prior)
    assert with_calls.value is not None
    assert share.value is not None
    return with_calls.value, share.value


def _book(town: Town, rng: np.random.Generator) -> Book:
    book = Book()
    for _ in range(town.vehicles):
        _Vehicle(town, rng, book).drive()
    return book


class _Vehicle:
    """One vehicle from its first visit, when its part is new, to the day of the draw."""

    def __init__(self, town: Town, rng: np.random.Generator, book: Book) -> None:
        self.town, self.rng, self.book = town, rng, book
        self.today = rng.uniform(1, town.years)
        self.leaves = rng.exponential(1 / town.leaving_rate)
        self.fitted = self.recorded = self.last_job = 0.0
        self.fails = self._lasts()
        self.gone = self.exchanged = self.exchanged_since_job = False
        self.pending_here: list[bool] = []
        """Failures not looked at since: True for those repaired here."""
        self.open_returns = 0

    def _lasts(self) -> float:
        return self.fitted + SCALE_YEARS * float(self.rng.exponential() ** (1 / SHAPE))

    def drive(self) -> None:
        visit = self._next_visit(0.0)
        while True:
            at = min(visit, self.fails, self.leaves if not self.gone else np.inf)
            if at >= self.today:
                break
            if at == self.leaves:
                self.gone, visit = True, np.inf
            elif at == self.fails:
                self._fail()
                visit = np.inf if self.gone else visit
            else:
                self._visit(visit)
                visit = self._next_visit(visit)
        self._end()

    def _next_visit(self, last: float) -> float:
        return last + float(self.rng.gamma(4, self.town.gap / 4))

    def _fail(self) -> None:
        """The part fails and is replaced, here or elsewhere."""
        here = not self.gone and self.rng.random() < self.town.capture
        at = self.fails
        if here:
            self._come(at)
            if self.rng.random() < self.town.look_share:
                self._look(at, service=False)
            self.pending_here.append(True)
            self.recorded, self.exchanged = at, False
            self.open_returns = 0
        else:
            self.exchanged = self.exchanged_since_job = True
            if not self.gone and self.rng.random() < self.town.stay_away:
                self.gone = True
        self.fitted = at
        self.fails = self._lasts()

    def _visit(self, at: float) -> None:
        self._come(at)
        if self.rng.random() < self.town.look_share:
            self._look(at, service=True)

    def _come(self, at: float) -> None:
        self.before = self.last_job
        if self.before <= self.today - SILENT_YEARS:
            self.book.returns += 1
            self.open_returns += 1
        self.last_job, self.exchanged_since_job = at, False

    def _look(self, at: float, *, service: bool) -> None:
        counts = self.before <= self.today - SILENT_YEARS
        if counts:
            self.book.returns_looked += self.open_returns
            self.open_returns = 0
        if self.exchanged:
            self.book.found += counts
            self.pending_here.append(False)
            self.recorded, self.exchanged = at, False
        if service:
            self.book.here += sum(self.pending_here)
            self.book.elsewhere += len(self.pending_here) - sum(self.pending_here)
            self.pending_here = []

    def _end(self) -> None:
        if self.last_job <= self.today - SILENT_YEARS:
            self.book.silent.append(
                (
                    self.exchanged_since_job,
                    self.gone,
                    self.last_job - self.recorded,
                    self.today - self.recorded,
                )
            )
