"""Lives to measure on: kilometres in whole numbers, a third of them watched late."""

from dataclasses import dataclass
from pathlib import Path
from typing import Self

import numpy as np
from numpy.typing import NDArray

GROUPS = 3


@dataclass(frozen=True)
class BenchmarkLives:
    """Arrays of int32, shape (n,): at risk on (entry, exit], failed 0 or 1, group 0 to 2."""

    entry: NDArray[np.int32]
    exit: NDArray[np.int32]
    failed: NDArray[np.int32]
    group: NDArray[np.int32]

    @classmethod
    def make(cls, n: int, seed: int = 1) -> Self:
        """Weibull lives of about 300 000 km, a good half unfailed when last seen."""
        rng = np.random.default_rng(seed)
        entry = np.where(rng.random(n) < 1 / 3, rng.uniform(0, 150_000, n), 0.0)
        group = rng.integers(0, GROUPS, n)
        scale = np.array([280_000.0, 300_000.0, 310_000.0])[group]
        # A life that is watched from `entry` on has survived to there.
        life = scale * ((entry / scale) ** 2.5 + rng.exponential(size=n)) ** (1 / 2.5)
        left = entry + rng.uniform(1_000, 300_000, n)
        failed = life < left
        begin = np.floor(entry)
        end = np.maximum(np.ceil(np.minimum(life, left)), begin + 1)
        return cls(*(np.asarray(each, np.int32) for each in (begin, end, failed, group)))

    def write(self, folder: Path) -> None:
        """One file of bare numbers a column, which every program reads."""
        for name in ("entry", "exit", "failed", "group"):
            getattr(self, name).tofile(folder / name)

    @classmethod
    def read(cls, folder: Path) -> Self:
        """What `write` wrote."""
        names = ("entry", "exit", "failed", "group")
        return cls(*(np.fromfile(folder / name, np.int32) for name in names))
