"""Takes the time of the *expected* curve, limits and all, of a million simulated lives.

Run as ``python -m tests.lifetimes.visits.silence_large``.
"""

import resource
import time
from dataclasses import fields

import numpy as np

from garage.lifetimes.capture.draws import CaptureDraws
from garage.lifetimes.capture.share import capture_share
from garage.lifetimes.resampling.expected_lives import (
    ExpectedLives,
    VisitGroup,
    resample_expected,
)
from garage.lifetimes.resampling.limits import ResamplingOptions
from garage.lifetimes.visits.input import VisitHistories
from garage.lifetimes.visits.law import VisitLaw
from garage.lifetimes.visits.model import visit_fit
from tests.lifetimes.visits.workshop_world import Workshop, World, workshop

WORLD = World(VisitLaw(3.0, 1.0, 2.0, 0.2, 1.5), capture=0.7, late=True)
VEHICLES, WORKSHOPS = 100_000, 9
ALIKE_YEARS = 0.3
POINTS = range(10_000, 400_001, 10_000)


def joined(parts: list[Workshop]) -> tuple[ExpectedLives, VisitHistories]:
    """The lives and visits of several workshops as one organisation's."""
    lives = {
        each.name: np.concatenate([getattr(part.lives, each.name) for part in parts])
        for each in fields(ExpectedLives)
        if each.name != "unit"
    }
    before = np.repeat(np.arange(len(parts)) * VEHICLES, [part.lives.n for part in parts])
    lives["cluster"] += before
    lives["history"] = np.where(lives["silent"], lives["history"] + before, -1)
    known = {
        each.name: np.concatenate([getattr(part.known, each.name) for part in parts])
        for each in fields(VisitHistories)
    }
    return ExpectedLives(**lives), VisitHistories(**known)


def main() -> None:
    parts = [workshop(WORLD, VEHICLES, np.random.default_rng(seed)) for seed in range(WORKSHOPS)]
    lives, known = joined(parts)
    share = capture_share(sum(each.here for each in parts), sum(each.elsewhere for each in parts))
    begin = time.perf_counter()
    fit = visit_fit(known.grouped(ALIKE_YEARS))
    fitted = time.perf_counter()
    curve = resample_expected(
        lives,
        [VisitGroup(fit, known)],
        CaptureDraws.from_shares([share]),
        POINTS,
        rng=np.random.default_rng(1),
        options=ResamplingOptions(given_survival_to=WORLD.start_km),
    )
    end = time.perf_counter()
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
    print(f"{lives.n} lives, {curve.failed} failed; the fit {fitted - begin:.1f} s")
    print(f"{len(curve.points)} points with limits {end - fitted:.1f} s; at the peak {most:.2f} GB")


if __name__ == "__main__":
    main()
