"""Small simulated workshops, and how often the limits of the *expected* curve hold their truth."""

from concurrent.futures import Executor
from dataclasses import dataclass

import numpy as np

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.capture.share import PART_PRIOR
from tests.lifetimes.visits.silence_grid import world
from tests.lifetimes.visits.workshop_estimate import AGES_KM, Judged
from tests.lifetimes.visits.workshop_world import World, workshop

SMALL, SMALL_WORKSHOPS, REPEATS = 1_000, 400, 200

FEW_SEEN = 10
"""Failures. Where fewer are expected to have been seen, limits of 95 % are limits of a small
whole number, and cannot hold the truth just so often."""

LARGE, STEP_KM = 50_000, 5_000

BELIEF = PART_PRIOR.mean
COVERAGE: list[tuple[World, float | None]] = [
    (world(1.0, 0.05, 1.0, 1.0, False), None),
    (world(1.0, 0.05, 1.0, 1.0, False), BELIEF),
    (world(1.0, 0.2, 2.0, 6.0, False), BELIEF),
    (world(0.9, 0.2, 1.0, 1.0, False), BELIEF),
    (world(0.75, 0.2, 1.0, 1.0, False), BELIEF),
    (world(0.75, 0.2, 1.0, 6.0, True), BELIEF),
    (world(0.75, 0.4, 0.5, 1.0, True), BELIEF),
    (world(0.6, 0.2, 2.0, 6.0, False), BELIEF),
    (world(0.5, 0.05, 0.5, 1.0, True), BELIEF),
    (world(0.5, 0.05, 0.5, 1.0, True), 0.5),
    (world(0.5, 0.2, 2.0, 6.0, False), BELIEF),
    (world(0.5, 0.2, 2.0, 6.0, False), 0.5),
]
"""Worlds, with the capture share held beforehand; None of a workshop that says it sees all."""

Task = tuple[World, float | None, int, tuple[float, ...]]


@dataclass(frozen=True, slots=True, eq=False)
class Held:
    """Whether limits hold the truth, shape (workshops, distances).

    Attributes
    ----------
    seen : array, shape (distances,)
        Failures expected to have been seen so far, of one workshop.
    looked_at : tuple of float
        Mean failures looked at again: repaired here, and found out.
    """

    ages_km: tuple[float, ...]
    truth: FloatArray
    seen: FloatArray
    shares: FloatArray
    looked_at: tuple[float, float]
    without_law: int

    @property
    def share(self) -> FloatArray:
        """In how many of the workshops the truth was held."""
        return np.asarray(self.truth.mean(axis=0), np.float64)


def held(task: Task) -> tuple[FloatArray, float, int, int] | None:
    """Of one small workshop: the same, the share found, and the failures that it rests on."""
    known, beforehand, seed, ages_km = task
    judged = Judged.of(known, SMALL, seed, held=beforehand)
    if judged is None or judged.share.value is None:
        return None
    records = judged.workshop
    covered = judged.covered(REPEATS, seed, ages_km).astype(float)
    return covered, judged.share.value, records.here, records.elsewhere


def failures_seen(known: World, ages_km: tuple[float, ...]) -> FloatArray:
    """Failures of a small workshop's vehicles expected to be seen by these distances."""
    lives = workshop(known, LARGE, np.random.default_rng(0)).lives
    at = np.sort(lives.exit[lives.failed])
    return np.searchsorted(at, ages_km, side="right") * SMALL / LARGE


def enough_seen_km(known: World) -> int:
    """The first distance by which enough failures are expected to be seen."""
    ages = tuple(float(km) for km in range(STEP_KM, AGES_KM[-1] + 1, STEP_KM))
    enough = np.flatnonzero(failures_seen(known, ages) >= FEW_SEEN)
    if enough.size == 0:
        raise LookupError(f"fewer than {FEW_SEEN} failures are ever seen in {known}")
    return int(ages[enough[0]])


def coverage(pool: Executor, known: World, beforehand: float | None) -> Held:
    """Many small workshops of one world; the last distance is where enough have failed."""
    ages = (*map(float, AGES_KM), float(enough_seen_km(known)))
    tasks: list[Task] = [(known, beforehand, seed, ages) for seed in range(SMALL_WORKSHOPS)]
    found = [each for each in pool.map(held, tasks) if each is not None]
    return Held(
        ages,
        np.stack([each[0] for each in found]),
        failures_seen(known, ages),
        np.array([each[1] for each in found]),
        (float(np.mean([each[2] for each in found])), float(np.mean([each[3] for each in found]))),
        len(tasks) - len(found),
    )
