"""The infinitesimal jackknife by brute force, a slow second way to a variance."""

from collections.abc import Callable

import numpy as np

STEP = 1e-6


def jackknife_variance(estimate: Callable[[np.ndarray], float], lives: int) -> float:
    """Sum over lives of the squared derivative of an estimate in each one's weight."""
    total = 0.0
    for life in range(lives):
        move = np.zeros(lives)
        move[life] = STEP
        total += ((estimate(1 + move) - estimate(1 - move)) / (2 * STEP)) ** 2
    return total
