"""Puts a risk table on a coarser clock without moving its curves at the edges of the bins."""

from dataclasses import dataclass

import numpy as np

from garage.lifetimes.arrays import BoolArray, FloatArray, IntArray
from garage.lifetimes.curves.steps import CurveSteps
from garage.lifetimes.life_rows import RiskRows
from garage.lifetimes.risk_table import RiskTable

SAME = 1e-9
"""Share by which two numbers may differ by rounding and still be taken as the same."""


def rebinned(table: RiskTable, step: int) -> RiskTable:
    """Give the same lives on a coarser clock, in bins of `step` clock units.

    The survival curve, and the cumulative incidence of each cause, are at the edge of every
    bin what they were on the fine clock. The unit stays; clock values become multiples of
    `step`, save in the rare bins of the last paragraph below.

    Parameters
    ----------
    table : RiskTable
        Any: delayed entry, fractional withdrawals, several causes, a capture share below 1.
    step : int
        Width of a bin in clock units, 1 or more. A bin holds what happens after its start up
        to and including its end.

    Returns
    -------
    RiskTable
        The same number of lives and failures by cause, and the same sum of withdrawals.

    Raises
    ------
    ValueError
        A step that is not a whole number of at least 1.

    Notes
    -----
    All failures of a bin stand at its end. What leaves or enters within the bin is placed
    at its start or at its end, and fractions of withdrawals may be split between the two,
    so that the number at risk in the bin is the one number Y with which a single step takes
    as much off the curve as all the fine steps did: Y = failures / (1 - product of (1 -
    failures / at risk)). Neither rounding (exits up and entries down count as at risk who
    were not) nor the actuarial half (each withdrawal counts one half) gives it; they are
    right to first order only, and only where withdrawals lie evenly in the bin. Among the
    placings that give Y the one is taken in which lives were watched for about as long as
    they were.

    Y lies between the least and the most that placing can give wherever all failures are
    seen. Lives that enter are whole, so where no withdrawal is there to split, *at risk* is
    the next whole number above Y, and *corrected* is raised by the same share (less than one
    part in Y). With a capture share below 1 Y may lie above what placing can give; then
    *corrected* is lowered, never below *failed*. A bin in which no placing reaches the curves
    keeps its fine rows: where the failures of one cause all came before lives entered, and
    those of another after (measured: one bin in a thousand with 300 lives and two causes).

    Numbers at risk become those of the bin, so judge small risk sets on the fine table. Tables
    are added first and put on a coarser clock last: the sum of two coarse tables is off by up
    to some parts in ten thousand. A law fitted to a coarse
    table takes its failures to have happened at the ends of their bins, half a step too late.

    Source: own derivation. The actuarial estimate it replaces: Cutler and Ederer, Journal of
    Chronic Diseases 8, 1958 (from memory).

    Examples
    --------
    Of ten, one fails at 20, two leave at 40 and one fails at 80: 1 of 10, then 1 of 7. One step
    of 2 of 8.75 takes the same 22.9 %, so 1.25 of the two that left are taken off at the start.

    >>> from garage.lifetimes.risk_table import LivesArrays
    >>> lives = LivesArrays([0] * 10, [20, 40, 40, 80] + [150] * 6, [1, 0, 0, 1] + [0] * 6)
    >>> coarse = rebinned(RiskTable.from_lives(lives, unit="km"), 100)
    >>> coarse.clock.tolist(), coarse.at_risk.round(2).tolist()
    ([0, 100, 200], [0.0, 8.75, 3.0])
    >>> coarse.withdrawn.round(2).tolist()
    [1.25, 3.75, 3.0]
    """
    if step != int(step) or step < 1:
        raise ValueError(f"a step is a whole number of clock units, 1 or more; got {step}")
    if step == 1 or table.n == 0:
        return table
    bins = _Bins.of(table, int(step))
    placed, entered_early, left_early, corrected = _placings(bins)
    rows = _rows(table, bins, placed)
    end = bins.end[placed]
    early, late = entered_early[placed], bins.entered[placed] - entered_early[placed]
    none = np.zeros((len(table.causes), len(end)))
    moved = RiskRows(
        clock=np.concatenate([np.asarray(rows.clock), end - step, end]),
        entered=np.concatenate([np.asarray(rows.entered), early, late]),
        failed=np.hstack([np.asarray(rows.failed), none.astype(np.int64), bins.failed[:, placed]]),
        withdrawn=np.concatenate(
            [np.asarray(rows.withdrawn), left_early[placed], (bins.withdrawn - left_early)[placed]]
        ),
        corrected=np.hstack([np.asarray(rows.corrected), none, corrected[:, placed]]),
    )
    return RiskTable.from_rows(moved, unit=table.unit, causes=table.causes)


