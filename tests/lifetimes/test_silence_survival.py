"""Survival from withdrawals shared out over silences, against a simulated truth."""

from dataclasses import dataclass

import numpy as np
import pytest

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.product_limit import product_limit
from garage.lifetimes.risk_table import RiskRows, RiskTable
from garage.lifetimes.silence import expected_withdrawals
from garage.lifetimes.visit_model import visit_fit
from garage.lifetimes.visit_model_law import VisitLaw
from tests.lifetimes.visit_world import Customers, customers

SHAPE, SCALE_KM = 2.5, 300_000.0
VEHICLES = 10_000
AGES_KM = (50_000, 100_000, 150_000)
LATEST_ENTRY_KM = 120_000
POINTS = 8


@dataclass(frozen=True, slots=True, eq=False)
class Lives:
    """One life a vehicle, of which the workshop sees the failures of its customers only."""

    seen: Customers
    entry_km: FloatArray
    km_per_year: FloatArray
    failed_at: FloatArray
    """Years after the first visit."""

    def km(self, years: FloatArray) -> FloatArray:
        places = (slice(None),) + (None,) * (years.ndim - 1)
        run = self.entry_km[places] + self.km_per_year[places] * years
        return np.asarray(np.ceil(run), np.float64)


def lives_of(law: VisitLaw, *, late: bool, seed: int) -> Lives:
    rng = np.random.default_rng(seed)
    seen = customers(law, VEHICLES, 9, rng)
    entry = np.floor(rng.uniform(0, LATEST_ENTRY_KM, VEHICLES)) if late else np.zeros(VEHICLES)
    pace = rng.lognormal(np.log(20_000), 0.4, VEHICLES)
    hazard = (entry / SCALE_KM) ** SHAPE - np.log(rng.random(VEHICLES))
    failed = (SCALE_KM * hazard ** (1 / SHAPE) - entry) / pace
    return Lives(seen, entry, pace, failed)


def error_of(lives: Lives, ends: str) -> FloatArray:
    """Estimate less truth, of survival given survival to the first age at which many are."""
    known = lives.seen.known
    failed = lives.failed_at < np.minimum(lives.seen.left_at, known.watched_until)
    left = ~failed
    clocks = [lives.entry_km, lives.km(lives.failed_at)[failed]]
    withdrawn = [np.zeros(VEHICLES), np.zeros(int(failed.sum()))]
    if ends == "expected":
        fit = visit_fit(known)
        assert fit.law is not None
        shares = expected_withdrawals(fit.law, known, points=POINTS)
        times = lives.km(known.last_visit[:, None] + shares.elapsed)
        clocks += [times[left].ravel(), lives.km(known.watched_until)[left]]
        withdrawn += [np.repeat(shares.share_each[left], POINTS), shares.remaining[left]]
    else:
        end = known.last_visit if ends == "last visit" else known.watched_until
        clocks.append(lives.km(end)[left])
        withdrawn.append(np.ones(int(left.sum())))
    clock = np.concatenate(clocks)
    entered, failures = np.zeros(clock.size, int), np.zeros(clock.size, int)
    entered[:VEHICLES] = 1
    failures[VEHICLES : VEHICLES + int(failed.sum())] = 1
    table = RiskTable.from_rows(
        RiskRows(clock, entered, failures, np.concatenate(withdrawn)), unit="km"
    )
    late = bool(lives.entry_km.any())
    start = 10_000 if late else 0
    curve = product_limit(table, given_survival_to=start if late else None)
    found = [curve.at(age).value for age in AGES_KM]
    true = np.exp((start / SCALE_KM) ** SHAPE - (np.array(AGES_KM) / SCALE_KM) ** SHAPE)
    return np.asarray(found, np.float64) - true


@pytest.mark.parametrize("late", [False, True], ids=["from the start", "entering late"])
@pytest.mark.parametrize(
    "law",
    [
        VisitLaw(1.0, 0.5, 2.0, 0.05),
        VisitLaw(1.0, 2.0, 2.0, 0.2, 1.0),
        VisitLaw(6.0, 1.0, 2.0, 0.05),
        VisitLaw(6.0, 0.5, 2.0, 0.2),
    ],
    ids=str,
)
def test_survival_is_found_again_by_expected_withdrawals(law: VisitLaw, late: bool) -> None:
    found = error_of(lives_of(law, late=late, seed=23), "expected")
    assert np.all(np.abs(found) < 0.02), found


def test_other_ends_of_a_silence_miss_the_truth() -> None:
    lives = lives_of(VisitLaw(6.0, 0.5, 2.0, 0.2), late=False, seed=23)
    assert error_of(lives, "last visit")[-1] < -0.04
    assert error_of(lives, "today")[-1] > 0.04
