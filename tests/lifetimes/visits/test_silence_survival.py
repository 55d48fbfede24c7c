"""Survival from withdrawals shared out over silences, against a simulated truth."""

from dataclasses import dataclass

import numpy as np
import pytest

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.curves.product_limit import SurvivalCurve, product_limit
from garage.lifetimes.risk_table import RiskRows, RiskTable
from garage.lifetimes.visits.law import VisitLaw
from garage.lifetimes.visits.model import visit_fit
from garage.lifetimes.visits.silence import expected_withdrawals
from tests.lifetimes.visits.visit_world import Customers, customers

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


def curve_of(lives: Lives, ends: str, before: SurvivalCurve | None = None) -> SurvivalCurve:
    """Survival with one of the ends of a silence, in the light of an estimate `before`."""
    known = lives.seen.known
    failed = lives.failed_at < np.minimum(lives.seen.left_at, known.watched_until)
    left = ~failed
    clocks = [lives.entry_km, lives.km(lives.failed_at)[failed]]
    withdrawn = [np.zeros(VEHICLES), np.zeros(int(failed.sum()))]
    if ends == "expected":
        fit = visit_fit(known)
        assert fit.law is not None

        def unfailed(times: FloatArray, which: slice) -> FloatArray:
            assert before is not None
            run = lives.km_per_year[which] * (known.last_visit[which] + times)
            step = np.searchsorted(before.clock, lives.entry_km[which] + run, side="right")
            return np.asarray(np.concatenate([[1.0], before.survival])[step], np.float64)

        shares = expected_withdrawals(
            fit.law, known, unfailed=None if before is None else unfailed, points=POINTS
        )
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
    return product_limit(table, given_survival_to=start_km(lives) or None)


def start_km(lives: Lives) -> int:
    """Age from which there are enough lives: all are there from 0, or they enter late."""
    return 10_000 if lives.entry_km.any() else 0


def error_of(
    lives: Lives, ends: str, *, rounds: int = 0, ages_km: tuple[int, ...] = AGES_KM
) -> FloatArray:
    """Estimate less truth, after so many rounds that mind the parts that ought to have failed."""
    curve = curve_of(lives, ends)
    for _ in range(rounds):
        curve = curve_of(lives, ends, curve)
    found = [curve.at(age).value for age in ages_km]
    ages = np.array([start_km(lives), *ages_km])
    cumulative = (ages / SCALE_KM) ** SHAPE
    return np.asarray(found, np.float64) - np.exp(cumulative[0] - cumulative[1:])


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


def test_parts_that_ought_to_have_failed_lower_survival_in_one_round() -> None:
    lives = lives_of(VisitLaw(6.0, 0.5, 2.0, 0.2), late=False, seed=23)
    plain, once, thrice = (error_of(lives, "expected", rounds=rounds) for rounds in (0, 1, 3))
    assert np.all(np.abs(once) < 0.02)
    assert np.all(once < plain)
    assert once[-1] < plain[-1] - 0.002
    np.testing.assert_allclose(thrice, once, atol=0.002)
