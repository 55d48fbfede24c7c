"""The fit of the visit model against published values, a slow integral and simulated truth."""

from collections.abc import Callable

import numpy as np
import pytest

from garage.lifetimes.status import Status
from garage.lifetimes.visits.input import VisitHistories
from garage.lifetimes.visits.law import VisitLaw
from garage.lifetimes.visits.likelihood import PARAMETERS
from garage.lifetimes.visits.model import Leaving, VisitFit, visit_fit
from tests.lifetimes.conftest import CheckCase, Rows
from tests.lifetimes.visits.visit_world import customers

AT_RANDOM = 1.0
YEARLY_SERVICES = 6.0

WORLDS = [
    VisitLaw(AT_RANDOM, 0.5, 2.0, 0.05),
    VisitLaw(AT_RANDOM, 2.0, 2.0, 0.4),
    VisitLaw(AT_RANDOM, 1.0, 3.0, 0.2, 1.0),
    VisitLaw(YEARLY_SERVICES, 0.5, 2.0, 0.4),
    VisitLaw(YEARLY_SERVICES, 1.0, 4.0, 0.05),
    VisitLaw(YEARLY_SERVICES, 2.0, 2.0, 0.2, 1.0),
]


def law_of(fit: VisitFit) -> VisitLaw:
    assert fit.law is not None, fit.reason
    return fit.law


@pytest.fixture(scope="session")
def record_shop(check_rows: Callable[[str], Rows]) -> VisitHistories:
    rows = check_rows("cdnow_summary.csv")
    return VisitHistories.from_sums(
        *([float(row[name]) for row in rows] for name in ("frequency", "recency", "T"))
    )


def test_published_purchase_data_case(
    record_shop: VisitHistories, check_case: Callable[[str], CheckCase]
) -> None:
    case = check_case("SIL-01")
    unequal = visit_fit(record_shop, regularity=AT_RANDOM, leaving="gamma")
    law = law_of(unequal)
    assert law.leaving_shape is not None
    found = [
        law.rate_shape,
        law.rate_shape / law.visit_rate,
        law.leaving_shape,
        law.leaving_shape / law.leaving_rate,
        unequal.log_likelihood,
    ]
    case.holds("gamma leaving: r, alpha, s, beta, loglik", found)
    assert found == pytest.approx([0.553, 10.578, 0.606, 11.669, -9595.0], abs=0.05)
    alike = visit_fit(record_shop, regularity=AT_RANDOM, leaving="constant")
    law = law_of(alike)
    case.holds(
        "constant leaving rate: r, alpha, mu, loglik",
        [law.rate_shape, law.rate_shape / law.visit_rate, law.leaving_rate, alike.log_likelihood],
    )


def test_published_purchase_data_tell_unequal_leaving(record_shop: VisitHistories) -> None:
    fit = visit_fit(record_shop, regularity=AT_RANDOM)
    assert law_of(fit).leaving_shape is not None
    assert fit.gained == pytest.approx(2 * (9600.3375 - 9594.97393), abs=1e-3)


@pytest.mark.parametrize("truth", WORLDS, ids=str)
def test_law_of_simulated_customers_is_found_again(truth: VisitLaw) -> None:
    seen = customers(truth, 4_000, 9, np.random.default_rng(7))
    kind: Leaving = "constant" if truth.leaving_shape is None else "gamma"
    fit = visit_fit(seen.known, leaving=kind, level=0.999)
    law = law_of(fit)
    for name in PARAMETERS:
        true = getattr(truth, name)
        if true is None:
            assert getattr(law, name) is None
            continue
        found = fit.parameter(name)
        assert found is not None
        assert found.lower is not None
        assert found.upper is not None
        assert found.lower < true < found.upper, name
        # Limits so wide that they hold anything would prove nothing.
        assert found.upper / found.lower < (6 if name == "leaving_shape" else 2.5), name


