"""The robust variance of a mean cumulative function: squared influences, summed by system."""

from dataclasses import dataclass

import numpy as np

from garage.lifetimes.arrays import BoolArray, FloatArray
from garage.lifetimes.curves.recurrent_events import WatchedEvents


@dataclass(frozen=True, slots=True, eq=False)
class MeanSteps:
    """Rise of the mean at each clock value of the events, and what it is made of, shape (r,)."""

    total: FloatArray
    squares: FloatArray
    rise: FloatArray


def mean_steps(watched: WatchedEvents, counted: BoolArray) -> MeanSteps:
    """Sum failures, or their cost, over systems and divide by those at risk.

    Parameters
    ----------
    watched : WatchedEvents
    counted : array of bool, shape (r,)
        Clock values whose failures count.
    """
    rows = len(watched.clock)
    size = np.where(counted[watched.mark_place], watched.mark_size, 0.0)
    total, squares = (
        np.asarray(np.bincount(watched.mark_place, each, rows), np.float64)
        for each in (size, size**2)
    )
    rise = total / np.maximum(watched.at_risk, 1.0)
    return MeanSteps(total, squares, rise)


def robust_variance(watched: WatchedEvents, steps: MeanSteps, counted: BoolArray) -> FloatArray:
    """Variance of the mean just after each clock value, shape (r,).

    System i moves the mean at t by psi_i(t), the sum over steps up to t of
    (its own failures - rise, while it is at risk) / at risk; the variance is the sum of
    psi_i(t)**2. From one step to the next that sum changes by

        2 / Y * (sum of size * psi over those failing - rise * sum of psi over those at risk)
        + (sum of size**2 - (sum of size)**2 / Y) / Y**2,

    so psi is needed only where a system fails, comes under watch or leaves: no system is
    multiplied by every clock value. The sum of psi over those at risk changes only when one
    comes or goes.
    """
    rows = len(watched.clock)
    at_risk = np.maximum(watched.at_risk, 1.0)
    size = np.where(counted[watched.mark_place], watched.mark_size, 0.0)
    drift = np.cumsum(steps.rise / at_risk)
    before = np.concatenate([[0.0], drift[:-1]])[:rows]
    psi_failing, psi_coming, psi_going = _influences(
        watched, size / at_risk[watched.mark_place], drift, before
    )
    moved = np.bincount(watched.window_entry, psi_coming, rows)
    moved -= np.bincount(watched.window_exit, psi_going, rows)
    standing = np.cumsum(moved) - moved
    failing = np.bincount(watched.mark_place, size * psi_failing, rows)
    own = steps.squares - steps.total**2 / at_risk
    change = 2 * (failing - steps.rise * standing) / at_risk + own / at_risk**2
    return np.asarray(np.maximum(np.cumsum(change), 0.0), np.float64)


def _influences(
    watched: WatchedEvents, jump: FloatArray, drift: FloatArray, before: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """psi of the systems concerned: just before each mark, at each entry and at each exit.

    While a system is at risk psi falls with `drift`; so psi + drift is kept, which changes
    only at entries, marks and exits, in that order along a system's clock. A mark comes before
    an exit at the same clock value, and an entry after both.
    """
    rows, marks, windows = len(watched.clock), len(jump), len(watched.window_entry)
    system = np.concatenate([watched.mark_system, watched.window_system, watched.window_system])
    place = np.concatenate([watched.mark_place, watched.window_exit, watched.window_entry])
    kind = np.repeat([0, 1, 2], [marks, windows, windows])
    change = np.concatenate([jump, -drift[watched.window_exit], drift[watched.window_entry]])
    order = np.argsort((system * rows + place) * 3 + kind)
    summed = np.cumsum(change[order])
    start = np.searchsorted(system[order], np.arange(watched.n), side="left")
    held = summed - change[order]
    held -= held[start][system[order]]
    psi = np.empty_like(held)
    psi[order] = held
    at_mark, at_exit, at_entry = np.split(psi, [marks, marks + windows])
    return at_mark - before[watched.mark_place], at_entry, at_exit - drift[watched.window_exit]
