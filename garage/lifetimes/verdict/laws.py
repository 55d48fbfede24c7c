"""Weibull laws of the fault mixture: the weighted maximum under a belief about shape and scale."""

from dataclasses import dataclass

import numpy as np

from garage.lifetimes.arrays import BoolArray, FloatArray, IntArray

# Lives are counted in this many km inside the fit, so that powers of them stay near 1.
REFERENCE_KM = 100_000.0

# Safeguarded Newton steps on the log shape; from a neighbouring start two or three are enough.
LARGEST_STEPS = 30
STEP_TOLERANCE = 1e-7
# Shapes outside are no part's life; the bounds only stop a first step from running away.
SHAPE_RANGE = (0.2, 15.0)


@dataclass(frozen=True)
class LawLives:
    """Lives as the likelihood reads them: logs of (exit, entry) in reference km, one row a life."""

    log_exit: FloatArray
    log_entry: FloatArray  # 0.0 where `delayed` is 0
    delayed: FloatArray  # 1.0 where the life was watched only from an age above 0
    failed: FloatArray

    @classmethod
    def from_km(cls, entry_km: FloatArray, exit_km: FloatArray, failed: BoolArray) -> "LawLives":
        """Take logs once; the fit needs nothing else of the distances."""
        delayed = entry_km > 0.0
        return cls(
            log_exit=np.log(exit_km / REFERENCE_KM),
            log_entry=np.log(np.where(delayed, entry_km, REFERENCE_KM) / REFERENCE_KM),
            delayed=delayed.astype(np.float64),
            failed=failed.astype(np.float64),
        )

    def rows(self, chosen: IntArray) -> "LawLives":
        """The lives of these row numbers."""
        return LawLives(
            self.log_exit[chosen],
            self.log_entry[chosen],
            self.delayed[chosen],
            self.failed[chosen],
        )

    def power_gain(self, shape: FloatArray | float) -> FloatArray:
        """exit**shape - entry**shape, the hazard's growth under unit scale."""
        return np.exp(shape * self.log_exit) - self.delayed * np.exp(shape * self.log_entry)


@dataclass(frozen=True)
class LawBelief:
    """What is held before any life is seen: a log-normal shape, pseudo-failures for the scale."""

    shape: float
    shape_log_sd: float
    pseudo_log_km: FloatArray  # logs of lives in reference km
    pseudo_weight: float  # failures that each of them counts for

    @property
    def pseudo_failures(self) -> float:
        return self.pseudo_weight * self.pseudo_log_km.size


@dataclass(frozen=True)
class Law:
    """A Weibull law in the fit's own terms: shape and the log of the scale in reference km."""

    shape: float
    log_scale: float

    def log_belief(self, belief: LawBelief) -> float:
        """Log of the prior density at this law, up to a constant."""
        distance = (np.log(self.shape) - np.log(belief.shape)) / belief.shape_log_sd
        standardised = belief.pseudo_log_km - self.log_scale
        pseudo = (
            np.log(self.shape)
            - self.log_scale
            + (self.shape - 1.0) * standardised
            - np.exp(self.shape * standardised)
        )
        return float(-0.5 * distance**2 + belief.pseudo_weight * pseudo.sum())


def spread_pseudo_lives(shape: float, scale_km: float, failures: float) -> tuple[FloatArray, float]:
    """Four quantiles of a Weibull law, logs in reference km, and the weight of each of them."""
    chances = np.array([0.125, 0.375, 0.625, 0.875])
    lives_km = scale_km * (-np.log1p(-chances)) ** (1.0 / shape)
    return np.log(lives_km / REFERENCE_KM), failures / chances.size


@dataclass(frozen=True)
class WeightedLives:
    """Lives, how far each counts, and what multiplies the hazard of each."""

    lives: LawLives
    weight: FloatArray
    multiplier: FloatArray | float = 1.0


