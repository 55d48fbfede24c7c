"""Lives with covariates, checked and brought on the grid of their failures."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

from garage.lifetimes.arrays import BoolArray, FloatArray, IntArray
from garage.lifetimes.counting import DENSE_VALUES_PER_ROW
from garage.lifetimes.life_rows import refuse_first, refuse_shape


@dataclass(frozen=True, slots=True)
class HazardLives:
    """Lives one by one, with what may make them fail sooner or later.

    Parameters
    ----------
    entry, exit : array, shape (n,), any one unit
        A life is at risk on (entry, exit]. Equal numbers are ties, so round to what is known.
    failed : array of bool or 0 and 1, shape (n,)
    covariates : array, shape (n, p)
        One column a covariate; a yes-or-no as 1 and 0, one of k kinds as k - 1 such columns.
    names : sequence of p str
        Of the covariates.
    stratum : array of whole numbers, shape (n,), optional
        Lives are compared only within a stratum, such as an engine family.
    cluster : array of whole numbers, shape (n,), optional
        What lives share, such as a vehicle; standard errors then allow for it.
    weight : array, shape (n,), optional
        How many lives a row stands for, above 0; 1 where left out.
    """

    entry: ArrayLike
    exit: ArrayLike
    failed: ArrayLike
    covariates: ArrayLike
    names: Sequence[str]
    stratum: ArrayLike | None = None
    cluster: ArrayLike | None = None
    weight: ArrayLike | None = None


@dataclass(frozen=True, slots=True, eq=False)
class FailureGrid:
    """Lives on the grid of clock values with failures, stratum after stratum.

    Attributes
    ----------
    n, p : int
        Lives watched, and covariates.
    columns : array, shape (p, m)
        Covariates of the m lives that were at risk at any failure, less `centre`, divided by
        `scale`.
    first, last : arrays of int64, shape (m,)
        A life is at risk at the failures numbered `first` up to, not with, `last`.
    failed : array of int64, shape (f,)
        Places, among the m, of the lives that failed, in the order of their failures; the
        failure of life i is number ``last[i] - 1``.
    clock, stratum : arrays, shape (g,)
        Of each failure number; strata are numbered from 0 in ascending order.
    ties : array of int64, shape (g,)
        Lives that failed together.
    watched : array, shape (g,)
        Lives of all strata at risk at the clock value of each failure.
    weight : array, shape (m,)
    cluster : array of int64, shape (m,), or None
        Numbered from 0 to `clusters`.
    """

    n: int
    names: tuple[str, ...]
    columns: FloatArray
    centre: FloatArray
    scale: FloatArray
    first: IntArray
    last: IntArray
    failed: IntArray
    clock: FloatArray
    stratum: IntArray
    strata: NDArray[np.int64]
    ties: IntArray
    watched: FloatArray
    weight: FloatArray
    weighted: bool
    cluster: IntArray | None
    clusters: int

    @property
    def p(self) -> int:
        """Number of covariates."""
        return len(self.names)

    @classmethod
    def of(cls, lives: HazardLives) -> Self:
        """Check lives and place them; a ValueError names the first that breaks a rule."""
        entry, exit_, failed, columns = _checked(lives)
        n = len(entry)
        weight = np.ones(n)
        if lives.weight is not None:
            weight = _numbers("weight", lives.weight, n)
            refuse_first(weight <= 0, "a weight is above 0; leave other lives out", weight)
        labels, stratum = _numbered("stratum", lives.stratum, n)
        _, cluster = _numbered("cluster", lives.cluster, n)
        moments, entry_place, exit_place = _moments(entry, exit_)
        keys = [each + stratum * len(moments) for each in (entry_place, exit_place)]
        failures, first, last = _grid(keys[0], keys[1], failed)
        kept = np.flatnonzero(last > first)
        if len(kept) < n:
            first, last = first.take(kept), last.take(kept)
            failed, weight = failed.take(kept), weight.take(kept)
            columns, cluster = columns.take(kept, axis=1), cluster.take(kept)
        where = np.flatnonzero(failed)
        where = where.take(np.argsort(last.take(where), kind="stable"))
        centre, scale = _centre_and_scale(columns, weight)
        columns = (columns - centre[:, None]) / scale[:, None]
        clusters = 0
        if lives.cluster is not None and len(kept):
            present, cluster = np.unique(cluster, return_inverse=True)
            clusters = len(present)
        return cls(
            n=n,
            names=tuple(lives.names),
            columns=columns,
            centre=centre,
            scale=scale,
            first=first,
            last=last,
            failed=where,
            clock=moments[failures % max(len(moments), 1)],
            stratum=failures // max(len(moments), 1),
            strata=labels,
            ties=np.bincount(last.take(where) - 1, minlength=len(failures)),
            watched=_watched(entry_place, exit_place, failures % max(len(moments), 1)),
            weight=weight,
            weighted=lives.weight is not None,
            cluster=None if lives.cluster is None else cluster,
            clusters=clusters,
        )


def _checked(lives: HazardLives) -> tuple[FloatArray, FloatArray, BoolArray, FloatArray]:
    n = len(np.asarray(lives.entry))
    entry, exit_ = _numbers("entry", lives.entry, n), _numbers("exit", lives.exit, n)
    failed = _numbers("failed", lives.failed, n)
    refuse_first((failed != 0) & (failed != 1), "`failed` is 0 or 1", failed)
    refuse_first(exit_ < entry, "a life leaves no earlier than it enters", entry, exit_)
    at_once = (exit_ == entry) & (failed == 1)
    rule = "a life that fails where it enters has no watched time; leave it out, or let it enter"
    refuse_first(at_once, f"{rule} earlier", entry, exit_)
    names = tuple(lives.names)
    if not names or len(set(names)) != len(names):
        raise ValueError(f"covariates are named, each once; got {list(names)}")
    given = np.asarray(lives.covariates, np.float64)
    refuse_shape("covariates", given, (n, len(names)))
    columns = np.ascontiguousarray(given.T)
    if not np.isfinite(columns.sum()):
        for name, column in zip(names, columns, strict=True):
            refuse_first(~np.isfinite(column), f"covariate {name!r} is a finite number", column)
    return entry, exit_, failed == 1, columns


def _numbers(name: str, values: ArrayLike, n: int) -> FloatArray:
    numbers = np.asarray(values, np.float64)
    refuse_shape(name, numbers, (n,))
    refuse_first(~np.isfinite(numbers), f"`{name}` is a finite number", numbers)
    return numbers


def _numbered(name: str, labels: ArrayLike | None, n: int) -> tuple[IntArray, IntArray]:
    """Different labels in ascending order, and the place of each life's among them."""
    if labels is None:
        return np.zeros(1, np.int64), np.zeros(n, np.int64)
    given = np.asarray(labels)
    refuse_shape(name, given, (n,))
    if given.dtype.kind not in "iub":
        raise ValueError(f"`{name}` holds whole numbers; got {given.dtype}. Number the labels.")
    low = int(given.min()) if n else 0
    dense = n and int(given.max()) - low < DENSE_VALUES_PER_ROW * n
    if dense:
        place = given.astype(np.int64) - low
        there = np.bincount(place) > 0
        return np.flatnonzero(there) + low, (np.cumsum(there) - 1).take(place)
    found, place = np.unique(given.astype(np.int64), return_inverse=True)
    return found, place


