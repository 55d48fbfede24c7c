"""Ends of lives on vehicles that were not read of late: drawn anew, for nobody knows them."""

from dataclasses import dataclass

import numpy as np

from garage.lifetimes.arrays import IntArray
from garage.lifetimes.usage.projection import ProjectedDistances


@dataclass(frozen=True, slots=True, eq=False)
class ProjectedExits:
    """Unfailed lives that go on for as far as their vehicles are thought to have gone.

    Attributes
    ----------
    life : int array, shape (m,)
        Their rows among all lives.
    vehicle : int array, shape (m,)
        The row of each one's vehicle in `since_read`.
    read_at : int array, shape (m,)
        The life's clock at the vehicle's last reading; below 0 for a part fitted after it.
    least : int array, shape (m,)
        Clock to which the life is known to have gone.
    since_read : ProjectedDistances
        Of the vehicles since their last readings.
    """

    life: IntArray
    vehicle: IntArray
    read_at: IntArray
    least: IntArray
    since_read: ProjectedDistances

    def __post_init__(self) -> None:
        shapes = {each.shape for each in (self.life, self.vehicle, self.read_at, self.least)}
        if len(shapes) != 1:
            raise ValueError(
                f"one row, vehicle, reading and least clock a projected life; got {shapes}"
            )

    def draw(self, rng: np.random.Generator) -> IntArray:
        """One possible end for each of these lives; lives of one vehicle share its distance.

        Examples
        --------
        >>> since = ProjectedDistances(*np.array([[12e3], [0.5], [5e3], [32e3]]), 0.95, 1, "ok", "")
        >>> rows = np.array([0, 1])
        >>> two = ProjectedExits(rows, np.zeros(2, int), np.array([0, 50_000]), rows, since)
        >>> first, second = two.draw(np.random.default_rng(1)).tolist()
        >>> second - first
        50000
        """
        gone = np.rint(self.since_read.draw(rng)[self.vehicle])
        return np.maximum(self.least, self.read_at + gone).astype(np.int64)