def test_limits_hold_the_truth_at_their_level() -> None:
    truth = VisitLaw(3.0, 1.0, 2.0, 0.2)
    rng = np.random.default_rng(12)
    held = dict.fromkeys(PARAMETERS[:4], 0)
    runs = 200
    for _ in range(runs):
        fit = visit_fit(customers(truth, 400, 8, rng).known, leaving="constant")
        for name in held:
            found = fit.parameter(name)
            assert found is not None
            # Without limits (an end of the range reached) it is counted as missed.
            held[name] += (
                found.lower is not None
                and found.upper is not None
                and found.lower < getattr(truth, name) < found.upper
            )
    for name, times in held.items():
        assert 0.91 <= times / runs <= 0.99, (name, times / runs)


def test_simpler_law_is_taken_unless_the_data_tell() -> None:
    rng = np.random.default_rng(5)
    one_rate = visit_fit(customers(VisitLaw(3, 1, 2, 0.2), 3_000, 9, rng).known)
    assert law_of(one_rate).leaving_shape is None
    assert "do not tell" in one_rate.reason
    differing = visit_fit(customers(VisitLaw(3, 1, 2, 0.4, 0.7), 3_000, 9, rng).known)
    assert law_of(differing).leaving_shape == pytest.approx(0.7, rel=0.4)
    assert differing.gained is not None
    assert differing.gained > 10


def test_customers_who_never_leave_have_next_to_no_leaving_rate() -> None:
    seen = customers(VisitLaw(4, 1, 3, 0.0), 1_000, 9, np.random.default_rng(8))
    law = law_of(visit_fit(seen.known))
    assert law.leaving_rate < 0.005
    assert law.visit_rate == pytest.approx(1, rel=0.1)


def test_vehicles_all_alike_end_the_range_without_harm() -> None:
    seen = customers(VisitLaw(4, 1, 1e6, 0.1), 1_000, 9, np.random.default_rng(8))
    fit = visit_fit(seen.known)
    law = law_of(fit)
    assert law.rate_shape > 50
    assert law.leaving_rate == pytest.approx(0.1, rel=0.25)


def test_too_few_vehicles_that_came_again_give_a_reason() -> None:
    def fleet(returning: int) -> VisitFit:
        rng = np.random.default_rng(4)
        gaps = rng.gamma(4, 0.25, (returning, 5))
        once = 30
        known = VisitHistories.from_sums(
            np.r_[np.full(returning, 5), np.zeros(once)],
            np.r_[gaps.sum(axis=1), np.zeros(once)],
            np.r_[gaps.sum(axis=1) + 0.5, np.full(once, 4.0)],
            np.r_[np.log(gaps).sum(axis=1), np.zeros(once)],
        )
        return visit_fit(known)

    few = fleet(19)
    assert (few.law, few.status) == (None, Status.FEW_CLUSTERS)
    assert "19 of 49 vehicles came again" in few.reason
    assert fleet(20).law is not None


def test_no_vehicles_give_a_reason() -> None:
    none = visit_fit(VisitHistories.from_sums([], [], []))
    assert (none.law, none.status, none.n) == (None, Status.NO_LIVES, 0)
    with pytest.raises(ValueError, match="no law to pull on"):
        none.scores()


def test_visits_in_bursts_beyond_the_model_are_refused() -> None:
    # Half of the gaps are a day, half three years: no gamma law of the range has such gaps.
    rng = np.random.default_rng(2)
    gaps = np.where(rng.random((200, 8)) < 0.5, 0.0001, rng.exponential(3, (200, 8)))
    last = gaps.sum(axis=1)
    known = VisitHistories.from_sums(
        np.full(200, 8), last, last + rng.uniform(0, 2, 200), np.log(gaps).sum(axis=1)
    )
    fit = visit_fit(known)
    assert (fit.law, fit.status) == (None, Status.NOT_CONVERGED)
    assert "bursts" in fit.reason
    with pytest.raises(ValueError, match="no law to redraw: the fit ran away"):
        fit.redrawn(known.weight, np.zeros((200, 4)))


