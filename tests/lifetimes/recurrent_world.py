"""Systems that fail repeatedly: published, made by hand, and drawn with unequal rates."""

from dataclasses import dataclass

import numpy as np

from garage.lifetimes.curves.recurrent_events import RecurrentEvents
from tests.lifetimes.conftest import Rows

WINDOWS = [
    (1, 0, 4), (1, 4, 9), (1, 9, 16), (1, 20, 30), (2, 0, 6), (2, 6, 10), (2, 15, 28),
    (3, 3, 12), (3, 12, 22), (4, 0, 9), (4, 9, 14), (4, 14, 26), (5, 5, 24), (6, 0, 11),
    (6, 11, 19), (7, 0, 4), (7, 4, 18), (7, 25, 33), (8, 2, 9), (8, 9, 31),
]  # fmt: skip
FAILED = [1, 1, 0, 1, 1, 0, 1, 1, 0, 1, 1, 0, 0, 1, 0, 1, 0, 1, 1, 0]


@dataclass(frozen=True)
class Fleet:
    """Failures come at `rate` a thousand km on average, gamma distributed between systems."""

    systems: int = 80
    rate: float = 0.02
    frailty_shape: float = 1.0
    longest: int = 200
    latest_entry: int = 60

    def drawn(self, rng: np.random.Generator) -> RecurrentEvents:
        """One draw; half of the systems from 0 on, the others from a later clock value on."""
        entry = np.where(
            rng.random(self.systems) < 0.5, 0, rng.integers(0, self.latest_entry, self.systems)
        )
        exit_ = rng.integers(self.latest_entry + 10, self.longest, self.systems)
        shape = self.frailty_shape
        rates = self.rate * rng.gamma(shape, 1 / shape, self.systems)
        counts = rng.poisson(rates * (exit_ - entry))
        who = np.repeat(np.arange(self.systems), counts)
        when = np.ceil(entry[who] + rng.random(len(who)) * (exit_ - entry)[who])
        when = np.clip(when, entry[who] + 1, exit_[who])
        return RecurrentEvents(np.arange(self.systems), entry, exit_, who, when, "thousand km")


def windowed() -> RecurrentEvents:
    """Eight systems with windows that touch or leave gaps, late entry, ties."""
    failed = [window for window, e in zip(WINDOWS, FAILED, strict=True) if e]
    return RecurrentEvents(
        system=[each[0] for each in WINDOWS],
        entry=[each[1] for each in WINDOWS],
        exit=[each[2] for each in WINDOWS],
        event_system=[each[0] for each in failed],
        event_clock=[each[2] for each in failed],
        unit="thousand km",
    )


def bus_engines(rows: Rows, group: str) -> RecurrentEvents:
    """Engine replacements of one group of city buses, on the odometer (Rust 1987)."""
    rows = [each for each in rows if each["g"] == group]
    failed = [each for each in rows if each["e"] == "1"]
    return RecurrentEvents(
        system=[each["id"] for each in rows],
        entry=[int(each["t1"]) for each in rows],
        exit=[int(each["t2"]) for each in rows],
        event_system=[each["id"] for each in failed],
        event_clock=[int(each["t2"]) for each in failed],
        unit="miles",
    )
