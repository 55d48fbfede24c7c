"""Systems with unequal failure rates, for the tests of repeated failures."""

from dataclasses import dataclass

import numpy as np

from garage.lifetimes.curves.recurrent_events import RecurrentEvents


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
