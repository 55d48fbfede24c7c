"""The part that is in place now: how old it is, and how much further it goes."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.laws.further import FurtherDistances, further_quantile
from garage.lifetimes.laws.law import HazardLaw, density
from garage.lifetimes.renewal.grid import GAUSS, stretched
from garage.lifetimes.renewal.sequence import (
    PartSequence,
    Renewals,
    refuse_distances,
    renewals,
)

LEAST_CHANCE = 1e-6
"""Chance of going unfailed for the stretch that is known, under which what follows is refused: the
digits are used up, and the laws are wrong. Judgement, no source."""

Kernel = Callable[[FloatArray, FloatArray], FloatArray]


@dataclass(frozen=True, slots=True, eq=False)
class PartInPlace(FurtherDistances):
    """A part of unknown age that works now; made by `part_in_place`.

    Attributes
    ----------
    sequence, now, unfailed_for
        As given.
    chance_first : float
        Chance that it is still the first part.
    """

    sequence: PartSequence
    now: float
    unfailed_for: float
    chance_first: float
    _weight: float
    _renewals: Renewals | None

    @property
    def first_age(self) -> float:
        """What the part has run if it is still the first one."""
        return self.sequence.first_age + self.now

    @property
    def chance_replaced(self) -> float:
        """Chance that the first part has failed and been replaced, once or more often."""
        return 1.0 - self.chance_first

    def older_than(self, ages: ArrayLike) -> FloatArray:
        """Chance that the part has run further than each age; an array of its shape.

        The first part's own age is an atom: just below it the chance is `chance_first`, at it 0.
        """
        asked = refuse_distances("ages", ages)
        chance = self._later_older(asked) + np.where(asked < self.first_age, self.chance_first, 0.0)
        return np.asarray(np.clip(chance, 0.0, 1.0), np.float64)

    def age_density(self, ages: ArrayLike) -> FloatArray:
        """Chance per unit that it is a later part of each age, above `unfailed_for`, below `now`.

        The first part's atom is not in it.
        """
        asked = refuse_distances("ages", ages)
        outside = (asked <= self.unfailed_for) | (asked >= self.now)
        if np.any(outside):
            raise ValueError(
                f"a later part's age lies between {self.unfailed_for} and {self.now}; got "
                f"{float(asked[outside].flat[0])}. Ask inside."
            )
        if self._renewals is None:
            return np.zeros_like(asked)
        survived = np.exp(-self.sequence.later.cumulative_hazard(asked))
        fitted = self._renewals.density_at(self.now - asked)
        return np.asarray(fitted * survived / self._weight, np.float64)

    def age_quantile(self, share_younger: float) -> float:
        """Age below which the part lies with this chance (between 0 and 1)."""
        if not 0 < share_younger < 1:
            raise ValueError(f"a share lies between 0 and 1; got {share_younger}")
        if share_younger >= self.chance_replaced:
            return self.first_age

        def outlasting(beyond: FloatArray) -> FloatArray:
            return self._later_older(self.unfailed_for + beyond) / self.chance_replaced

        share = share_younger / self.chance_replaced
        return self.unfailed_for + further_quantile(outlasting, share, self._first_seen)

    @property
    def mean_age(self) -> float:
        """Mean of what the part has run."""
        mean = self.chance_first * self.first_age

        def slope(age: FloatArray, since: FloatArray) -> FloatArray:
            survived = np.exp(-self.sequence.later.cumulative_hazard(age))
            return survived - age * density(self.sequence.later, age)

        if self._renewals is None:
            return mean
        # The age times survival is integrated over fittings by parts, as in _later_joint.
        unfailed = self.unfailed_for
        at_zero = unfailed * np.exp(-self.sequence.later.cumulative_hazard(unfailed))
        fitted = self._renewals.expected_at(np.array([self._first_seen]))
        total = at_zero * fitted + self._integral(0.0, self._unfailed, slope)
        return mean + float(total[0]) / self._weight

    def lasting(self, further: ArrayLike) -> FloatArray:
        """Chance that the part lasts each further distance, at least 0."""
        asked = refuse_distances("further", further)
        ahead = self.unfailed_for + asked.ravel()
        joint = self._later_joint(0.0, ahead)
        joint = joint + 1.0 - self.sequence.first_chance(self._first_seen + ahead)
        return np.asarray(np.clip(joint / self._weight, 0.0, 1.0).reshape(asked.shape), np.float64)

    @property
    def _guess(self) -> float:
        return float(self.sequence.later.quantile(0.5))

    @property
    def _first_seen(self) -> float:
        return self.now - self.unfailed_for

    @property
    def _unfailed(self) -> FloatArray:
        return np.array([self.unfailed_for])

    def _later_older(self, ages: FloatArray) -> FloatArray:
        """Chance that it is a later part that has run further than each age."""
        inside = np.maximum(ages - self.unfailed_for, 0.0)
        joint = [float(self._later_joint(float(age), self._unfailed)[0]) for age in inside.flat]
        return np.asarray(np.reshape(joint, ages.shape) / self._weight, np.float64)

    def _later_joint(self, age: float, ahead: FloatArray) -> FloatArray:
        """Chance that a later part, older than `age` when first seen, lasts each distance on.

        It is the integral of S(u + ahead) over fittings u before, dM(seen - u), from `age` on;
        by parts, so that M is needed but not its steep derivative.
        """
        seen, later = self._first_seen, self.sequence.later
        if self._renewals is None or age >= seen:
            return np.zeros_like(ahead)
        fitted = self._renewals.expected_at(np.array([seen - age]))
        survived = np.exp(-later.cumulative_hazard(age + ahead))
        lost = self._integral(age, ahead, lambda run, since: density(later, run))
        return np.asarray(survived * fitted - lost, np.float64)

    def _integral(self, age: float, ahead: FloatArray, kernel: Kernel) -> FloatArray:
        """Integral over u, from `age` to first seen, of kernel(u + ahead, u) * M(seen - u)."""
        assert self._renewals is not None
        seen, ends = self._first_seen, self._renewals.grid.ends
        edges = ends.width * np.arange(1, self._renewals.grid.panels)
        edges = edges[(edges > age) & (edges < seen)]
        if edges.size == 0:
            edges = np.array([(age + seen) / 2])
        # Next to the youngest the law may be steep, next to the oldest M may be.
        run, weight = stretched(age + ahead, edges[0] + ahead, ends.power)
        since = run - ahead[:, None]
        total = np.sum(weight * kernel(run, since) * self._fitted(seen - since), axis=-1)
        before, last_weight = stretched(0.0, seen - edges[-1], ends.power)
        nodes, weights = GAUSS
        spans = np.diff(edges)[:, None]
        since = np.concatenate([(edges[:-1, None] + spans * nodes).ravel(), seen - before])
        weight = np.concatenate([(spans * weights).ravel(), last_weight])
        mass = weight * self._fitted(seen - since)
        return np.asarray(total + kernel(since + ahead[:, None], since) @ mass, np.float64)

    def _fitted(self, distances: FloatArray) -> FloatArray:
        assert self._renewals is not None
        return self._renewals.expected_at(distances)


def part_in_place(
    first: HazardLaw,
    later: HazardLaw,
    now: float,
    *,
    unfailed_for: float = 0.0,
    first_age: float = 0.0,
) -> PartInPlace:
    """How old is the part in place, and when does it fail, if nobody knows its history?

    Parameters
    ----------
    first, later : HazardLaw
        Of the part in place at distance 0, and of every part fitted after a failure.
    now : float
        At least 0; where the vehicle stands, counted from the start of the process (from the
        start of its odometer, for a place that has been in operation since the vehicle was new).
    unfailed_for : float
        From 0 to `now`; the last stretch, over which the part is known not to have been
        replaced, because the vehicle has been watched since.
    first_age : float
        At least 0; what the first part had run, unfailed, at distance 0.

    Returns
    -------
    PartInPlace
        Chances accurate to 1e-8 for Weibull shapes from 0.5 to 5, divided by the chance of going
        unfailed over `unfailed_for`. Laws are taken as
        given, so its figures have no number of lives and no limits.

    Raises
    ------
    ValueError
        A negative or infinite distance, `unfailed_for` above `now`, or so long that the laws give
        it a chance below 1e-6.
    ArithmeticError
        A distance of several hundred median lives.

    Notes
    -----
    What is conditioned on, exactly: the place has been in operation from 0 on, each failed part
    was replaced at once, and no failure happened in (now - unfailed_for, now]. With
    `unfailed_for` 0 nothing else is: that a part works at `now` says nothing, for one always does.
    A planned replacement of a sound part, or a vehicle given up at a failure, is outside of it.

    With s = now - unfailed_for, S1 and S the survivals, and M the expected failures: the part is
    the first one and lasts to s + d with chance S1(s + d); it was fitted about s - u, and lasts d
    from s, with chance m(s - u) S(u + d) du. All figures are ratios and integrals of
    these two; the integrals are done by parts, over M instead of its density m.
    Source: Cox, Renewal Theory, 1962, chapter 5 (backward and forward recurrence times; from
    memory).

    Examples
    --------
    Pure chance: the age is that of the last failure, and the future does not depend on it.

    >>> from garage.lifetimes.laws.weibull import WeibullLaw
    >>> law = WeibullLaw(shape=1.0, scale=100_000.0)
    >>> found = part_in_place(law, law, 100_000.0)
    >>> round(found.chance_replaced, 4), round(found.mean_age), round(found.median)
    (0.6321, 63212, 69315)
    """
    sequence = PartSequence(first, later, first_age)
    for name, given in (("now", now), ("unfailed_for", unfailed_for)):
        refuse_distances(name, given)
    if unfailed_for > now:
        raise ValueError(
            f"unfailed_for must not exceed now, {now}; got {unfailed_for}. What the part had run "
            "before the start is first_age."
        )
    seen = now - unfailed_for
    found = PartInPlace(
        sequence, now, unfailed_for, 1.0, 1.0, renewals(sequence, seen) if seen > 0 else None
    )
    first_still = 1.0 - float(sequence.first_chance(now))
    weight = first_still + float(found._later_joint(0.0, found._unfailed)[0])
    if weight < LEAST_CHANCE:
        raise ValueError(
            f"unfailed_for is a stretch that these laws make likelier than {LEAST_CHANCE}; got "
            f"{unfailed_for} with {sequence}. Check the distances, or take laws of longer lives."
        )
    return PartInPlace(sequence, now, unfailed_for, first_still / weight, weight, found._renewals)
