"""What the most likely hazards say of survival at a clock value, and of the clock at a survival."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.curves.interval_freedom import hazard_range
from garage.lifetimes.curves.interval_limits import SurvivalLimits
from garage.lifetimes.curves.interval_search import NOBODY, HazardFit, most_likely
from garage.lifetimes.curves.interval_sets import CandidateSets, candidate_sets
from garage.lifetimes.curves.product_limit import REACHED_SLACK, SMALLEST_RISK_SET
from garage.lifetimes.interval_lives import IntervalLives
from garage.lifetimes.wording import spoken

SAME_SHARE = 1e-9
"""Share; two bounds nearer than this are one figure. Judgement, no source."""

MASS_SMALLEST = 1e-12
"""Share; a set with less is left out of the curve. Judgement, no source."""


@dataclass(frozen=True, slots=True)
class ThinPart:
    """From `left` on the curve hangs on too few, the last time up to `right`.

    `closed` says whether `left` itself belongs to it, `at_risk` how many were watched there.
    """

    left: float
    closed: bool
    right: float
    at_risk: float

    def holds(self, clock: float) -> bool:
        """Whether survival to this clock value hangs on too few."""
        return clock > self.left or (self.closed and clock == self.left)


@dataclass(frozen=True, slots=True, eq=False)
class IntervalFit:
    """The fitted hazards seen from `start`; `interval_curve` gives its figures their words.

    Attributes
    ----------
    n, failed : float
        Lives that were watched after the start, and those of them known to have failed.
    start : float
        Clock value at which survival is 1, and `start_set` the first set after it.
    least_hazard, greatest_hazard : arrays, shape (m + 1,)
        Cumulative hazard before each set and after the last, as a range.
    survival, mass : arrays, shapes (m + 1,) and (m,)
        Of the curve that the search found.
    thin : ThinPart or None
        Where the curve begins to hang on too few.
    """

    lives: IntervalLives
    sets: CandidateSets
    hazards: HazardFit
    n: float
    failed: float
    start: float
    start_set: int
    least_hazard: FloatArray
    greatest_hazard: FloatArray
    survival: FloatArray
    mass: FloatArray
    thin: ThinPart | None
    tools: SurvivalLimits

    @property
    def unique(self) -> bool:
        """Whether no other hazards are equally likely, before the first thin set."""
        end = self._sound_sets
        least, greatest = np.exp(-self.greatest_hazard), np.exp(-self.least_hazard)
        reach = slice(self.start_set, end + 1)
        return bool(np.all(greatest[reach] - least[reach] <= SAME_SHARE))

    @property
    def watched_to(self) -> float | None:
        """The last clock value at which anybody was watched."""
        ends = _last_watched(self.lives)
        return float(ends.max()) if len(ends) else None

    @property
    def _sound_sets(self) -> int:
        """Number of sets before the thin part."""
        if self.thin is None:
            return self.sets.size
        return int(np.sum([not self.thin.holds(float(each)) for each in self.sets.right]))

    def at_risk_at(self, clock: float) -> float:
        """Lives under watch just before a clock value and not known to have failed by then."""
        lives = self.lives
        watched = (lives.entry < clock) & (clock <= _last_watched(lives))
        return float(lives.weight[watched].sum())

    def in_thin_part(self, clock: float) -> bool:
        """Whether survival to `clock` hangs on too few."""
        return self.thin is not None and self.thin.holds(clock)

    def survival_range(self, clock: float) -> tuple[float, float]:
        """Least and greatest survival to `clock` of the equally likely curves."""
        passed = int(np.searchsorted(self.sets.right, clock, side="right"))
        begun = max(self._begun(clock), passed)
        passed, begun = max(passed, self.start_set), max(begun, self.start_set)
        least, greatest = self.greatest_hazard[begun], self.least_hazard[passed]
        return float(np.exp(-least)), float(np.exp(-greatest))

    def _begun(self, clock: float) -> int:
        """Number of sets that hold clock values up to this one."""
        sets = self.sets
        return int(np.sum((sets.left < clock) | (sets.left_closed & (sets.left == clock))))

    def limits(self, clock: float) -> tuple[float, float]:
        """Likelihood-ratio limits of survival to `clock`."""
        if clock <= self.start:
            return 1.0, 1.0
        return self.tools.lower(self.start, clock), self.tools.upper(self.start, clock)

    def reached(self, goal: float) -> tuple[float | None, float | None]:
        """Earliest and latest clock value at which survival comes down to `goal`."""
        end = self._sound_sets
        found: list[float | None] = []
        ends = ((self.greatest_hazard, self.sets.left), (self.least_hazard, self.sets.right))
        for hazard, places in ends:
            below = np.exp(-hazard[self.start_set + 1 : end + 1]) <= goal + REACHED_SLACK
            place = float(places[self.start_set + int(np.argmax(below))]) if below.any() else None
            found.append(None if place == np.inf else place)
        return found[0], found[1]

    def clock_limits(self, goal: float) -> tuple[float | None, float | None]:
        """Clock values at which the lower and the upper limit come down to `goal`."""
        lives = self.lives
        clock = np.unique(np.concatenate([lives.left, lives.right[~lives.unfailed], lives.entry]))
        clock = clock[clock > self.start]
        clock = clock[[not self.in_thin_part(float(each)) for each in clock]]

        def low_enough(limit: Callable[[float, float], float], at: float) -> bool:
            return limit(self.start, at) <= goal + REACHED_SLACK

        lower, upper = self.tools.lower, self.tools.upper
        first = _first(clock, lambda at: low_enough(lower, at))
        found: float | None = None
        if first is not None:
            found = float(clock[first])
            before = self.start if first == 0 else float(clock[first - 1])
            # Between two marks the limit is level, and where failures may lie there, lower.
            found = before if low_enough(lower, (before + found) / 2) else found
        last = _first(clock, lambda at: low_enough(upper, at))
        return found, None if last is None else float(clock[last])


def fitted(
    lives: IntervalLives, *, level: float, closed_left: bool, given_survival_to: float | None
) -> IntervalFit:
    """Fit the hazards and look at them from the clock value at which the curve is to be 1."""
    lives = lives.distinct()
    sets = candidate_sets(lives, closed_left=closed_left)
    hazards = most_likely(sets)
    reaching = lives
    if given_survival_to is not None:
        _refuse_start_inside(sets, hazards, given_survival_to)
        reaching = lives.where(_last_watched(lives) > given_survival_to)
    start = _watch_begins(reaching, given_survival_to)
    start_set = int(np.searchsorted(sets.right, start, side="right"))
    least, greatest = hazard_range(sets, hazards, start_set)
    without_end = ~np.isfinite(hazards.hazard) | sets.endless
    ended = np.concatenate([[0], np.cumsum(without_end)])
    least, greatest = (np.where(ended > ended[start_set], np.inf, h) for h in (least, greatest))
    hazard = np.where(sets.endless, np.inf, hazards.hazard)
    hazard = np.where(np.arange(sets.size) < start_set, 0.0, hazard)
    survival = np.exp(-np.concatenate([[0.0], np.cumsum(hazard)]))
    mass = -np.diff(survival)
    return IntervalFit(
        lives=lives,
        sets=sets,
        hazards=hazards,
        n=reaching.n,
        failed=reaching.failed,
        start=start,
        start_set=start_set,
        least_hazard=least,
        greatest_hazard=greatest,
        survival=survival,
        mass=np.where(mass > MASS_SMALLEST, mass, 0.0),
        thin=_thin_part(reaching, sets, hazards, start),
        tools=SurvivalLimits(lives, closed_left, hazards.log_likelihood, level),
    )


def _refuse_start_inside(sets: CandidateSets, hazards: HazardFit, start: float) -> None:
    around = (sets.left < start) | (sets.left_closed & (sets.left == start))
    around &= (start < sets.right) & (hazards.hazard > 0)
    if np.any(around):
        place = int(np.argmax(around))
        raise ValueError(
            "a curve begins where survival up to there is known: `given_survival_to` must not "
            f"lie inside a set in which the curve falls; got {spoken(start)}, choose "
            f"{spoken(float(sets.left[place]))} or {spoken(float(sets.right[place]))}"
        )


def _last_watched(lives: IntervalLives) -> FloatArray:
    """The clock value at which each life was found failed or last seen unfailed."""
    return np.where(lives.unfailed, lives.left, lives.right)


def _watch_begins(lives: IntervalLives, given: float | None) -> float:
    """Where the first life comes under watch, or the clock value given if that is later.

    Before it nobody was watched, and nothing could be said of survival up to there.
    """
    first = float(lives.entry.min()) if len(lives.entry) else 0.0
    return first if given is None else max(first, float(given))


def _thin_part(
    lives: IntervalLives, sets: CandidateSets, hazards: HazardFit, start: float
) -> ThinPart | None:
    """Where the curve begins to hang on too few, though more lives were watched later."""
    at_risk = np.where(sets.at_risk <= NOBODY * sets.weight.sum(), 0.0, sets.at_risk)
    later = np.zeros_like(at_risk)
    later[:-1] = np.maximum.accumulate(at_risk[::-1])[::-1][1:]
    few = (hazards.hazard > 0) & (at_risk < SMALLEST_RISK_SET) & (later >= SMALLEST_RISK_SET)
    fallen = np.isinf(hazards.hazard) & (later > 0)
    places = np.flatnonzero((few | fallen) & (sets.right > start))
    parts = [
        ThinPart(
            float(sets.left[at]),
            bool(sets.left_closed[at]),
            float(sets.right[at]),
            float(at_risk[at]),
        )
        for at in places
    ]
    parts += [ThinPart(left, False, right, 0.0) for left, right in _unwatched(lives, start)]
    if not parts:
        return None
    first = min(parts, key=lambda part: (part.left, not part.closed))
    last = max(part.right for part in parts)
    return ThinPart(first.left, first.closed, last, first.at_risk)


def _unwatched(lives: IntervalLives, start: float) -> list[tuple[float, float]]:
    """Stretches after the start in which nobody was watched, though some were later."""
    order = np.argsort(lives.entry, kind="stable")
    entry, reach = lives.entry[order], np.maximum.accumulate(_last_watched(lives)[order])
    gaps = np.flatnonzero(entry[1:] > np.maximum(reach[:-1], start))
    return [(max(float(reach[at]), start), float(entry[at + 1])) for at in gaps]


def _first(clock: FloatArray, holds: Callable[[float], bool]) -> int | None:
    """First place from which on a statement holds that, once true, stays true."""
    low, high = 0, len(clock)
    while low < high:
        middle = (low + high) // 2
        if holds(float(clock[middle])):
            high = middle
        else:
            low = middle + 1
    return low if low < len(clock) else None