def test_weights_equal_repeated_vehicles() -> None:
    known = customers(VisitLaw(3, 1, 2, 0.2), 300, 8, np.random.default_rng(1)).known
    times = np.arange(300) % 3
    weighted = law_of(visit_fit(known.weighted(times), leaving="constant"))
    place = np.repeat(np.arange(300), times)
    repeated = VisitHistories.from_sums(
        *(
            values[place]
            for values in (known.repeats, known.last_visit, known.watched_until, known.log_gaps)
        )
    )
    again = law_of(visit_fit(repeated, leaving="constant"))
    for name in PARAMETERS[:4]:
        assert getattr(weighted, name) == pytest.approx(getattr(again, name), rel=1e-6)


def test_unit_of_time_does_not_matter() -> None:
    in_years = customers(VisitLaw(3, 1, 2, 0.2), 500, 8, np.random.default_rng(1)).known
    days = 365.25
    in_days = VisitHistories.from_sums(
        in_years.repeats,
        in_years.last_visit * days,
        in_years.watched_until * days,
        in_years.log_gaps + in_years.repeats * np.log(days),
    )
    years, same = (law_of(visit_fit(each, leaving="constant")) for each in (in_years, in_days))
    assert same.leaving_rate * days == pytest.approx(years.leaving_rate, rel=1e-5)
    assert same.visit_rate * days == pytest.approx(years.visit_rate, rel=1e-5)
    assert same.regularity == pytest.approx(years.regularity, rel=1e-5)


def test_groups_of_alike_vehicles_give_the_same_law() -> None:
    known = customers(VisitLaw(4, 1, 2, 0.2), 6_000, 8, np.random.default_rng(6)).known
    alike = known.grouped(0.15)
    assert alike.repeats.size < 0.7 * known.repeats.size
    one, other = (law_of(visit_fit(each, leaving="constant")) for each in (known, alike))
    for name in PARAMETERS[:4]:
        assert getattr(other, name) == pytest.approx(getattr(one, name), rel=0.01)


def test_law_of_a_resample_is_near_the_refit() -> None:
    rng = np.random.default_rng(14)
    known = customers(VisitLaw(4, 1, 2, 0.2), 2_000, 8, rng).known
    fit = visit_fit(known, leaving="constant")
    scores = fit.scores()
    law = law_of(fit)
    for _ in range(3):
        weight = np.bincount(rng.integers(0, 2_000, 2_000), minlength=2_000)
        refit = law_of(visit_fit(known.weighted(weight), leaving="constant"))
        quick = fit.redrawn(weight, scores)
        for name in PARAMETERS[:4]:
            start, goal, got = (np.log(getattr(each, name)) for each in (law, refit, quick))
            assert got == pytest.approx(goal, abs=0.15 * abs(goal - start) + 0.005), name
    same = fit.redrawn(known.weight, scores)
    assert same.leaving_rate == pytest.approx(law.leaving_rate, rel=1e-12)


def test_wrong_questions_are_refused() -> None:
    known = customers(VisitLaw(3, 1, 2, 0.2), 50, 8, np.random.default_rng(1)).known
    with pytest.raises(ValueError, match="leaving is one of"):
        visit_fit(known, leaving="often")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="regularity is a finite number above 0; got 0"):
        visit_fit(known, regularity=0)
    with pytest.raises(ValueError, match="level"):
        visit_fit(known, level=1)
    fit = visit_fit(known, regularity=3)
    with pytest.raises(ValueError, match="a parameter is one of"):
        fit.parameter("mean")
    with pytest.raises(ValueError, match="one weight a vehicle"):
        fit.redrawn([1, 2], fit.scores())
    given = fit.parameter("regularity")
    assert given is not None
    assert (given.value, given.lower, given.upper) == (3, None, None)
