"""What a silence means: is the vehicle still a customer, and when did it leave if not?"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.visits.input import VisitHistories
from garage.lifetimes.visits.law import VisitLaw
from garage.lifetimes.visits.silence_kernel import GapLaw, leaving_between

WITHDRAWAL_POINTS = 8
"""Times after the last visit among which a vehicle's chance to have left is shared out. Tried:
the share left by any time is within 1 / 16 of the chance to have left, which averages out over
vehicles. Judgement, no source."""

Unfailed = Callable[[FloatArray, slice], FloatArray]
"""Takes times after the last visit, shape (m, k), of the k vehicles in a slice of all; gives the
chances that their parts have not failed by then, from 0 to 1, up to a factor of each vehicle."""

CHUNK = 1_024
"""Vehicles worked on at once, so that the arrays over the nodes stay in the processor's cache;
tried from 128 to 4 096."""


@dataclass(frozen=True, slots=True, eq=False)
class ExpectedWithdrawals:
    """When each of `n` silent vehicles left, as shares at `p` times that count alike.

    Attributes
    ----------
    elapsed : array, shape (n, p)
        Times after the last visit, rising along a row and never beyond the watch.
    share_each : array, shape (n,)
        Share of the vehicle that leaves at each of its times.
    remaining : array, shape (n,)
        Share that is still a customer when the watch ends; ``p * share_each + remaining`` is 1.
    """

    elapsed: FloatArray
    share_each: FloatArray
    remaining: FloatArray


def still_customer(
    law: VisitLaw, known: VisitHistories, elapsed: ArrayLike | None = None
) -> FloatArray:
    """Chance that each vehicle was still a customer some time after its last visit.

    Parameters
    ----------
    law : VisitLaw
        Of these vehicles, or of others like them.
    known : VisitHistories
    elapsed : number or array, shape (n,), optional
        Time since the last visit, from 0 to the vehicle's silence; its end where not given.

    Returns
    -------
    array, shape (n,), from 0 to 1
        Given all that is known: the visits, and the silence up to the end of the watch. So it
        is 1 at the last visit, and what lies between was seen in the light of what followed.
        For the chance as it stood earlier, end the watch earlier.

    Raises
    ------
    ValueError
        A time below 0 or beyond the silence.

    Notes
    -----
    For random visits at the end of the watch: equation (11) of Schmittlein, Morrison and
    Colombo, Management Science 33(1), 1987 (from memory; values checked).

    Examples
    --------
    >>> law = VisitLaw(1.0, 0.0523, 0.553, 0.052, 0.606)
    >>> known = VisitHistories.from_sums([2, 1, 0], [30.43, 1.71, 0], [38.86, 38.86, 38.86])
    >>> still_customer(law, known).round(2).tolist()
    [0.87, 0.17, 0.3]
    """
    since = known.silence if elapsed is None else _times(known, elapsed, "elapsed")
    leaving, later, stayed = _chances(law, known, since)
    return _share(law, later + stayed, leaving + stayed)


def share_leaving_between(
    law: VisitLaw, known: VisitHistories, begin: ArrayLike, end: ArrayLike
) -> FloatArray:
    """Expected share of each vehicle that left between two times after its last visit.

    Parameters
    ----------
    law, known
        As for `still_customer`.
    begin, end : number or array, shape (n,)
        From 0 to the vehicle's silence, `begin` no later than `end`.

    Returns
    -------
    array, shape (n,), from 0 to 1
        The withdrawals of that stretch; with `still_customer` at the end they add up to 1 over
        stretches that cover the silence.

    Examples
    --------
    >>> law = VisitLaw(6.0, 1 / 365, 2.0, 0.2 / 365)
    >>> known = VisitHistories.from_sums([4], [1460], [2600], [4 * np.log(365)])
    >>> share_leaving_between(law, known, 0, [365]).round(2).tolist()
    [0.83]
    """
    first, last = _times(known, begin, "begin"), _times(known, end, "end")
    if np.any(last < first):
        raise ValueError("a stretch begins no later than it ends")
    return still_customer(law, known, first) - still_customer(law, known, last)


def expected_withdrawals(
    law: VisitLaw,
    known: VisitHistories,
    *,
    still_here: ArrayLike = 0.0,
    unfailed: Unfailed | None = None,
    points: int = WITHDRAWAL_POINTS,
) -> ExpectedWithdrawals:
    """Share out each vehicle's leaving over a few times after its last visit.

    A life at risk at the last visit is withdrawn by `share_each` at each of the times, turned
    into its own clock, and by `remaining` at the end of the watch.

    Parameters
    ----------
    law, known
        As for `still_customer`.
    still_here : number or array, shape (n,), optional
        Time after the last visit, from 0 to the vehicle's silence, at which the vehicle was
        here all the same: with a failure of the part in question, which is no visit of the
        model but shows a customer. Nothing is withdrawn before it.
    unfailed : callable, optional
        Chance that a life's part has not failed, by times after the last visit, from a first
        estimate of its survival; see `Unfailed`. A vehicle whose part ought to have failed, and
        that did not come with it, has more likely left. Where not given, the silence is judged
        by the visits alone.
    points : int
        Times a vehicle, 1 or more: the mid-points of as many equally likely stretches.

    Raises
    ------
    ValueError
        No points; a time outside the silence.

    Notes
    -----
    Judged by visits alone, too many old parts are kept at risk, and survival at high clock
    values comes out too high. In simulated workshops (200 thousand km, true survival 0.70,
    visits every two years, 40 % leaving a year) the error was 0.025, and 0.009 with the true
    survival as `unfailed`, standard errors 0.016. An estimate in its place needs one round; a
    third changed survival by less than 0.001. Each life of a vehicle is then a row of its own.
    `expected_table` weighs the times of leaving by the part's survival instead, which is as
    good, faster, and knows of repairs elsewhere; its shares are held against this integral.

    Examples
    --------
    >>> law = VisitLaw(1.0, 1 / 365, 2.0, 0.2 / 365)
    >>> known = VisitHistories.from_sums([4], [1460], [3000])
    >>> left = expected_withdrawals(law, known, points=2)
    >>> left.elapsed.round().tolist(), left.share_each.round(3).tolist()
    ([[97.0, 486.0]], [0.456])
    """
    if points < 1:
        raise ValueError(f"at least one time is needed; got {points}")
    since = _times(known, still_here, "still_here")
    n = known.repeats.size
    elapsed, remaining = np.empty((n, points)), np.empty(n)
    for first in range(0, n, CHUNK):
        here = slice(first, first + CHUNK)
        elapsed[here], remaining[here] = _leaving_times(
            law, known.part(here), since[here], points, _of_chunk(unfailed, here)
        )
    return ExpectedWithdrawals(elapsed, (1 - remaining) / points, remaining)


def _leaving_times(
    law: VisitLaw,
    known: VisitHistories,
    since: FloatArray,
    points: int,
    unfailed: Callable[[FloatArray], FloatArray],
) -> tuple[FloatArray, FloatArray]:
    silence = known.silence
    gap = GapLaw.after(law, known)
    times, weights, outlasts = gap.outlasting(since, silence)
    staying = np.exp(law.log_staying_further(known.last_visit, times))
    rate = law.leaving_rate_at(known.last_visit + times)
    masses = weights * staying * rate * outlasts * unfailed(times)
    left = masses.sum(axis=0)
    stayed = np.exp(law.log_staying_further(known.last_visit, silence)) * gap.outlasts(silence)
    stayed = stayed * unfailed(silence[None, :])[0]
    # Half of a node's mass lies before it, nearly: its weight is that of the ground around it.
    reached = np.cumsum(masses, axis=0) - masses / 2
    reached = np.concatenate([np.zeros((1, silence.size)), reached, left[None, :]])
    times = np.concatenate([since[None, :], times, silence[None, :]])
    columns = np.arange(silence.size)
    found = np.empty((silence.size, points))
    for point in range(points):
        goal = left * (point + 0.5) / points
        above = np.clip((reached < goal).sum(axis=0), 1, times.shape[0] - 1)
        low, high = reached[above - 1, columns], reached[above, columns]
        share = np.divide(goal - low, high - low, out=np.zeros_like(goal), where=high > low)
        begin, end = times[above - 1, columns], times[above, columns]
        found[:, point] = np.minimum(begin + share * (end - begin), silence)
    return found, _share(law, stayed, left + stayed)


def _chances(
    law: VisitLaw, known: VisitHistories, since: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Chances, silence included, to leave during it, to leave after `since`, and to stay."""
    silence = known.silence
    stayed = np.exp(law.log_staying_further(known.last_visit, silence))
    stayed = stayed * GapLaw.after(law, known).outlasts(silence)
    leaving, later = np.empty_like(silence), np.empty_like(silence)
    for first in range(0, silence.size, CHUNK):
        here = slice(first, first + CHUNK)
        part, end = known.part(here), silence[here]
        leaving[here] = leaving_between(law, part, np.zeros_like(end), end)
        later[here] = leaving_between(law, part, since[here], end)
    return leaving, np.minimum(later, leaving), np.asarray(stayed, np.float64)


def _of_chunk(unfailed: Unfailed | None, here: slice) -> Callable[[FloatArray], FloatArray]:
    if unfailed is None:
        return np.ones_like
    return lambda times: unfailed(times, here)


def _share(law: VisitLaw, part: FloatArray, whole: FloatArray) -> FloatArray:
    """Part of the whole; where a silence is so unlikely that both are 0, only leaving is left."""
    otherwise = np.full_like(whole, 1.0 if law.leaving_rate == 0 else 0.0)
    return np.divide(part, whole, out=otherwise, where=whole > 0)


def _times(known: VisitHistories, given: ArrayLike, name: str) -> FloatArray:
    times = np.broadcast_to(np.asarray(given, np.float64), known.silence.shape)
    wrong = ~((times >= 0) & (times <= known.silence))
    if np.any(wrong):
        index = int(np.argmax(wrong))
        raise ValueError(
            f"`{name}` lies between 0 and the silence, {known.silence[index]} at index {index}; "
            f"got {times[index]}"
        )
    return np.asarray(times, np.float64)
