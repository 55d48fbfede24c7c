"""The search for the most likely risk of failing in each set, with proof that it was found."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import splu

from garage.lifetimes.arrays import BoolArray, FloatArray, IntArray
from garage.lifetimes.curves.interval_sets import CandidateSets, counted_over

GAP_SOUGHT = 1e-11
"""Log-likelihood for each life; the search ends when no other curve can be likelier by more.
Judgement, no source: masses are then good to about six digits."""

NEWTON_STEPS = 200
PIVOTS = 300
"""Most steps before the search gives up; hard cases of 10 000 lives take under 20, with two
or three pivots in each. Judgement, no source."""

STALLED_STEPS = 8
"""Steps whose promised rise is lost in rounding, before the search ends with the best gap it
met. Judgement, no source; one or two are usual."""

HEIGHT_ROUNDING = 1e-13
"""Share of the log-likelihood; what its long sum may miss by rounding."""

VERGE = 1e-7
"""Share of the lives that outlived a set; how far below 0 its slope may be and count as 0.
Judgement, no source: far above rounding, far below a slope that is seen to bind."""

NOBODY = 1e-12
"""Share of all lives; a sum of fractions that ought to be 0 may miss it by rounding."""

RIDGE = 1e-12
"""Share of a curvature that is added to it, so that equations with more than one answer have
one; far below any curvature that matters. Judgement, no source."""


@dataclass(frozen=True, slots=True, eq=False)
class HazardFit:
    """The most likely cumulative hazard of each set.

    Attributes
    ----------
    hazard : array, shape (m,)
        -log of the share that outlives the set among those that reach it; inf where nobody
        is known to have outlived it.
    touched : array of bool, shape (m,)
        Sets whose hazard could change without loss to first order: those above 0, and those
        on the verge of it.
    log_likelihood : float
    gap : float
        What any other curve could add to the log-likelihood at the most.
    steps : int
    """

    hazard: FloatArray
    touched: BoolArray
    log_likelihood: float
    gap: float
    steps: int


@dataclass(frozen=True, eq=False)
class _Problem:
    """Find hazards >= 0 with the greatest  sum w log(1 - exp(-their sum over a row)) - cost.

    Concave; each row is a run of neighbouring sets, so its curvature is that of a network in
    which a row joins the ends of its run.
    """

    cost: FloatArray
    first: IntArray
    beyond: IntArray
    weight: FloatArray

    @property
    def size(self) -> int:
        return len(self.cost)

    @cached_property
    def _single(self) -> BoolArray:
        """Rows of one set; taken apart, for a difference of long sums loses small hazards."""
        return np.asarray(self.beyond - self.first == 1)

    def over_rows(self, values: FloatArray) -> FloatArray:
        sums = np.concatenate([[0.0], np.cumsum(values)])
        runs = sums[self.beyond] - sums[self.first]
        return np.where(self._single, values[self.first], runs)

    def over_sets(self, values: FloatArray) -> FloatArray:
        one, more = self._single, ~self._single
        runs = counted_over(self.first[more], self.beyond[more], values[more], self.size)
        return runs + np.bincount(self.first[one], values[one], self.size)

    def height(self, hazard: FloatArray) -> float:
        reach = self.over_rows(hazard)
        if np.any(reach <= 0):
            return -np.inf
        return float(self.weight @ np.log(-np.expm1(-reach)) - self.cost @ hazard)

    def gap(self, hazard: FloatArray) -> float:
        """Height of the dual problem above this one: no hazards can be better by more.

        For any y > 0 whose sums over rows stay within the costs, the greatest height is at
        most  sum w log(w / (w + y)) + y log(y / (w + y)). The slopes at the best hazards are
        such a y; elsewhere each is shrunk as its most overdrawn set asks.
        """
        odds = 1 / np.expm1(self.over_rows(hazard))
        pull = self.over_sets(self.weight * odds)
        over = pull > self.cost
        shares = np.where(over, self.cost / np.where(over, pull, 1.0), 1.0)
        shrunk = _least_over_runs(shares, self.first, self.beyond)
        slopes = shrunk * self.weight * odds
        lost = self.weight @ np.log1p((1 - shrunk) * odds / (1 + shrunk * odds))
        gap = self.cost @ hazard - slopes @ np.log1p(self.weight / slopes) + lost
        # Never below 0 but for rounding.
        return max(float(gap), 0.0)


def _least_over_runs(values: FloatArray, first: IntArray, beyond: IntArray) -> FloatArray:
    """The least of values[first] ... values[beyond - 1] for each pair, by doubled stretches."""
    least = np.ones(len(first))
    length, level = beyond - first, values
    for power in range(len(values).bit_length()):
        mine = (length >> power) == 1
        ends = beyond[mine] - (1 << power)
        least[mine] = np.minimum(level[first[mine]], level[ends])
        level = np.minimum(level[: -(1 << power)], level[1 << power :])
    return least


def most_likely(sets: CandidateSets, tilt: FloatArray | None = None) -> HazardFit:
    """Find the hazards under which what was seen is most likely.

    Parameters
    ----------
    sets : CandidateSets
    tilt : array, shape (m,), optional
        Subtracted from the number that outlived each set; 0 where left out. The answer is
        then the likeliest one among all with the same sum of tilt x hazard. Where it is above
        0 it must stay below ``sets.outlived``.

    Notes
    -----
    With the hazard of each set as unknown, the log-likelihood is concave, late entry or not,
    because a life's entry never lies beyond its `left`: it is a sum of -hazard over the sets
    that each life outlived and of log(1 - exp(-hazard)) over those it may have failed in.
    It is climbed by constrained Newton steps on the sets that have hazard, to which the
    steepest set between each two is added (after Wang, Computational Statistics & Data
    Analysis 52 (2008) 2388-2402, from memory, who does so with masses); a step is a quadratic
    problem, solved by block pivoting (Portugal, Judice and Vicente, Mathematics of
    Computation 63 (1994) 625-643, from memory). The end is proved by the dual problem.
    """
    outlived = np.where(sets.outlived <= NOBODY * sets.weight.sum(), 0.0, sets.outlived)
    cost = outlived if tilt is None else outlived - tilt
    rows = ~sets.unfailed
    first, beyond, weight = sets.first[rows], sets.beyond[rows], sets.weight[rows]
    covered = counted_over(first, beyond, np.ones(len(first)), sets.size) > 0.5
    without_end = covered & (cost <= 0)
    kept = covered & (cost > 0)
    # Whoever may have failed where nobody outlived did so there, for certain.
    ended = np.concatenate([[0], np.cumsum(without_end)])
    open_rows = ended[first] == ended[beyond]
    place = np.concatenate([[0], np.cumsum(kept)])
    first, beyond, weight = (each[open_rows] for each in (first, beyond, weight))
    problem = _Problem(cost[kept], place[first], place[beyond], weight)
    found, steps = _climb(problem)
    hazard = np.where(without_end, np.inf, 0.0)
    hazard[kept] = found
    touched = np.zeros(sets.size, bool)
    touched[kept] = (found > 0) | (_slope(problem, found) > -VERGE * problem.cost)
    likeness = weight @ np.log(-np.expm1(-problem.over_rows(found)))
    likeness -= outlived[kept] @ found
    return HazardFit(hazard, touched, float(likeness), problem.gap(found), steps)


def _climb(problem: _Problem) -> tuple[FloatArray, int]:
    hazard = best = _start(problem)
    enough = GAP_SOUGHT * max(float(problem.weight.sum()), NOBODY)
    least, stalled = np.inf, 0
    for step in range(NEWTON_STEPS):
        gap = problem.gap(hazard)
        if gap < least:
            least, best = gap, hazard
        if gap <= enough or stalled > STALLED_STEPS:
            return best, step
        reach = problem.over_rows(hazard)
        slope = _slope(problem, hazard)
        pull = problem.weight / np.expm1(reach)
        bend = pull * (1 + pull / problem.weight)
        goal = slope + problem.over_sets(bend * reach)
        used = (hazard > 0) | _steepest_between(hazard > 0, slope)
        change = _best_quadratic(problem, bend, goal, used) - hazard
        promised = float(slope @ change)
        moved = _along(problem, hazard, change, promised)
        if moved is None:
            return best, step
        # Where the height can no longer tell steps apart, only a few more may help the gap.
        stalled += promised < HEIGHT_ROUNDING * abs(problem.height(hazard))
        hazard = moved
    return (hazard if problem.gap(hazard) < least else best), NEWTON_STEPS


def _slope(problem: _Problem, hazard: FloatArray) -> FloatArray:
    reach = problem.over_rows(hazard)
    return problem.over_sets(problem.weight / np.expm1(reach)) - problem.cost


def _start(problem: _Problem) -> FloatArray:
    """As few sets as reach every row, each failure shared evenly among those of its row."""
    used = np.zeros(problem.size, bool)
    used[problem.first[problem.beyond - problem.first == 1]] = True
    last = -1
    for row in np.argsort(problem.beyond, kind="stable"):
        begin, end = int(problem.first[row]), int(problem.beyond[row])
        if begin > last and not used[begin:end].any():
            last = end - 1
            used[last] = True
    count = np.concatenate([[0], np.cumsum(used)])
    share = problem.weight / (count[problem.beyond] - count[problem.first])
    return np.where(used, np.log1p(problem.over_sets(share) / problem.cost), 0.0)


def _steepest_between(used: BoolArray, slope: FloatArray) -> BoolArray:
    """Of the unused sets between each two used ones, the one with most to gain."""
    stretch = np.cumsum(used)
    gain = np.where(used, 0.0, np.maximum(slope, 0.0))
    best = np.zeros(int(stretch[-1]) + 1 if len(stretch) else 1)
    np.maximum.at(best, stretch, gain)
    return np.asarray((gain > 0) & (gain == best[stretch]))


def _along(
    problem: _Problem, hazard: FloatArray, change: FloatArray, promised: float
) -> FloatArray | None:
    """Go as far along a change as the height keeps a ten-thousandth of the promised rise."""
    height, part = problem.height(hazard), 1.0
    rounding = HEIGHT_ROUNDING * abs(height)
    while part > 1e-10:
        moved = np.maximum(hazard + part * change, 0.0)
        if problem.height(moved) >= height + 1e-4 * part * promised - rounding:
            return moved
        part /= 2
    return None


def _best_quadratic(
    problem: _Problem, bend: FloatArray, goal: FloatArray, used: BoolArray
) -> FloatArray:
    """Hazards >= 0 on the used sets with the greatest goal - curvature / 2."""
    free, fewest, patience = used.copy(), problem.size + 1, 10
    ridge = RIDGE * problem.over_sets(bend)
    slack = 1e-9 * np.abs(goal)
    found = np.zeros(problem.size)
    for _ in range(PIVOTS):
        found = _free_quadratic(problem, bend, goal, (free, ridge))
        rise = goal - problem.over_sets(bend * problem.over_rows(found))
        wrong = (free & (found < 0)) | (used & ~free & (rise > slack))
        count = int(wrong.sum())
        if count == 0:
            break
        if count < fewest:
            fewest, patience = count, 10
        else:
            patience -= 1
        if patience > 0:
            free = free ^ wrong
        else:
            # One at a time cannot go round in circles, where all at once may.
            last = int(np.flatnonzero(wrong)[-1])
            free[last] = not free[last]
    return np.maximum(found, 0.0)


def _free_quadratic(
    problem: _Problem, bend: FloatArray, goal: FloatArray, sets: tuple[BoolArray, FloatArray]
) -> FloatArray:
    """The same with the free sets unbounded and the others at 0: one system of equations.

    Unknown are the sums of hazard up to each set; in these the matrix is that of a network.
    """
    free, ridge = sets
    size = int(free.sum())
    place = np.concatenate([[0], np.cumsum(free)])
    tail, head = place[problem.first], place[problem.beyond]
    ends = np.arange(size)
    tail, head = np.concatenate([tail, ends]), np.concatenate([head, ends + 1])
    strength = np.concatenate([bend, ridge[free]])
    wanted = -np.diff(np.concatenate([goal[free], [0.0]]))
    found = np.zeros(problem.size)
    if size == 0:
        return found
    rows = np.concatenate([tail, head, tail, head])
    columns = np.concatenate([head, tail, tail, head])
    values = np.concatenate([-strength, -strength, strength, strength])
    network = coo_matrix((values, (rows, columns)), shape=(size + 1, size + 1)).tocsc()
    # Symmetric and positive: no exchange of rows is needed, and so few places fill up.
    factors = splu(
        network[1:, 1:],
        permc_spec="MMD_AT_PLUS_A",
        diag_pivot_thresh=0.0,
        options={"SymmetricMode": True},
    )
    sums = factors.solve(wanted)
    found[free] = np.diff(np.concatenate([[0.0], sums]))
    return found