@dataclass(frozen=True, slots=True, eq=False)
class _Bins:
    """What happens in each bin that holds anything after clock 0.

    entered, withdrawn: strictly inside; what happens on the end itself needs no placing.
    entered_time, withdrawn_time: the same, each counted by the share of the bin left to it.
    hazard: by cause, the share of those alive at the start that the fine steps took.
    broken: the curve came to 0 before the last of the bin's failures.
    """

    end: IntArray
    at_start: FloatArray
    entered: IntArray
    entered_time: FloatArray
    withdrawn: FloatArray
    withdrawn_time: FloatArray
    failed: IntArray
    corrected: FloatArray
    hazard: FloatArray
    broken: BoolArray
    place: IntArray
    inside: BoolArray

    @classmethod
    def of(cls, table: RiskTable, step: int) -> "_Bins":
        later = table.clock > 0
        clock = table.clock[later]
        number, place = np.unique(-(-clock // step), return_inverse=True)
        end, count = number * step, len(number)
        inside = clock < end[place]
        left = np.where(inside, (end[place] - clock) / step, 0.0)
        entered = np.where(inside, table.entered[later], 0)
        withdrawn = np.where(inside, table.withdrawn[later], 0.0)
        inner = np.stack([entered, entered * left, withdrawn, withdrawn * left])
        sums = _by_bin(inner, place, count)
        hazard, broken = _hazards(table, end)
        return cls(
            end=end,
            at_start=table.at_risk_at(end - step + 1),
            entered=sums[0].astype(np.int64),
            entered_time=sums[1],
            withdrawn=sums[2],
            withdrawn_time=sums[3],
            failed=_by_bin(table.failed[:, later], place, count).astype(np.int64),
            corrected=_by_bin(table.corrected[:, later], place, count),
            hazard=hazard,
            broken=broken,
            place=place,
            inside=inside,
        )


def _by_bin(counts: FloatArray | IntArray, place: IntArray, bins: int) -> FloatArray:
    summed: FloatArray = np.asarray([np.bincount(place, each, bins) for each in counts], np.float64)
    return summed


def _hazards(table: RiskTable, end: IntArray) -> tuple[FloatArray, BoolArray]:
    """Share of those alive at each bin's start that failed within it, by cause."""
    steps = CurveSteps.from_table(table)
    hazard, broken = np.zeros((len(table.causes), len(end))), np.zeros(len(end), bool)
    later = steps.clock > 0
    if not np.any(later):
        return hazard, broken
    place = np.searchsorted(end, steps.clock[later])
    total, of_cause = steps.total_hazard[later], steps.hazard[:, later]
    all_failed = total >= 1
    stays = np.log1p(-np.where(all_failed, 0.0, total))
    before = np.cumsum(stays) - stays
    first = np.searchsorted(place, place)
    alive = np.exp(before - before[first])
    last = np.append(place[1:] != place[:-1], True)
    broken[place[all_failed & ~last]] = True
    return _by_bin(of_cause * alive, place, len(end)), broken


def _placings(bins: _Bins) -> tuple[BoolArray, IntArray, FloatArray, FloatArray]:
    """Which bins can be placed; who enters and who leaves at their start; corrected."""
    failing = bins.failed.sum(axis=0) > 0
    took = bins.hazard.sum(axis=0)
    with np.errstate(divide="ignore", invalid="ignore"):
        least = np.where(bins.failed > 0, bins.failed / bins.hazard, 0.0).max(axis=0)
        ideal = np.where(failing, bins.corrected.sum(axis=0) / took, 0.0)
    most = bins.at_start + bins.entered
    wanted = np.minimum(np.maximum(ideal, least), most)
    left_early = bins.withdrawn_time
    short = np.where(failing, wanted - bins.at_start + left_early, bins.entered_time)
    entered_early = np.clip(np.ceil(short - SAME), 0, bins.entered).astype(np.int64)
    left_early = np.where(
        failing, np.clip(bins.at_start + entered_early - wanted, 0, bins.withdrawn), left_early
    )
    at_risk = bins.at_start + entered_early - left_early
    corrected = at_risk * bins.hazard
    # What differs by rounding alone is the count itself.
    same = np.abs(corrected - bins.corrected) <= SAME * bins.corrected
    corrected = np.where(same, bins.corrected, np.maximum(corrected, 0.0))
    reached = ~bins.broken & (at_risk >= least * (1 - SAME))
    return reached, entered_early, left_early, corrected


def _rows(table: RiskTable, bins: _Bins, placed: BoolArray) -> RiskRows:
    """The rows that stay where they are: on edges, before the first bin, in bins not placed."""
    later = table.clock > 0
    keeps = np.ones(len(later), bool)
    keeps[later] = ~placed[bins.place] | ~bins.inside
    keeps_failures = np.ones(len(later), bool)
    keeps_failures[later] = ~placed[bins.place]
    return RiskRows(
        clock=table.clock,
        entered=np.where(keeps, table.entered, 0),
        failed=np.where(keeps_failures, table.failed, 0),
        withdrawn=np.where(keeps, table.withdrawn, 0.0),
        corrected=np.where(keeps_failures, table.corrected, 0.0),
    )
