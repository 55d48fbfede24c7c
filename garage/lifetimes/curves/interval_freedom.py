"""How far the cumulative hazard may move without the lives becoming any less likely."""

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.curves.interval_search import HazardFit
from garage.lifetimes.curves.interval_sets import CandidateSets


def hazard_range(
    sets: CandidateSets, fit: HazardFit, start: int = 0
) -> tuple[FloatArray, FloatArray]:
    """Least and greatest cumulative hazard of all equally likely curves.

    Parameters
    ----------
    sets, fit
        The sets, and the most likely hazards on them.
    start : int
        Number of the set at which the hazard is counted from 0.

    Returns
    -------
    least, greatest : arrays, shape (m + 1,)
        Cumulative hazard before each set and after the last; beyond a set without end, of
        those who would be watched from there on.

    Notes
    -----
    All most likely curves agree on the hazard over each run of sets that a life may have
    failed in. So the places between sets fall into groups that a run joins, and only whole
    groups can move against each other, as far as no hazard falls below 0. How far is a
    problem of shortest paths. Where all lives were watched from the start there is one group
    alone (Gentleman and Vandal, Journal of Computational and Graphical Statistics 10 (2001)
    403-421, from memory, and a property test).
    """
    finite = np.where(np.isfinite(fit.hazard), fit.hazard, 0.0)
    sums = np.concatenate([[0.0], np.cumsum(finite)])
    sums = sums - sums[start]
    touched = fit.touched
    place = np.concatenate([[0], np.cumsum(touched)])
    ended = np.concatenate([[0], np.cumsum(~np.isfinite(fit.hazard))])
    rows = ~sets.unfailed & (ended[sets.first] == ended[sets.beyond])
    tail, head = place[sets.first[rows]], place[sets.beyond[rows]]
    size = int(place[-1]) + 1
    joined = coo_matrix((np.ones(len(tail)), (tail, head)), shape=(size, size))
    groups, group = connected_components(joined, directed=False)
    if groups == 1:
        return sums, sums
    # A group moves up by no more than the next one does and the hazard between them.
    below, above, room = group[:-1], group[1:], finite[touched]
    origin = int(group[place[start]])
    up, down = np.full(groups, np.inf), np.full(groups, np.inf)
    up[origin] = down[origin] = 0.0
    for _ in range(groups):
        np.minimum.at(up, below, up[above] + room)
        np.minimum.at(down, above, down[below] + room)
    moved = group[place]
    return sums - down[moved], sums + up[moved]
