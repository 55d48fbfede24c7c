"""A slow second way to the most likely curve: a general solver on every place there is."""

from dataclasses import dataclass

import numpy as np
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.optimize import minimize

from garage.lifetimes.interval_lives import IntervalLives

HAZARD_LARGEST = 40.0
FloatArray = NDArray[np.float64]


@dataclass
class Atoms:
    """Each marked clock value, and each gap between two, with what every life says of it.

    Written from the definition, life by life, without any of the shortcuts of the search.
    """

    places: list[tuple[float, float]]
    may_fail: FloatArray
    outlives: FloatArray
    lives: IntervalLives

    @classmethod
    def of(cls, lives: IntervalLives, *, closed_left: bool, mark: float | None = None) -> "Atoms":
        ends = [lives.left, lives.right[np.isfinite(lives.right)], lives.entry]
        clock = np.unique(np.concatenate([*ends, [] if mark is None else [mark]]))
        places = [(a, a) for a in clock] + list(zip(clock, [*clock[1:], np.inf], strict=True))
        places.sort()
        may_fail = np.zeros((len(lives.left), len(places)))
        outlives = np.zeros_like(may_fail)
        for life, (left, right, entry) in enumerate(
            zip(lives.left, lives.right, lives.entry, strict=True)
        ):
            for place, (begin, end) in enumerate(places):
                point = begin == end
                watched = begin > entry if point else begin >= entry
                from_left = begin > left if point else begin >= left
                if closed_left and np.isfinite(right):
                    from_left = begin >= left
                inside = from_left and end <= right
                if left == right:
                    inside = point and begin == left
                may_fail[life, place] = watched and inside
                outlives[life, place] = watched and not inside and end <= left
        return cls(places, may_fail, outlives, lives)

    def loss(self, hazard: FloatArray) -> tuple[float, FloatArray]:
        """Minus the log-likelihood, and its slopes."""
        failed = np.isfinite(self.lives.right)
        weight, rows = self.lives.weight[failed], self.may_fail[failed]
        cost = self.lives.weight @ self.outlives
        reach = np.clip(rows @ hazard, 1e-300, 700)
        loss = cost @ hazard - weight @ np.log(-np.expm1(-reach))
        return float(loss), cost - rows.T @ (weight / np.expm1(reach))

    def best(self) -> float:
        """The greatest log-likelihood, by a general solver."""
        hazard = np.full(len(self.places), 0.1)
        bounds = [(0.0, HAZARD_LARGEST)] * len(hazard)
        for _ in range(3):
            options = {"maxiter": 20_000, "maxfun": 100_000, "ftol": 1e-15, "gtol": 1e-10}
            found = minimize(
                self.loss, hazard, jac=True, method="L-BFGS-B", bounds=bounds, options=options
            )
            hazard = found.x
        return -float(found.fun)

    def survival_bound(self, clock: float, floor: float, sign: int) -> float:
        """Greatest (1) or least (-1) survival to `clock` with a log-likelihood above `floor`.

        Counted from the first entry on.
        """
        first = float(self.lives.entry.min())
        inside = np.array([first < end <= clock for _, end in self.places], float) * sign
        rule = {
            "type": "ineq",
            "fun": lambda hazard: -self.loss(hazard)[0] - floor,
            "jac": lambda hazard: -self.loss(hazard)[1],
        }
        reached = []
        for start in (0.05, 0.3, 1.0):
            found = minimize(
                lambda hazard: (float(inside @ hazard), inside),
                np.full(len(inside), start),
                jac=True,
                method="SLSQP",
                bounds=[(1e-12, 25.0)] * len(inside),
                constraints=[rule],
                options={"maxiter": 2000, "ftol": 1e-12},
            )
            if rule["fun"](found.x) > -1e-6:  # type: ignore[operator]
                reached.append(float(found.fun))
        return float(np.exp(-min(reached) * sign))


@st.composite
def interval_lives(draw: st.DrawFn, *, most: int = 8, late: bool = True) -> IntervalLives:
    """Few lives on few clock values, so that everything is tied with everything."""
    count = draw(st.integers(1, most))
    rows = []
    for _ in range(count):
        entry = draw(st.integers(-1, 5)) if late else 0
        left = entry + draw(st.integers(0, 4))
        right = float(left + draw(st.integers(0, 4)))
        if draw(st.integers(0, 3)) == 0 or right <= entry:
            right = np.inf
        rows.append((left, right, entry, draw(st.integers(1, 3))))
    return IntervalLives(*(np.array(column, float) for column in zip(*rows, strict=True)))