def best_law(
    weighted: WeightedLives, belief: LawBelief, start: Law, largest_log_scale: float | None = None
) -> Law:
    """Maximise the weighted likelihood times the belief over shape and scale.

    The scale has a closed form for each shape, so one safeguarded Newton search on the log shape
    is enough. `largest_log_scale` bounds the scale.
    """
    exposure = _Exposure(weighted, belief)
    log_shape = float(np.log(start.shape))
    best, slope, curve = exposure.profile(log_shape, largest_log_scale)
    for _ in range(LARGEST_STEPS):
        step = -slope / curve if curve < 0.0 else np.sign(slope) * 0.2
        step = float(np.clip(step, -0.5, 0.5))
        moved = False
        while abs(step) > STEP_TOLERANCE:
            trial = float(np.clip(log_shape + step, *np.log(SHAPE_RANGE)))
            found = exposure.profile(trial, largest_log_scale)
            if found[0] >= best:
                moved = abs(trial - log_shape) > STEP_TOLERANCE
                log_shape, (best, slope, curve) = trial, found
                break
            step *= 0.5
        if not moved:
            break
    shape = float(np.exp(log_shape))
    return Law(shape, exposure.log_scale(shape, largest_log_scale))


class _Exposure:
    """The sums over lives that the profile of the shape needs, with pseudo-lives appended."""

    def __init__(self, weighted: WeightedLives, belief: LawBelief) -> None:
        self.lives = lives = weighted.lives
        self.belief = belief
        self.exposed = weighted.weight * weighted.multiplier
        failing = weighted.weight * lives.failed
        self.failures = float(failing.sum()) + belief.pseudo_failures
        self.log_sum = float(failing @ lives.log_exit) + belief.pseudo_weight * float(
            belief.pseudo_log_km.sum()
        )
        self.late = np.flatnonzero(lives.delayed)
        self.exposed_late = self.exposed[self.late]
        self.log_late = lives.log_entry[self.late]

    def power_sums(self, shape: float) -> tuple[float, float, float]:
        """Sum of exposed * (exit**shape - entry**shape); its first two derivatives in the shape."""
        total = first = second = 0.0
        for logs, weights in (
            (self.lives.log_exit, self.exposed),
            (self.log_late, -self.exposed_late),
            (self.belief.pseudo_log_km, self.belief.pseudo_weight),
        ):
            grown = weights * np.exp(shape * logs)
            total += float(grown.sum())
            first += float(grown @ logs)
            second += float(grown @ logs**2)
        return total, first, second

    def log_scale(self, shape: float, largest: float | None) -> float:
        """The best scale for this shape, in closed form, within its bound."""
        free = float(np.log(self.power_sums(shape)[0] / self.failures)) / shape
        return free if largest is None else min(free, largest)

    def profile(self, log_shape: float, largest: float | None) -> tuple[float, float, float]:
        """Log posterior at this shape's best scale; its first two derivatives in log shape."""
        shape = float(np.exp(log_shape))
        total, first, second = self.power_sums(shape)
        free = float(np.log(total / self.failures)) / shape
        off = (log_shape - np.log(self.belief.shape)) / self.belief.shape_log_sd
        value = self.failures * log_shape - self.log_sum - 0.5 * off**2
        if largest is None or free <= largest:
            ratio = first / total
            value += -self.failures * shape * free + shape * self.log_sum - self.failures
            slope = self.failures / shape - self.failures * ratio + self.log_sum
            curve = -self.failures / shape**2 - self.failures * (second / total - ratio**2)
        else:
            scaled = np.exp(-shape * largest)
            value += -self.failures * shape * largest + shape * self.log_sum - scaled * total
            slope = (
                self.failures / shape
                - self.failures * largest
                + self.log_sum
                - scaled * (first - largest * total)
            )
            curve = -self.failures / shape**2 - scaled * (
                second - 2.0 * largest * first + largest**2 * total
            )
        return (
            float(value),
            float(shape * slope - off / self.belief.shape_log_sd),
            float(shape * slope + shape**2 * curve - 1.0 / self.belief.shape_log_sd**2),
        )
