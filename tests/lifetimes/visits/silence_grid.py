"""The grid of simulated workshops on which the *expected* curve is tried, cell by cell."""

import itertools
from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace

import numpy as np

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.capture.share import PART_PRIOR
from garage.lifetimes.visits.law import VisitLaw
from tests.lifetimes.visits.workshop_estimate import Judged
from tests.lifetimes.visits.workshop_world import World

VEHICLES, WORKSHOPS = 10_000, 16

USUAL = World(VisitLaw(1.0, 1.0, 2.0, 0.2, 1.5), capture=0.75)


def world(capture: float, leaving: float, rate: float, regularity: float, late: bool) -> World:
    """A cell of the grid; the part is looked at on fewer visits where they are many."""
    looks = {0.5: 0.3, 1.0: 0.2, 2.0: 0.1}[rate]
    law = VisitLaw(regularity, rate, 2.0, leaving, 1.5)
    return World(law, capture=capture, look_share=looks, late=late)


GRID = [
    world(*cell)
    for cell in itertools.product(
        (0.5, 0.75, 1.0), (0.05, 0.2, 0.4), (0.5, 1.0, 2.0), (1.0, 6.0), (False, True)
    )
]
STAY_AWAY = list(itertools.product((0.0, 0.3, 0.5), (0.0, 0.3, 0.5)))
BROKEN = [
    ("as assumed", USUAL),
    ("visits half as frequent after a trouble", replace(USUAL, after_trouble=0.5)),
    ("visits a fifth as frequent after a trouble", replace(USUAL, after_trouble=0.2)),
    ("a campaign brought all back a year before the end", replace(USUAL, campaign=1.0)),
    ("a campaign brought all back four years before the end", replace(USUAL, campaign=4.0)),
]


@dataclass(frozen=True, slots=True, eq=False)
class Cell:
    """Errors of the curves in workshops of one world, shape (workshops, ages)."""

    expected: FloatArray
    seen: FloatArray
    presumed: FloatArray
    shares: FloatArray
    failed: float

    @property
    def bias(self) -> FloatArray:
        return np.nanmean(self.expected, axis=0)

    @property
    def error(self) -> FloatArray:
        return np.nanstd(self.expected, axis=0, ddof=1) / np.sqrt(len(self.expected))


Task = tuple[World, int, float | None]


def errors(task: Task) -> tuple[FloatArray, float, int] | None:
    """Expected, seen and presumed less the curve of one who knows all; share; failures."""
    known, seed, stated = task
    beforehand = None if known.capture == 1 else PART_PRIOR.mean
    judged = Judged.of(known, VEHICLES, seed, stated, beforehand)
    if judged is None:
        return None
    best = judged.heights(judged.all_known())
    tables = (judged.expected(), judged.seen(), judged.presumed())
    off = np.stack([judged.heights(table) - best for table in tables])
    return off, judged.share.value or 1.0, tables[0].failed_total


def cells(pool: Executor, worlds: Sequence[tuple[World, float | None]]) -> list[Cell]:
    tasks = [(each, seed, stated) for each, stated in worlds for seed in range(WORKSHOPS)]
    found = list(pool.map(errors, tasks, chunksize=1))
    made = []
    for place in range(len(worlds)):
        mine = found[place * WORKSHOPS : (place + 1) * WORKSHOPS]
        told = [each for each in mine if each is not None]
        off = np.stack([each[0] for each in told])
        made.append(
            Cell(
                off[:, 0],
                off[:, 1],
                off[:, 2],
                np.array([each[1] for each in told]),
                float(np.mean([each[2] for each in told])),
            )
        )
    return made
