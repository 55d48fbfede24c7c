"""Likelihood-ratio limits of survival to one clock value, for interval lives."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.optimize import brentq

from garage.lifetimes.arrays import BoolArray, FloatArray
from garage.lifetimes.confidence import none_failed_lower, normal_deviate
from garage.lifetimes.curves.interval_search import NOBODY, HazardFit, most_likely
from garage.lifetimes.curves.interval_sets import CandidateSets, candidate_sets
from garage.lifetimes.interval_lives import IntervalLives

NEAR_END = 1e-6
"""Share of the way left to the greatest pull. Nearer than this, what still grows grows as a
straight line; a set that could outgrow it has cost far more likelihood by then."""

DOUBLINGS = 60
"""Most doublings of the pull upwards on survival; each halves what may still fail."""

SLIGHT = 1e-6
"""Share of all lives; a pull that only decides between curves that are equally likely."""

DROP_SLACK = 1e-7
"""Log-likelihood; a limit is found where the drop is right to this. Judgement, no source."""


@dataclass(frozen=True)
class SurvivalLimits:
    """How far survival from `start` to `clock` can move before the lives object.

    Parameters
    ----------
    lives : IntervalLives
        Distinct rows.
    closed_left : bool
    best : float
        The greatest log-likelihood of all.
    level : float
        Of the two-sided limits.

    Notes
    -----
    The limits are the least and the greatest survival s for which some curve with S(clock) =
    s falls short of the best by no more than half the square of the normal deviate. Curves
    with survival s are not tried one by one: pulling at the hazard before the clock value
    with a weight gives the best curve for the survival that comes out, and the weight is
    turned until the shortfall is right (Thomas and Grunkemeier, Journal of the American
    Statistical Association 70 (1975) 865-871, for exact failures; from memory).
    Before the curve falls at all the likelihood knows no binomial spread: there the lower
    limit is the exact one for none failed among those known to have been sound, and no later
    one is above it.
    """

    lives: IntervalLives
    closed_left: bool
    best: float
    level: float

    @cached_property
    def allowed(self) -> float:
        """By how much the log-likelihood may fall short."""
        return normal_deviate(self.level) ** 2 / 2

    def lower(self, start: float, clock: float) -> float:
        """Lower limit of survival to `clock` among those that reached `start`."""
        pulled = self._pulled(start, clock)
        return 1.0 if pulled is None else self._lower(pulled)

    def upper(self, start: float, clock: float) -> float:
        """Upper limit of survival to `clock` among those that reached `start`."""
        pulled = self._pulled(start, clock)
        return 1.0 if pulled is None else self._upper(pulled)

    def _pulled(self, start: float, clock: float) -> "_Pulled | None":
        sets = candidate_sets(self.lives, closed_left=self.closed_left, cuts=(start, clock))
        inside = (sets.right > start) & (sets.right <= clock)
        return _Pulled(sets, inside, self.best) if np.any(inside) else None

    def _lower(self, pulled: "_Pulled") -> float:
        strongest = pulled.strongest
        if strongest <= 0:
            return 0.0
        last = strongest * (1 - NEAR_END)
        shortfall = pulled.shortfall(last)
        if shortfall < self.allowed:
            # From here on the hazard grows alone, at a price of `strongest` each.
            hazard = pulled.hazard(last) + (self.allowed - shortfall) / strongest
        else:
            hazard = self._hazard(pulled, 0.0, last)
        sure = none_failed_lower(pulled.sure_at_first, self.level)
        return float(np.exp(-hazard)) if sure is None else min(float(np.exp(-hazard)), sure)

    def _upper(self, pulled: "_Pulled") -> float:
        if pulled.without_failures <= self.allowed:
            return 1.0
        weight = -pulled.scale
        for _ in range(DOUBLINGS):
            if pulled.shortfall(weight) >= self.allowed:
                break
            weight *= 2
        else:
            return 1.0
        return float(np.exp(-self._hazard(pulled, 0.0, weight)))

    def _hazard(self, pulled: "_Pulled", none: float, most: float) -> float:
        """Cumulative hazard at which the shortfall is what is allowed.

        It is below that at the pull `none` and above it at `most`. Where several sets serve
        equally well at one pull the shortfall leaps there, and on the way across it is a
        straight line over the hazard.
        """
        ends = [(none, 0.0), (most, pulled.shortfall(most) - self.allowed)]

        def excess(weight: float) -> float:
            found = (pulled.shortfall(weight) if weight else 0.0) - self.allowed
            if abs(found) < DROP_SLACK:
                found = 0.0
            ends.append((weight, found))
            return found

        brentq(excess, none, most, xtol=1e-12 * pulled.scale, rtol=1e-12)
        if ends[-1][1] == 0:
            return pulled.hazard(ends[-1][0])
        inner = max((each for each in ends if each[1] < 0), key=lambda each: abs(each[0]))
        outer = min((each for each in ends if each[1] > 0), key=lambda each: abs(each[0]))
        lost = (-inner[1]) / (outer[1] - inner[1])
        low, high = pulled.hazard(inner[0]), pulled.hazard(outer[0])
        return low + lost * (high - low)


@dataclass(frozen=True)
class _Pulled:
    """The most likely curves under a pull at the hazard inside a part of the sets."""

    sets: CandidateSets
    inside: BoolArray
    best: float

    @cached_property
    def _fits(self) -> dict[float, HazardFit]:
        return {}

    @property
    def scale(self) -> float:
        """Lives, to measure a pull by."""
        return float(self.sets.weight.sum())

    @property
    def strongest(self) -> float:
        """Fewest lives known to have outlived a set inside; a pull must stay below it."""
        fewest = float(self.sets.outlived[self.inside].min())
        return 0.0 if fewest <= NOBODY * self.scale else fewest

    @property
    def sure_at_first(self) -> float:
        """Fewest lives known to have outlived a set before the curve falls; 0 if it does at once.

        Of equally likely curves the one that falls last.
        """
        falls = self.inside & (self._fit(-SLIGHT * self.scale).hazard > 0)
        before = self.inside & (np.cumsum(falls) == 0)
        return float(self.sets.outlived[before].min(initial=self.scale)) if before.any() else 0.0

    @cached_property
    def without_failures(self) -> float:
        """Shortfall of the best curve that does not fall inside; inf where one must."""
        sets, rows = self.sets, ~self.sets.unfailed
        places = np.concatenate([[0], np.cumsum(~self.inside)])
        first, beyond = places[sets.first], places[sets.beyond]
        if np.any(first[rows] == beyond[rows]):
            return np.inf
        kept = ~self.inside
        rest = CandidateSets(
            left=sets.left[kept],
            right=sets.right[kept],
            left_closed=sets.left_closed[kept],
            enters=places[sets.enters],
            first=first,
            beyond=beyond,
            unfailed=sets.unfailed,
            weight=sets.weight,
            outlived=sets.outlived[kept],
            at_risk=sets.at_risk[kept],
        )
        return self.best - most_likely(rest).log_likelihood

    def _fit(self, weight: float) -> HazardFit:
        if weight not in self._fits:
            self._fits[weight] = most_likely(self.sets, np.where(self.inside, weight, 0.0))
        return self._fits[weight]

    def shortfall(self, weight: float) -> float:
        """Log-likelihood of the best curve of all above that of this one."""
        return self.best - self._fit(weight).log_likelihood

    def hazard(self, weight: float) -> float:
        """Cumulative hazard inside."""
        hazards: FloatArray = self._fit(weight).hazard
        return float(hazards[self.inside].sum())