def _moments(entry: FloatArray, exit_: FloatArray) -> tuple[FloatArray, IntArray, IntArray]:
    """Ascending clock values, and the places of entries and exits among them."""
    n = len(entry)
    if n == 0:
        return np.zeros(0), np.zeros(0, np.int64), np.zeros(0, np.int64)
    low, high = entry.min(), exit_.max()
    if high - low < DENSE_VALUES_PER_ROW * n and low == np.floor(low):
        begin, end = (entry - low).astype(np.int64), (exit_ - low).astype(np.int64)
        # Whole numbers are their own places, which spares sorting them.
        if np.array_equal(begin + low, entry) and np.array_equal(end + low, exit_):
            return np.arange(low, high + 1), begin, end
    moments, place = np.unique(np.concatenate([entry, exit_]), return_inverse=True)
    return moments, place[:n], place[n:]


def _grid(begin: IntArray, end: IntArray, failed: BoolArray) -> tuple[IntArray, IntArray, IntArray]:
    """Keys at which lives failed, and how many of them are no later than each begin and end."""
    ends = end[failed]
    if len(ends) and int(end.max()) < DENSE_VALUES_PER_ROW * len(end):
        there = np.zeros(int(max(end.max(), begin.max())) + 1, np.bool_)
        there[ends] = True
        upto: IntArray = np.cumsum(there, dtype=np.int64)
        return np.flatnonzero(there), upto.take(begin), upto.take(end)
    failures = np.unique(ends)
    first, last = (np.searchsorted(failures, each, side="right") for each in (begin, end))
    return failures, first.astype(np.int64), last.astype(np.int64)


def _watched(begin: IntArray, end: IntArray, moments: IntArray) -> FloatArray:
    """Lives of any stratum at risk at the given places of the clock."""
    if not len(moments):
        return np.zeros(0)
    size = int(end.max()) + 1
    change = np.bincount(begin, minlength=size) - np.bincount(end, minlength=size)
    before = np.concatenate([[0], np.cumsum(change)[:-1]])
    return before.take(moments).astype(np.float64)


def _centre_and_scale(columns: FloatArray, weight: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Mean and standard deviation of each covariate; scale 1 for one that does not vary."""
    if columns.shape[1] == 0:
        return np.zeros(len(columns)), np.ones(len(columns))
    total = weight.sum()
    centre = columns @ weight / total
    spread = np.array(
        [
            np.sqrt(weight @ (each - mid) ** 2 / total)
            for each, mid in zip(columns, centre, strict=True)
        ]
    )
    flat = spread <= FLAT * np.maximum(np.abs(centre), np.finfo(np.float64).tiny)
    return centre, np.where(flat, 1.0, spread)


FLAT = 1e-12
"""Standard deviation against the mean below which a column is rounding only; of float64."""
