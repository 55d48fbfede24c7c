"""What the visit model needs to know of each vehicle: a few sums over its gaps."""

from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import ArrayLike

from garage.lifetimes.arrays import BoolArray, FloatArray
from garage.lifetimes.life_rows import refuse_first


@dataclass(frozen=True, slots=True, eq=False)
class VisitHistories:
    """The visits of `n` vehicles, summed: enough for the likelihood of the visit model.

    The clock of a vehicle starts at 0 with its first visit; visits of one day are one visit.

    Attributes
    ----------
    repeats : array, shape (n,)
        Visits after the first, 0 or more; the number of gaps.
    last_visit : array, shape (n,)
        From the first visit to the last: the sum of the gaps; 0 where there is none.
    watched_until : array, shape (n,)
        From the first visit to the day up to which any visit would be known: today, or the day
        on which the vehicle is known to have gone. Not before the last visit.
    log_gaps : array, shape (n,)
        Sum of the logarithms of the gaps; 0 where there is none. All 0 will do for a model of
        visits at random, which does not ask how regular they are.
    weight : array, shape (n,)
        How far each vehicle counts, 0 or more; how often it was drawn, for instance.

    Raises
    ------
    ValueError
        Unequal lengths, a number that is not finite, a count below 0 or not whole, a last
        visit that contradicts the count, a watch that ends before the last visit.
    """

    repeats: FloatArray
    last_visit: FloatArray
    watched_until: FloatArray
    log_gaps: FloatArray
    weight: FloatArray

    def __post_init__(self) -> None:
        names = ("repeats", "last_visit", "watched_until", "log_gaps", "weight")
        for name in names:
            object.__setattr__(self, name, np.atleast_1d(np.asarray(getattr(self, name), float)))
        shapes = [getattr(self, name).shape for name in names]
        if len(set(shapes)) > 1 or self.repeats.ndim != 1:
            raise ValueError(f"histories hold one value a vehicle in each array; got {shapes}")
        for name in names:
            _refuse(name, "a finite number", getattr(self, name), ~np.isfinite(getattr(self, name)))
        whole = (self.repeats >= 0) & (self.repeats == np.floor(self.repeats))
        _refuse("repeats", "a whole number, at least 0", self.repeats, ~whole)
        _refuse(
            "last_visit",
            "above 0 where a vehicle came again and 0 where it did not",
            self.last_visit,
            (self.last_visit < 0) | ((self.repeats > 0) != (self.last_visit > 0)),
        )
        _refuse(
            "watched_until",
            "no earlier than the last visit",
            self.watched_until,
            self.watched_until < self.last_visit,
        )
        _refuse("weight", "0 or more", self.weight, self.weight < 0)

    @classmethod
    def from_sums(
        cls,
        repeats: ArrayLike,
        last_visit: ArrayLike,
        watched_until: ArrayLike,
        log_gaps: ArrayLike | None = None,
        weight: ArrayLike | None = None,
    ) -> Self:
        """Take sums made elsewhere, in the database for instance; see the class for each."""
        counts = np.atleast_1d(np.asarray(repeats, np.float64))
        return cls(
            counts,
            np.asarray(last_visit, np.float64),
            np.asarray(watched_until, np.float64),
            np.zeros_like(counts) if log_gaps is None else np.asarray(log_gaps, np.float64),
            np.ones_like(counts) if weight is None else np.asarray(weight, np.float64),
        )

    @classmethod
    def from_visits(cls, vehicle: ArrayLike, at: ArrayLike, watched_until: ArrayLike) -> Self:
        """Sum visits given one by one, in any order.

        Parameters
        ----------
        vehicle : array of int, shape (v,)
            Place of the visit's vehicle in `watched_until`, from 0 on; each has a visit.
        at : array, shape (v,)
            When, on a calendar that all share (days, say). Visits of one vehicle at one time
            count as one.
        watched_until : array, shape (n,)
            On the same calendar.

        Examples
        --------
        >>> known = VisitHistories.from_visits([0, 1, 0, 0], [10, 50, 40, 40], [100, 100])
        >>> known.repeats.tolist(), known.last_visit.tolist(), known.watched_until.tolist()
        ([1.0, 0.0], [30.0, 0.0], [90.0, 50.0])
        """
        whose, when = np.asarray(vehicle, np.int64), np.asarray(at, np.float64)
        until = np.atleast_1d(np.asarray(watched_until, np.float64))
        if whose.shape != when.shape or whose.ndim != 1:
            raise ValueError(
                f"each visit has a vehicle and a time; got shapes {whose.shape} and {when.shape}"
            )
        if not np.array_equal(np.unique(whose), np.arange(until.size)):
            raise ValueError(
                f"vehicles are numbered 0 to {until.size - 1} and each has a visit; got "
                f"{np.unique(whose).tolist()[:10]}"
            )
        order = np.lexsort((when, whose))
        whose, when = whose[order], when[order]
        starts = np.concatenate([[True], np.diff(whose) != 0]) if whose.size else np.zeros(0, bool)
        gaps = np.concatenate([[0.0], np.diff(when)])[: when.size]
        gap = ~starts & (gaps > 0)
        last = np.asarray(np.bincount(whose[gap], gaps[gap], until.size), np.float64)
        return cls(
            np.bincount(whose[gap], minlength=until.size).astype(np.float64),
            last,
            until - when[starts],
            np.asarray(np.bincount(whose[gap], np.log(gaps[gap]), until.size), np.float64),
            np.ones(until.size),
        )

    @property
    def n(self) -> int:
        """Vehicles with any weight."""
        return int(np.count_nonzero(self.weight))

    @property
    def silence(self) -> FloatArray:
        """From the last visit to the end of the watch, of each vehicle."""
        return self.watched_until - self.last_visit

    def part(self, here: slice) -> Self:
        """Some of the vehicles, in order."""
        return type(self)(
            self.repeats[here],
            self.last_visit[here],
            self.watched_until[here],
            self.log_gaps[here],
            self.weight[here],
        )

    def weighted(self, weight: ArrayLike) -> Self:
        """The same vehicles, counted anew: a resample of them, for instance."""
        return type(self)(
            self.repeats,
            self.last_visit,
            self.watched_until,
            self.log_gaps,
            np.asarray(weight, np.float64),
        )

    def grouped(self, step: float) -> Self:
        """Vehicles with alike histories as one of their summed weight, for speed.

        Vehicles are alike where they came equally often, and their last visits and silences
        fall in the same step (days, say); a group has its members' mean last visit, mean
        silence and mean sum of log gaps. The likelihood is linear in the last and smooth in
        the others, so steps well below the usual gap change next to nothing.

        Examples
        --------
        >>> known = VisitHistories.from_sums([1, 1, 0], [30, 34, 0], [90, 96, 50])
        >>> alike = known.grouped(10)
        >>> alike.repeats.tolist(), alike.last_visit.tolist(), alike.weight.tolist()
        ([0.0, 1.0], [0.0, 32.0], [1.0, 2.0])
        """
        if not step > 0:
            raise ValueError(f"a step is above 0; got {step}")
        cells = np.floor(np.column_stack([self.last_visit, self.silence]) / step)
        keys = np.column_stack([self.repeats, cells])[self.weight > 0]
        _, place = np.unique(keys, axis=0, return_inverse=True)
        weight = self.weight[self.weight > 0]
        summed = np.asarray(np.bincount(place, weight), np.float64)

        def mean(values: FloatArray) -> FloatArray:
            held = values[self.weight > 0]
            return np.asarray(np.bincount(place, weight * held) / summed, np.float64)

        repeats = np.rint(mean(self.repeats))
        last = mean(self.last_visit)
        return type(self)(repeats, last, last + mean(self.silence), mean(self.log_gaps), summed)


def _refuse(name: str, rule: str, values: FloatArray, wrong: BoolArray) -> None:
    refuse_first(wrong, f"`{name}` is {rule}", values)
