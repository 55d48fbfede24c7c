"""Simulated workshops with a written truth, for judging verdicts."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.special import gammaincinv

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.verdict.fault_mixture import MixtureLives

VEHICLE, REPAIR, DESIGN, CHANCE = "vehicle", "repair", "design", "chance"

Draw = Callable[[np.random.Generator], float]


def weibull(shape: float, scale_km: float) -> Draw:
    """Draw lives from a Weibull law."""
    return lambda rng: float(scale_km * rng.weibull(shape))


def log_normal(median_km: float, log_sd: float) -> Draw:
    """Draw lives from a log-normal law."""
    return lambda rng: float(median_km * np.exp(log_sd * rng.normal()))


def gamma(shape: float, median_km: float) -> Draw:
    """Draw lives from a gamma law."""
    scale = median_km / float(gammaincinv(shape, 0.5))
    return lambda rng: float(scale * rng.gamma(shape))


NORMAL, BAD_FIT, FAULTY = weibull(2.5, 300_000.0), weibull(1.2, 15_000.0), weibull(1.5, 25_000.0)


@dataclass(frozen=True)
class World:
    """The truth that lives are drawn from. Families are listed by what multiplies their lives."""

    vehicles: int = 1_500
    years: float = 8.0
    normal: Draw = NORMAL
    family_life: tuple[float, ...] = (1.0, 1.05, 0.95, 1.0, 1.1, 5.0 ** (-1 / 2.5))
    family_share: tuple[float, ...] = (0.25, 0.2, 0.2, 0.15, 0.1, 0.1)
    weak: Draw | None = None  # the last family's own law, instead of its factor
    origin_life: tuple[float, ...] = (1.0, 0.8, 0.5)
    bad_fit: tuple[float, ...] = (0.02, 0.02, 0.01, 0.03, 0.02, 0.02, 0.01, 0.25)
    bad_law: Draw = BAD_FIT
    faulty_share: float = 0.015
    faulty_law: Draw = FAULTY
    duty_log_sd: float = 0.0
    km_a_year: float = 30_000.0
    weak_families: tuple[int, ...] = (5,)
    weak_fitter: tuple[int, float] | None = None  # a workshop, and what multiplies its parts' lives


@dataclass(frozen=True)
class Written:
    """Lives with the cause of each failure, as written by the world."""

    lives: MixtureLives
    cause: list[str]
    normal_chance: FloatArray  # chance under true normal life of failing by this length

    def early_repeat_failures(self, level: float = 0.05) -> list[list[int]]:
        """Early failures of each vehicle that has one after another failure."""
        vehicle, failed = np.asarray(self.lives.vehicle), np.asarray(self.lives.failed)
        early = failed & (self.normal_chance < level)
        flagged = []
        for code in np.unique(vehicle[early]):
            failures = np.flatnonzero((vehicle == code) & failed)
            if failures.size > 1 and early[failures[1:]].any():
                flagged.append([int(row) for row in failures if early[row]])
        return flagged


def simulate(world: World, seed: int) -> Written:
    """Run every vehicle through its parts; keep the lives that a register would hold.

    A vehicle is watched from a random odometer; the part found in place enters late, if it is the
    factory's, and is left out if not. Fitters change now and then. Origin 0 is the factory's, 1
    aftermarket, 2 cleaned.
    """
    rng = np.random.default_rng(seed)
    rows: list[tuple[float, float, bool, int, int, int, int]] = []
    cause: list[str] = []
    normal_km: list[tuple[float, int]] = []
    for vehicle in range(world.vehicles):
        family = int(rng.choice(len(world.family_life), p=world.family_share))
        faulty = rng.random() < world.faulty_share
        duty = float(np.exp(world.duty_log_sd * rng.normal()))
        home = int(rng.integers(len(world.bad_fit)))
        pace = world.km_a_year * float(np.exp(0.4 * rng.normal()))
        watch_from = max(0.0, float(rng.uniform(-4.0, 6.0)) * pace)
        watch_to = watch_from + pace * world.years * float(rng.uniform(0.3, 1.0))
        odometer, fitter, origin = 0.0, -1, 0
        while odometer < watch_to:
            km, why = _life(world, rng, (family, faulty, duty, fitter, origin))
            end = odometer + km
            known_start = odometer >= watch_from or fitter == -1
            if end > watch_from and known_start:
                left = min(end, watch_to)
                entry = max(0.0, watch_from - odometer)
                if left - odometer > entry:
                    rows.append(
                        (entry, left - odometer, end <= watch_to, vehicle, family, fitter, origin)
                    )
                    cause.append(why)
                    normal_km.append((left - odometer, origin))
            odometer = end
            if end > watch_from:
                fitter = home if rng.random() < 0.85 else int(rng.integers(len(world.bad_fit)))
            else:
                fitter = -2  # fitted before the watch: a part of unknown start
            origin = int(rng.choice([0, 1, 2], p=[0.3, 0.4, 0.3]))
            origin = min(origin, len(world.origin_life) - 1)
    columns = [np.array(column) for column in zip(*rows, strict=True)]
    draws = np.sort([world.normal(rng) for _ in range(20_000)])
    normal_chance = np.array(
        [
            np.searchsorted(draws, km / world.origin_life[each]) / draws.size
            for km, each in normal_km
        ]
    )
    return Written(MixtureLives(*columns), cause, normal_chance)


def _life(
    world: World, rng: np.random.Generator, of: tuple[int, bool, float, int, int]
) -> tuple[float, str]:
    family, faulty, duty, fitter, origin = of
    if faulty:
        return world.faulty_law(rng), VEHICLE
    if fitter >= 0 and rng.random() < world.bad_fit[fitter]:
        return world.bad_law(rng), REPAIR
    if world.weak_fitter is not None and fitter == world.weak_fitter[0]:
        factor = duty * world.origin_life[origin] * world.weak_fitter[1]
        return world.normal(rng) * world.family_life[family] * factor, REPAIR
    is_weak = family in world.weak_families
    why = DESIGN if is_weak else CHANCE
    factor = duty * world.origin_life[origin]
    if is_weak and world.weak is not None:
        return world.weak(rng) * factor, why
    return world.normal(rng) * world.family_life[family] * factor, why
