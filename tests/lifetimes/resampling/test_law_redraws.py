"""What redrawn visit laws change in the numbers at risk."""

from dataclasses import replace

import numpy as np
import pytest

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.curves.steps import CurveSteps
from garage.lifetimes.resampling import law_redraws
from garage.lifetimes.resampling.expected_estimate import ExpectedEstimate
from garage.lifetimes.resampling.expected_input import VisitGroup
from garage.lifetimes.resampling.expected_lives import expected_table
from garage.lifetimes.resampling.expected_steps import BagCounts, Cells
from garage.lifetimes.resampling.law_redraws import LawRedraws
from garage.lifetimes.visits.law import VisitLaw
from garage.lifetimes.visits.model import VisitFit, visit_fit
from tests.lifetimes.visits.workshop_estimate import Judged
from tests.lifetimes.visits.workshop_world import World

POINTS = np.array([50_000.0, 100_000.0, 150_000.0])


@pytest.fixture(scope="module")
def judged() -> Judged:
    made = Judged.of(World(VisitLaw(3.0, 1.0, 2.0, 0.2)), 600, 3)
    assert made is not None
    return made


def factors(judged: Judged, visits: list[VisitGroup], draws: int) -> FloatArray:
    """Factors drawn, shape (draws, c), organisations alternating by vehicle."""
    lives = replace(judged.workshop.lives, group=judged.workshop.lives.cluster % len(visits))
    estimate = ExpectedEstimate.of(lives, visits, np.ones(len(visits)))
    cells = Cells.of_steps(CurveSteps.from_table(estimate.table), POINTS)
    counts = BagCounts.of(lives, cells, np.random.default_rng(1))
    redraws = LawRedraws.of(estimate, visits, counts, np.random.default_rng(1))
    at_risk = counts.risk(estimate.left()).sum(axis=0)
    rng = np.random.default_rng(2)
    return np.stack([redraws.factor(at_risk, rng) for _ in range(draws)])


def fit_of(judged: Judged, vehicles: int) -> VisitFit:
    fit = visit_fit(judged.visits.known.part(slice(0, vehicles)))
    assert fit.law is not None
    return fit


def test_a_law_known_of_few_vehicles_moves_the_numbers_at_risk_more(judged: Judged) -> None:
    known = judged.visits.known
    few, many = (
        factors(judged, [VisitGroup(fit_of(judged, size), known)], 40).std(axis=0)
        for size in (75, 600)
    )
    # Eight times as many vehicles know it some three times as well.
    assert 1.8 < np.median(few / many) < 4.5


def test_factor_is_what_the_redrawn_law_changes(
    judged: Judged, monkeypatch: pytest.MonkeyPatch
) -> None:
    other = VisitLaw(3.0, 1.0, 2.0, 0.35)
    visits = judged.visits
    monkeypatch.setattr(law_redraws, "_redrawn", lambda *_: other)
    found = factors(judged, [visits], 1)[0]
    lives = judged.workshop.lives
    usual = expected_table(lives, [visits], [1.0])
    moved = expected_table(lives, [VisitGroup(replace(visits.fit, law=other), visits.known)], [1.0])
    cells = Cells.of_steps(CurveSteps.from_table(usual), POINTS)
    ratio = moved.at_risk_at(cells.clock) / usual.at_risk_at(cells.clock)
    assert np.all(ratio < 1)
    assert ratio.min() < 0.94
    # The table with the other law begins from another first estimate: a second-order matter.
    np.testing.assert_allclose(found, ratio, atol=0.01)


def test_groups_that_share_a_fit_share_its_doubt(judged: Judged) -> None:
    fit, known = fit_of(judged, 150), judged.visits.known
    shared = factors(judged, [VisitGroup(fit, known)] * 2, 60).std(axis=0)
    apart = [VisitGroup(replace(fit), known), VisitGroup(replace(fit), known)]
    separate = factors(judged, apart, 60).std(axis=0)
    # Two doubts that are independent and as large partly cancel: by the root of two.
    assert 1.1 < np.median(shared / separate) < 1.8


def test_a_sample_of_silent_lives_tells_what_all_do(
    judged: Judged, monkeypatch: pytest.MonkeyPatch
) -> None:
    everyone = factors(judged, [judged.visits], 3)
    monkeypatch.setattr(law_redraws, "SILENT_SAMPLE", 300)
    sampled = factors(judged, [judged.visits], 3)
    moved = np.abs(everyone - 1)
    assert np.median(np.abs(sampled - everyone)) < 0.25 * np.median(moved)
