"""Curves of lives whose vehicles are weighted anew again and again: one pass, no sorting."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from garage.lifetimes.arrays import BoolArray, FloatArray, IntArray
from garage.lifetimes.capture.draws import CaptureDraws
from garage.lifetimes.life_rows import LivesArrays, whole_numbers
from garage.lifetimes.resampling.projected_exits import ProjectedExits
from garage.lifetimes.risk_table import RiskTable

FAILED, OTHER_END = "failed", "other end"


@dataclass(frozen=True, slots=True)
class ClusteredLives:
    """Lives that belong to vehicles, as arrays of shape (n,).

    Parameters
    ----------
    entry, exit : whole clock units; a life is at risk on (entry, exit].
    failed : bool
    cluster : int, any codes; lives of one vehicle share one.
    capture_group : int from 0, optional
        Which capture share holds for the life; all 0 where left out.
    other_end : bool, optional
        Left for a competing reason (`resample_incidence` only).
    unit : str
    projected : ProjectedExits, optional
        Lives whose `exit` is only the likeliest one (`resample_survival` only).
    """

    entry: ArrayLike
    exit: ArrayLike
    failed: ArrayLike
    cluster: ArrayLike
    capture_group: ArrayLike | None = None
    other_end: ArrayLike | None = None
    unit: str = "km"
    projected: ProjectedExits | None = None


class ResampledSteps:
    """Where each life enters, leaves and fails among the failing clock values, found once."""

    def __init__(self, lives: ClusteredLives, capture: CaptureDraws, *, competing: bool) -> None:
        self.unit = lives.unit
        self.entry = whole_numbers("entry", lives.entry)
        self.exit = whole_numbers("exit", lives.exit)
        self.failed: BoolArray = np.asarray(lives.failed, bool)
        count = len(self.entry)
        other = np.zeros(count, bool)
        if competing and lives.other_end is not None:
            other = np.asarray(lives.other_end, bool) & ~self.failed
        self.other: BoolArray = other
        self.competing = competing
        group = np.zeros(count) if lives.capture_group is None else lives.capture_group
        self.group: IntArray = whole_numbers("capture_group", group)
        codes, of_life = np.unique(np.asarray(lives.cluster), return_inverse=True)
        self.of_life: IntArray = of_life.astype(np.int64)
        self.clusters = len(codes)
        for name, values in (("failed", self.failed), ("cluster", self.of_life)):
            if len(values) != count:
                raise ValueError(f"`{name}` must hold {count} values; got {len(values)}")
        if count and not 0 <= self.group.min() <= self.group.max() < len(capture.alpha):
            raise ValueError(
                f"capture groups are numbered 0 to {len(capture.alpha) - 1}; got "
                f"{int(self.group.min())} to {int(self.group.max())}"
            )
        self.projected = lives.projected
        if self.projected is not None:
            if competing:
                raise ValueError("an incidence takes every end as known; leave `projected` out")
            if np.any(self.failed[self.projected.life]):
                raise ValueError("where a life failed is known; leave it out of `projected`")
        self.clock: IntArray = np.unique(self.exit[self.failed | self.other])
        self.starts = np.searchsorted(self.clock, self.entry, side="right")
        self.stops = np.searchsorted(self.clock, self.exit, side="right")
        self.failed_at = np.searchsorted(self.clock, self.exit[self.failed])
        self.other_at = np.searchsorted(self.clock, self.exit[self.other])

    def table(self, shares: FloatArray) -> RiskTable:
        """The lives as a risk table, their failures corrected by these shares."""
        cause = self.failed.astype(np.int64) + 2 * self.other
        names = (FAILED, OTHER_END) if self.competing else (FAILED,)
        capture = np.where(self.failed, shares[self.group], 1.0) if len(cause) else None
        lives = LivesArrays(self.entry, self.exit, cause, capture=capture)
        return RiskTable.from_lives(lives, unit=self.unit, causes=names)

    def draw(self, rng: np.random.Generator) -> FloatArray:
        """How often each vehicle is drawn, when as many are drawn as there are."""
        picked = rng.integers(0, max(self.clusters, 1), self.clusters)
        return np.bincount(picked, minlength=self.clusters).astype(np.float64)

    def draw_stops(self, rng: np.random.Generator) -> IntArray:
        """Where each life leaves, if projected vehicles have gone as far as is drawn here."""
        if self.projected is None:
            return self.stops
        stops = self.stops.copy()
        stops[self.projected.life] = np.maximum(
            np.searchsorted(self.clock, self.projected.draw(rng), side="right"),
            self.starts[self.projected.life],
        )
        return stops

    def survival(
        self,
        weights: FloatArray,
        shares: FloatArray,
        given_survival_to: int | None,
        stops: IntArray,
    ) -> FloatArray:
        """Product-limit heights at the failing clock values, vehicles weighted."""
        of_life = weights[self.of_life]
        corrected = self._failed(of_life, 1 / shares[self.group[self.failed]])
        hazard = np.minimum(_ratio(corrected, self._at_risk(of_life, stops)), 1.0)
        if given_survival_to is not None:
            hazard[self.clock <= given_survival_to] = 0.0
        return np.asarray(np.cumprod(1 - hazard), np.float64)

    def incidence(self, weights: FloatArray, shares: FloatArray) -> FloatArray:
        """Cumulative incidence of failing, each failure divided by its group's share."""
        of_life = weights[self.of_life]
        at_risk = self._at_risk(of_life, self.stops)
        seen = self._failed(of_life, np.ones(len(self.failed_at)))
        ends = seen + np.bincount(self.other_at, of_life[self.other], minlength=len(self.clock))
        free = np.cumprod(1 - np.minimum(_ratio(ends, at_risk), 1.0))
        before = np.concatenate([[1.0], free[:-1]])[: len(free)]
        corrected = self._failed(of_life, 1 / shares[self.group[self.failed]])
        return np.asarray(np.cumsum(before * _ratio(corrected, at_risk)), np.float64)

    def _at_risk(self, of_life: FloatArray, stops: IntArray) -> FloatArray:
        size = len(self.clock) + 1
        change = np.bincount(self.starts, of_life, size) - np.bincount(stops, of_life, size)
        return np.asarray(np.cumsum(change)[:-1], np.float64)

    def _failed(self, of_life: FloatArray, factor: FloatArray) -> FloatArray:
        counted = of_life[self.failed] * factor
        return np.asarray(
            np.bincount(self.failed_at, counted, minlength=len(self.clock)), np.float64
        )


def _ratio(upper: FloatArray, lower: FloatArray) -> FloatArray:
    # Weights are whole, so an empty risk set differs from 0 by rounding only.
    return np.divide(upper, lower, out=np.zeros_like(upper), where=lower > 0.5)


def step_values(
    clock: IntArray, heights: FloatArray, points: FloatArray, *, before: float
) -> FloatArray:
    """Heights of a curve at any points; `before` holds ahead of its first step."""
    padded = np.concatenate([[before], heights])
    return np.asarray(padded[np.searchsorted(clock, points, side="right")], np.float64)
