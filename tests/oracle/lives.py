"""Invented lives with all that makes estimates differ: ties, late entry, causes, vehicles."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.int64]


@dataclass(frozen=True)
class MadeLives:
    """Lives one by one: at risk on (entry, exit]; cause 0 is unfailed."""

    entry: Array
    exit: Array
    cause: Array
    group: Array
    vehicle: Array
    load: NDArray[np.float64]

    @property
    def failed(self) -> Array:
        return np.asarray(self.cause > 0, np.int64)

    def frame(self) -> dict[str, NDArray[np.float64] | Array]:
        """Columns for another program."""
        return {
            "entry": self.entry,
            "exit": self.exit,
            "cause": self.cause,
            "failed": self.failed,
            "group": self.group,
            "vehicle": self.vehicle,
            "load": self.load,
        }


def lives_with_everything(n: int, seed: int, *, step: int = 5) -> MadeLives:
    """About a quarter enter late; clocks are multiples of `step`, so that many tie."""
    rng = np.random.default_rng(seed)
    vehicle = rng.integers(0, max(n // 3, 1), 4 * n)
    group = vehicle % 3
    load = rng.normal(size=vehicle.size).round(2)
    scale = np.array([200.0, 240.0, 280.0])[group] * np.exp(-0.3 * load / 2)
    wear = scale * rng.weibull(2.0, vehicle.size)
    other = 600.0 * rng.exponential(size=vehicle.size)
    left = rng.uniform(50, 400, vehicle.size)
    entry = np.where(rng.random(vehicle.size) < 0.25, rng.uniform(0, 200, vehicle.size), 0.0)
    end = np.minimum(np.minimum(wear, other), left)
    cause = np.where(end == left, 0, np.where(wear < other, 1, 2))
    begin, stop = (np.ceil(each / step).astype(np.int64) * step for each in (entry, end))
    watched = np.flatnonzero(stop > begin)[:n]
    return MadeLives(
        begin[watched],
        stop[watched],
        cause[watched],
        group[watched],
        vehicle[watched],
        load[watched],
    )
