"""Weibull fits against printed values, other programs and second implementations."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize
from scipy.special import chdtri

from garage.lifetimes.laws.weibull import WeibullLaw
from garage.lifetimes.laws.weibull_fit import weibull_fit, weibull_fit_weighted
from garage.lifetimes.laws.weibull_profile import WeibullProfile
from garage.lifetimes.risk_table import LivesArrays, RiskTable
from garage.lifetimes.status import Status
from tests.lifetimes.conftest import CheckCase, Rows, table_of

Case = Callable[[str], CheckCase]
ReadRows = Callable[[str], Rows]

# Abernethy, The New Weibull Handbook, example C.5: five failures, two suspensions.
HANDBOOK_EXIT = [1500, 1750, 2250, 4000, 4300, 5000, 7000]
HANDBOOK_FAILED = [1, 0, 1, 1, 1, 0, 1]


def test_handbook_example_equals_the_printed_fit() -> None:
    fit = weibull_fit(table_of(HANDBOOK_EXIT, HANDBOOK_FAILED))
    assert fit.law is not None
    assert fit.law.shape == pytest.approx(2.257, abs=6e-4)
    assert fit.law.scale == pytest.approx(4900.1, abs=0.06)


def data_of(case: CheckCase, check_rows: ReadRows) -> RiskTable:
    data = case.data
    if "failures" in data:
        failed, left = data["failures"], data["right_censored"]
        return table_of(failed + left, [1] * len(failed) + [0] * len(left))
    if "hours" in data:
        return table_of(data["hours"], data["event"], weight=data["count"])
    rows = check_rows(data["file"].removeprefix("data/"))
    clock = "distance" if "distance" in rows[0] else "hours"
    return table_of([int(r[clock]) for r in rows], [int(r["status"]) for r in rows])


@pytest.mark.parametrize("number", ["WB-01", "WB-03", "WB-05", "WB-07", "WB-09", "WB-10"])
def test_unfinished_lives_case(check_case: Case, check_rows: ReadRows, number: str) -> None:
    case = check_case(number)
    fit = weibull_fit(data_of(case, check_rows))
    tenth, half = fit.quantile(0.1), fit.median
    assert fit.shape is not None
    assert fit.scale is not None
    assert tenth is not None
    assert half is not None
    case.holds("shape beta", fit.shape.value)
    case.holds("scale eta", fit.scale.value)
    case.holds("log-likelihood", fit.log_likelihood)
    case.holds(
        "SE beta, SE eta (observed information)",
        [fit.shape.standard_error, fit.scale.standard_error],
    )
    for name, each in (("beta", fit.shape), ("eta", fit.scale), ("B10", tenth)):
        case.holds(f"{name} 95% Wald on log scale", [each.wald_lower, each.wald_upper])
        case.holds(f"{name} 95% likelihood ratio", [each.lower, each.upper])
    case.holds("B10 life", tenth.value)
    case.holds("B50 life", half.value)


def test_log_linear_form_of_the_shock_absorber_fit(check_case: Case, check_rows: ReadRows) -> None:
    case = check_case("WB-01")
    law = weibull_fit(data_of(case, check_rows)).law
    assert law is not None
    case.holds("mu = log eta, sigma = 1/beta", [np.log(law.scale), 1 / law.shape])


def test_constant_rate_of_generator_fans(check_case: Case, check_rows: ReadRows) -> None:
    case = check_case("WB-07")
    fit = weibull_fit(data_of(case, check_rows), fixed_shape=1)
    assert fit.scale is not None
    case.holds("exponential mean = total time / 12", fit.scale.value)


def engines(rows: Rows, group: str, *, delayed: bool) -> RiskTable:
    mine = [r for r in rows if r["group"] == group]
    exit_, cause, entry = (
        [int(r[name]) for r in mine] for name in ("exit_miles", "replaced", "entry_miles")
    )
    return table_of(exit_, cause, entry if delayed else None)


@pytest.mark.parametrize("group", ["4", "7", "8"])
def test_bus_engines_with_delayed_entry_case(
    check_case: Case, check_rows: ReadRows, group: str
) -> None:
    case = check_case("WB-14")
    table = engines(check_rows("fetched/rust_bus_engines.csv"), group, delayed=True)
    fit = weibull_fit(table)
    tenth = fit.quantile(0.1)
    assert fit.law is not None
    assert fit.log_likelihood is not None
    assert tenth is not None
    assert tenth.lower is not None
    assert tenth.upper is not None
    # The case is in thousand miles: densities of failures scale with the unit.
    log_likelihood = fit.log_likelihood + table.failed_total * np.log(1000)
    case.holds(
        f"group {group}: beta, eta, loglik",
        [fit.law.shape, fit.law.scale / 1000, log_likelihood],
    )
    case.holds(
        f"group {group}: B10 and 95% likelihood ratio limits",
        [tenth.value / 1000, tenth.lower / 1000, tenth.upper / 1000],
    )


@pytest.mark.parametrize("group", ["7", "8"])
def test_ignoring_delayed_entry_gives_the_known_wrong_answer(
    check_case: Case, check_rows: ReadRows, group: str
) -> None:
    rows = check_rows("fetched/rust_bus_engines.csv")
    wrong = weibull_fit(engines(rows, group, delayed=False)).law
    right = weibull_fit(engines(rows, group, delayed=True)).law
    assert wrong is not None
    assert right is not None
    check_case("WB-14").holds(
        f"group {group} IGNORING truncation (wrong answer): beta, eta",
        [wrong.shape, wrong.scale / 1000],
    )
    assert wrong.scale > 1.03 * right.scale


def test_constant_rate_with_delayed_entry_case(check_case: Case, check_rows: ReadRows) -> None:
    rows = check_rows("macs_cole_hudgens.csv")
    entry, exit_ = ([round(1000 * float(r[name])) for r in rows] for name in ("W", "T"))
    fit = weibull_fit(table_of(exit_, [int(r["D"]) for r in rows], entry), fixed_shape=1)
    assert fit.law is not None
    check_case("WB-16").holds("rate", 1000 / fit.law.scale)


def test_fixed_shape_limits_equal_a_direct_search() -> None:
    # Second implementation: log L of a constant rate r with d failures in T is
    # d log r - r T; its likelihood-ratio limits by bisection on a fine grid.
    fit = weibull_fit(table_of([10, 20, 30, 40], [1, 0, 1, 1]), fixed_shape=1)
    rates = np.linspace(1e-4, 0.2, 2_000_001)
    inside = rates[3 * np.log(rates) - rates * 100 > 3 * np.log(0.03) - 3 - 1.9207294]
    assert fit.scale is not None
    assert fit.shape is None
    assert fit.scale.lower == pytest.approx(1 / inside[-1], rel=1e-4)
    assert fit.scale.upper == pytest.approx(1 / inside[0], rel=1e-3)


@pytest.mark.parametrize("level", [0.5, 0.95, 0.9999])
def test_likelihood_on_the_limits_has_fallen_by_the_deviate(level: float) -> None:
    table = table_of([10, 20, 30, 40], [1, 0, 0, 1])
    fit = weibull_fit(table, level=level, fixed_shape=2)
    profile = WeibullProfile.from_table(table)
    assert fit.scale is not None
    assert fit.log_likelihood is not None
    for limit in (fit.scale.lower, fit.scale.upper):
        assert limit is not None
        law = WeibullLaw(2, limit)
        gained = law.log_hazard(np.array([10, 40])).sum()
        lost = law.cumulative_hazard(np.array([10, 20, 30, 40])).sum()
        drop = fit.log_likelihood - float(gained - lost)
        assert 2 * drop == pytest.approx(chdtri(1, 1 - level))
    assert profile.height(np.log(2)) == pytest.approx(fit.log_likelihood)


@pytest.mark.parametrize(
    ("exit_", "cause", "status"),
    [
        ([], [], Status.NO_LIVES),
        ([10, 20], [0, 0], Status.NO_FAILURES),
        ([10, 20], [1, 0], Status.FEW_FAILURES),
        ([10, 10, 20], [1, 1, 0], Status.ONE_DISTANCE),
    ],
)
def test_data_without_a_shape_give_a_status_and_a_reason(
    exit_: list[int], cause: list[int], status: Status
) -> None:
    fit = weibull_fit(table_of(exit_, cause))
    assert fit.status is status
    assert fit.reason
    assert (fit.law, fit.shape, fit.scale, fit.median) == (None, None, None, None)


def test_two_failing_distances_are_enough_for_a_law_with_wide_limits() -> None:
    # Differs from the refused data above in one failure.
    fit = weibull_fit(table_of([10, 11, 20], [1, 1, 0]))
    assert fit.status is Status.OK
    assert fit.shape is not None
    assert fit.shape.lower is not None
    assert fit.shape.upper is not None
    assert fit.shape.upper > 5 * fit.shape.lower


def test_no_failures_bounds_the_rate_by_the_rule_of_three() -> None:
    # 3 / watched distance at 95 %: Hanley and Lippman-Hand, JAMA 249, 1983 (from memory).
    fit = weibull_fit(table_of([100] * 30, [0] * 30))
    assert fit.rate_upper == pytest.approx(3 / 3000, rel=0.002)


def test_one_failure_with_a_fixed_shape_has_a_scale() -> None:
    fit = weibull_fit(table_of([10, 20], [1, 0]), fixed_shape=2.0)
    assert fit.law is not None
    assert fit.law.scale == pytest.approx(500**0.5)


def test_hazard_that_only_falls_does_not_converge() -> None:
    # All entries delayed and most lives long: the likelihood climbs as the shape goes to 0.
    exit_, cause = [15, 20, 120, 150, 10_001], [1, 0, 1, 0, 0]
    fit = weibull_fit(table_of(exit_, cause, entry=[1, 2, 10, 100, 1000]))
    assert (fit.status, fit.law) == (Status.NOT_CONVERGED, None)


def test_limit_that_the_data_do_not_set_is_none() -> None:
    # All entries delayed, two failures: the likelihood stays within the limit as the shape
    # goes to 0, so neither the shape nor the scale has a lower limit.
    fit = weibull_fit(table_of([93, 90, 114, 137], [0, 1, 1, 0], entry=[30, 36, 58, 44]))
    assert fit.shape is not None
    assert fit.scale is not None
    assert (fit.shape.lower, fit.scale.lower) == (None, None)
    assert fit.shape.upper is not None
    assert fit.scale.upper is not None


def test_capture_share_moves_the_scale_and_keeps_the_information_of_seen_failures() -> None:
    rng = np.random.default_rng(4)
    life = np.ceil(1000 * rng.weibull(2.5, 400)).astype(int)
    seen = table_of(np.minimum(life, 900), life <= 900)
    corrected = RiskTable.from_lives(
        LivesArrays(np.zeros(400), np.minimum(life, 900), life <= 900, capture=np.full(400, 0.5)),
        unit="km",
    )
    as_seen, twice = weibull_fit(seen), weibull_fit(corrected)
    assert as_seen.law is not None
    assert twice.law is not None
    assert twice.law.shape == pytest.approx(as_seen.law.shape, rel=1e-9)
    # Twice the hazard at the same shape.
    assert twice.law.scale == pytest.approx(as_seen.law.scale * 0.5 ** (1 / twice.law.shape))
    assert twice.shape is not None
    assert as_seen.shape is not None
    for name in ("lower", "upper", "standard_error"):
        assert getattr(twice.shape, name) == pytest.approx(getattr(as_seen.shape, name), rel=1e-6)


def test_failure_at_clock_zero_is_taken_within_the_first_unit() -> None:
    fit = weibull_fit(table_of([0, 5, 9], [1, 1, 0], entry=[-1, -1, -1]))
    halves = weibull_fit(table_of([1, 10, 18], [1, 1, 0]))
    assert fit.law is not None
    assert halves.law is not None
    assert fit.law.scale == pytest.approx(halves.law.scale / 2)


def test_failure_at_clock_zero_does_not_shorten_lives_that_enter_there() -> None:
    # Failing at half a unit, others entering at 0: worked with the clock doubled.
    fit = weibull_fit(table_of([0, 5, 9, 7], [1, 1, 0, 1], entry=[-1, 0, 0, 0]))
    doubled = weibull_fit(table_of([1, 10, 18, 14], [1, 1, 0, 1]))
    assert fit.law is not None
    assert doubled.law is not None
    assert fit.law.shape == pytest.approx(doubled.law.shape)
    assert fit.law.scale == pytest.approx(doubled.law.scale / 2)


def test_information_equals_numerical_second_derivatives() -> None:
    table = table_of([1500, 1750, 2250, 4000], [1, 0, 1, 1], entry=[0, 900, 1000, 0])
    profile = WeibullProfile.from_table(table)

    def log_likelihood(log_shape: float, log_scale: float) -> float:
        law = WeibullLaw(np.exp(log_shape), np.exp(log_scale))
        failing = table.failed[0] > 0
        left = table.failed[0] + table.withdrawn - table.entered
        return float(
            law.log_hazard(table.clock[failing]).sum() - left @ law.cumulative_hazard(table.clock)
        )

    fit = weibull_fit(table)
    assert fit.law is not None
    at = np.log([fit.law.shape, fit.law.scale])
    assert fit.log_likelihood == pytest.approx(log_likelihood(*at))
    step = 1e-4
    numeric = np.empty((2, 2))
    for i in range(2):
        for j in range(2):
            moves = [(a, b) for a in (1, -1) for b in (1, -1)]
            numeric[i, j] = sum(
                a * b * log_likelihood(*(at + step * (a * np.eye(2)[i] + b * np.eye(2)[j])))
                for a, b in moves
            ) / (4 * step**2)
    np.testing.assert_allclose(profile.information(at[0]), -numeric, rtol=1e-4)


lives_lists = st.lists(
    st.tuples(st.integers(0, 50), st.integers(1, 200), st.booleans()), min_size=4, max_size=40
)


@settings(max_examples=40, deadline=None)
@given(lives_lists)
def test_fit_is_no_worse_than_a_general_search(lives: list[tuple[int, int, bool]]) -> None:
    entry = np.array([a for a, _, _ in lives], float)
    exit_ = np.array([a + b for a, b, _ in lives], float)
    failed = np.array([c for *_, c in lives])
    fit = weibull_fit(table_of(exit_, failed.astype(int), entry))
    if fit.law is None:
        return

    def loss(at: Any) -> float:
        law = WeibullLaw(*np.exp(np.clip(at, -20, 20)))
        gained = law.log_hazard(exit_[failed]).sum()
        return float(
            law.cumulative_hazard(exit_).sum() - law.cumulative_hazard(entry).sum() - gained
        )

    with np.errstate(over="ignore", invalid="ignore"):
        found = min(
            float(minimize(loss, [a, np.log(exit_.mean())], method="Nelder-Mead").fun)
            for a in (-1.0, 0.5, 1.5)
        )
    at_fit = loss(np.log([fit.law.shape, fit.law.scale]))
    assert fit.log_likelihood == pytest.approx(-at_fit)
    assert at_fit <= found + 1e-6


@settings(max_examples=30, deadline=None)
@given(lives_lists, st.integers(2, 1000))
def test_scaling_the_clock_scales_the_scale(
    lives: list[tuple[int, int, bool]], factor: int
) -> None:
    table = table_of(
        [a + b for a, b, _ in lives], [int(c) for *_, c in lives], [a for a, *_ in lives]
    )
    once, scaled = weibull_fit(table), weibull_fit(table.in_unit("finer", factor))
    assert once.status is scaled.status
    if once.law is not None and scaled.law is not None:
        assert scaled.law.scale == pytest.approx(once.law.scale * factor, rel=1e-6)
        assert scaled.law.shape == pytest.approx(once.law.shape, rel=1e-6)


def test_weighted_lives_fit_as_the_table_of_repeated_lives() -> None:
    exit_, failed, entry = [15, 18, 22, 40], [1, 0, 1, 1], [0, 9, 10, 0]
    law = weibull_fit_weighted(entry, exit_, failed, [2, 1, 3, 1])
    fit = weibull_fit(table_of(exit_, failed, entry, weight=[2, 1, 3, 1]))
    assert fit.law is not None
    assert law.shape == pytest.approx(fit.law.shape)
    assert law.scale == pytest.approx(fit.law.scale)


def test_weighted_lives_without_a_failure_are_refused() -> None:
    with pytest.raises(ValueError, match="no failure carries weight"):
        weibull_fit_weighted([0, 0], [10, 20], [True, False], [0, 1])
    law = weibull_fit_weighted([0, 0], [10, 20], [True, False], [1, 0], fixed_shape=1)
    assert law.scale == pytest.approx(10)
