"""The visit model against the general package lifetimes, fitted to the same visits in this run."""

import csv
from pathlib import Path

import numpy as np
import pytest
from lifetimes import ParetoNBDFitter

from garage.lifetimes.visits.input import VisitHistories
from garage.lifetimes.visits.law import VisitLaw
from garage.lifetimes.visits.likelihood import log_likelihood
from garage.lifetimes.visits.model import visit_fit
from garage.lifetimes.visits.silence import still_customer
from tests.lifetimes.visits.visit_world import customers

pytestmark = pytest.mark.oracle


@pytest.fixture(params=["published purchases", "simulated visits"])
def known(request: pytest.FixtureRequest) -> VisitHistories:
    if request.param == "simulated visits":
        law = VisitLaw(1.0, 1.0, 2.0, 0.3, 1.0)
        return customers(law, 1_500, 9, np.random.default_rng(11)).known
    # SIL-01: purchases of CDNOW, in weeks.
    shared: Path = request.getfixturevalue("shared")
    with (shared / "checks" / "data" / "cdnow_summary.csv").open(newline="") as lines:
        rows = [tuple(map(float, row[1:])) for row in list(csv.reader(lines))[1:]]
    return VisitHistories.from_sums(*zip(*rows, strict=True))


def test_visits_at_random_equal_the_general_package(known: VisitHistories) -> None:
    other = ParetoNBDFitter()
    other.fit(known.repeats, known.last_visit, known.watched_until, tol=1e-9, maxiter=5_000)
    r, alpha, s, beta = (float(other.params_[name]) for name in ("r", "alpha", "s", "beta"))
    fit = visit_fit(known, regularity=1.0, leaving="gamma")
    law = fit.law
    assert law is not None
    assert law.leaving_shape is not None
    assert fit.log_likelihood is not None
    ours = [law.rate_shape, law.rate_shape / law.visit_rate]
    ours += [law.leaving_shape, law.leaving_shape / law.leaving_rate]
    # Both searches end on a flat top: two thousandths apart and as likely.
    np.testing.assert_allclose(ours, [r, alpha, s, beta], rtol=2e-3)
    theirs = VisitLaw(1.0, r / alpha, r, s / beta, s)
    of_each = log_likelihood(theirs, known)[0]
    # Vehicle by vehicle at one law. (The package sums it in a private place alone.)
    np.testing.assert_allclose(
        of_each,
        other._conditional_log_likelihood(
            (r, alpha, s, beta), known.repeats, known.last_visit, known.watched_until
        ),
        atol=1e-7,
    )
    likely = float(of_each.sum())
    assert fit.log_likelihood >= likely - 1e-6
    assert fit.log_likelihood == pytest.approx(likely, abs=1e-3)
    alive = other.conditional_probability_alive(
        known.repeats, known.last_visit, known.watched_until
    )
    np.testing.assert_allclose(still_customer(theirs, known), alive, atol=1e-6)
