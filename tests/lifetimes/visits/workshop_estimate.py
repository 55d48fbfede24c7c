"""What the curves make of a simulated workshop, beside what is true."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from garage.lifetimes.arrays import BoolArray, FloatArray
from garage.lifetimes.capture.draws import CaptureDraws
from garage.lifetimes.capture.share import PART_PRIOR, CaptureShare, all_captured
from garage.lifetimes.curves.product_limit import product_limit
from garage.lifetimes.resampling.expected_lives import (
    VisitGroup,
    expected_table,
    resample_expected,
)
from garage.lifetimes.resampling.limits import ResamplingOptions
from garage.lifetimes.risk_table import LivesArrays, RiskTable
from garage.lifetimes.visits.model import visit_fit
from tests.lifetimes.visits.workshop_world import Workshop, World, workshop

AGES_KM = (50_000, 100_000, 150_000, 200_000)
ALIKE_GAP_SHARE = 0.5
"""Vehicles are fitted as alike within this share of the mean gap, for speed."""


@dataclass(frozen=True, slots=True, eq=False)
class Judged:
    """A workshop with its fitted visits and its capture share."""

    world: World
    workshop: Workshop
    visits: VisitGroup
    share: CaptureShare

    @classmethod
    def of(
        cls,
        world: World,
        n: int,
        seed: int,
        stated: float | None = None,
        held: float | None = PART_PRIOR.mean,
    ) -> "Judged | None":
        """Simulate and fit, with a stay-away share as `stated`, the true one where not given.

        `held` is the capture share believed beforehand; None of a workshop that says it sees
        all. None comes back where the visits give no law.
        """
        seen = workshop(world, n, np.random.default_rng(seed))
        fit = visit_fit(seen.known.grouped(ALIKE_GAP_SHARE / world.law.visit_rate))
        if fit.law is None:
            return None
        away = world.stay_away if stated is None else stated
        share = all_captured() if held is None else seen.share(away, held)
        return cls(world, seen, VisitGroup(fit, seen.known, away), share)

    def expected(self) -> RiskTable:
        """The table of the *expected* curve."""
        return expected_table(self.workshop.lives, [self.visits], [self.share.value or 1.0])

    def seen(self) -> RiskTable:
        """Silent vehicles leave when they were last here."""
        lives = self.workshop.lives
        capture = np.full(lives.n, self.share.value or 1.0)
        return _table(lives.entry, lives.exit, lives.failed, capture)

    def presumed(self) -> RiskTable:
        """Silent vehicles drive on, unfailed, to the end of the watch."""
        lives = self.workshop.lives
        silence = self.visits.known.silence[np.maximum(lives.history, 0)] - lives.still_here
        run = np.where(lives.silent, lives.pace * silence, 0.0)
        return _table(lives.entry, np.ceil(lives.exit + run), lives.failed, np.ones(lives.n))

    def all_known(self) -> RiskTable:
        """Of one who knows the capture share, and when each part failed and each customer left."""
        return RiskTable.from_lives(self.workshop.watched, unit="km")

    def heights(self, table: RiskTable, ages_km: Sequence[float] = AGES_KM) -> FloatArray:
        """Survival at these distances; NaN where nobody was watched so far."""
        curve = product_limit(table, given_survival_to=self.world.start_km)
        found = [curve.at(float(age)).value for age in ages_km]
        return np.array([np.nan if each is None else each for each in found])

    def covered(self, repeats: int, seed: int, ages_km: Sequence[float] = AGES_KM) -> BoolArray:
        """Whether 95 % limits hold the truth at each distance."""
        curve = resample_expected(
            self.workshop.lives,
            [self.visits],
            CaptureDraws.from_shares([self.share]),
            ages_km,
            rng=np.random.default_rng(seed),
            options=ResamplingOptions(repeats=repeats, given_survival_to=self.world.start_km),
        )
        truth = self.world.truth(np.array(ages_km, np.float64))
        held = [
            point.lower is not None
            and point.upper is not None
            and point.lower <= true <= point.upper
            for point, true in zip(curve.points, truth, strict=True)
        ]
        return np.array(held)


def _table(entry: ArrayLike, exit_: ArrayLike, failed: BoolArray, capture: FloatArray) -> RiskTable:
    lives = LivesArrays(entry, exit_, failed.astype(int), capture=capture)
    return RiskTable.from_lives(lives, unit="km")
