"""Hazard ratios, against R, published cases, a slow second way and the laws they obey."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from garage.lifetimes.comparison.hazard_lives import FailureGrid, HazardLives
from garage.lifetimes.comparison.partial_likelihood import PartialLikelihood, SummedTies
from garage.lifetimes.comparison.proportional_hazards import (
    ProportionalHazards,
    proportional_hazards,
)
from garage.lifetimes.status import Status
from tests.lifetimes.comparison.small_lives import (
    STRATUM,
    VEHICLE,
    WEIGHT,
    DrawnLife,
    coefficients,
    errors,
    lives_of,
    moments_of_failure,
    one_column,
    slopes_equal_differences,
    small_lives,
    some_lives,
)
from tests.lifetimes.conftest import CheckCase, Rows

Cases = Callable[[str], CheckCase]
ReadRows = Callable[[str], Rows]


# Published cases


def test_six_subjects_case(check_case: Cases) -> None:
    # Therneau, Software validation (2022): exact roots and fractions.
    case = check_case("COX-01")
    lives = one_column(case.data["time"], case.data["event"], case.data["x"])
    efron, breslow = (proportional_hazards(lives, ties=each) for each in ("efron", "breslow"))
    case.holds("Efron beta = log(2 sqrt(23/3) cos(phi/3))", coefficients(efron)[0])
    case.holds("Efron loglik at 0, at beta", [efron.log_likelihood_null, efron.log_likelihood])
    case.holds("Efron information at beta", 1 / errors(efron)[0] ** 2)
    case.holds("Breslow beta = log((3+sqrt 33)/2)", coefficients(breslow)[0])
    null = PartialLikelihood.of(FailureGrid.of(lives), "efron").at(np.zeros(1))
    assert null is not None
    scale = null.likelihood.grid.scale[0]
    case.holds(
        "Efron score at 0 = 52/48, information at 0 = 83/144",
        [null.score[0] * scale, null.information[0, 0] * scale**2],
    )


def test_remission_case(check_case: Cases, check_rows: ReadRows) -> None:
    case, rows = check_case("LR-01"), check_rows("freireich_6mp.csv")
    lives = one_column(
        [float(each["time"]) for each in rows],
        [int(each["status"]) for each in rows],
        [float(each["trt"] == "placebo") for each in rows],
    )
    fit = proportional_hazards(lives)
    ratio = fit.ratio_of("x")
    case.holds(
        "Cox Efron log hazard ratio placebo/6-MP, SE", [ratio.coefficient, ratio.standard_error]
    )
    case.holds("Cox Efron HR 95%", [ratio.lower, ratio.upper])
    case.holds("Cox Efron loglik null, fitted", [fit.log_likelihood_null, fit.log_likelihood])
    breslow = proportional_hazards(lives, ties="breslow").ratio_of("x")
    case.holds("Cox Breslow log HR, SE", [breslow.coefficient, breslow.standard_error])
    exact = proportional_hazards(lives, ties="exact").ratio_of("x")
    case.holds("Cox exact log HR, SE", [exact.coefficient, exact.standard_error])


def test_four_stages_and_age_case(check_case: Cases, check_rows: ReadRows) -> None:
    case, rows = check_case("LR-05"), check_rows("larynx.csv")
    stage = np.array([int(each["stage"]) for each in rows])
    columns = [*(stage == each for each in (2, 3, 4)), [float(each["age"]) for each in rows]]
    fit = proportional_hazards(
        HazardLives(
            np.zeros(len(rows)),
            [float(each["time"]) for each in rows],
            [int(each["delta"]) for each in rows],
            np.column_stack(columns),
            ("stage 2", "stage 3", "stage 4", "age"),
        )
    )
    case.holds("Cox Efron: coefficients stage 2, 3, 4, age", coefficients(fit))
    case.holds("Cox SE age, stage 2, 3, 4", [errors(fit)[each] for each in (3, 0, 1, 2)])
    case.holds("Cox Efron loglik null, fitted", [fit.log_likelihood_null, fit.log_likelihood])


def test_late_entry_of_residents_case(check_case: Cases, check_rows: ReadRows) -> None:
    case, rows = check_case("COX-03"), check_rows("channing.csv")
    rows = [each for each in rows if float(each["age"]) > float(each["ageentry"])]
    lives = one_column(
        [float(each["age"]) for each in rows],
        [int(each["death"]) for each in rows],
        [float(each["sex"] == "M") for each in rows],
        [float(each["ageentry"]) for each in rows],
    )
    efron, breslow = (proportional_hazards(lives, ties=each) for each in ("efron", "breslow"))
    case.holds("Channing: Efron log HR men, SE", [coefficients(efron)[0], errors(efron)[0]])
    case.holds(
        "Channing: score test Efron, Breslow",
        [efron.score_test.statistic, breslow.score_test.statistic],
    )


@pytest.mark.parametrize(
    ("one", "other", "name"),
    [
        ("8", "7", "bus group 8 against 7: log HR, SE, score test (no ties)"),
        ("4", "3", "bus group 4 against 3: log HR, SE, score test"),
    ],
)
def test_late_entry_of_engines_case(
    check_case: Cases, check_rows: ReadRows, one: str, other: str, name: str
) -> None:
    case, rows = check_case("COX-03"), check_rows("fetched/rust_bus_engines.csv")
    rows = [each for each in rows if each["group"] in (one, other)]
    fit = proportional_hazards(
        one_column(
            [float(each["exit_miles"]) for each in rows],
            [int(each["replaced"]) for each in rows],
            [float(each["group"] == one) for each in rows],
            [float(each["entry_miles"]) for each in rows],
        )
    )
    case.holds(name, [coefficients(fit)[0], errors(fit)[0], fit.score_test.statistic])


# Against R, on the lives of small_lives.py


def test_efron_with_late_entry_and_ties_equals_r() -> None:
    # coxph(Y ~ cleaned + load)
    fit = proportional_hazards(small_lives())
    np.testing.assert_allclose(coefficients(fit), [1.9491228422, 0.615408802195], atol=1e-9)
    np.testing.assert_allclose(errors(fit), [0.647053945953, 0.312428299727], atol=1e-9)
    assert fit.log_likelihood_null == pytest.approx(-38.8156906206, abs=1e-9)
    assert fit.log_likelihood == pytest.approx(-32.594574202, abs=1e-9)
    assert fit.likelihood_ratio_test.statistic == pytest.approx(12.4422328372, abs=1e-8)
    assert fit.score_test.statistic == pytest.approx(12.8593921743, abs=1e-9)
    assert fit.wald_test.statistic == pytest.approx(11.4383065874, abs=1e-8)
    assert (fit.n, fit.failed, fit.clusters) == (24, 16, None)
    assert fit.status is Status.FEW_FAILURES


def test_breslow_with_late_entry_and_ties_equals_r() -> None:
    # coxph(Y ~ cleaned + load, ties = "breslow")
    fit = proportional_hazards(small_lives(), ties="breslow")
    np.testing.assert_allclose(coefficients(fit), [1.85362196745, 0.588940997741], atol=1e-9)
    np.testing.assert_allclose(errors(fit), [0.640187492292, 0.312013434037], atol=1e-9)
    assert fit.log_likelihood == pytest.approx(-33.3807058892, abs=1e-9)
    assert fit.score_test.statistic == pytest.approx(11.8779681883, abs=1e-9)


def test_strata_equal_r() -> None:
    # coxph(Y ~ cleaned + load + strata(s))
    fit = proportional_hazards(small_lives(stratum=STRATUM))
    np.testing.assert_allclose(coefficients(fit), [2.4140022972, 0.751881466171], atol=1e-9)
    np.testing.assert_allclose(errors(fit), [0.85698036238, 0.36770657262], atol=1e-9)
    assert fit.log_likelihood_null == pytest.approx(-28.6118097537, abs=1e-9)
    assert fit.log_likelihood == pytest.approx(-21.3478477421, abs=1e-9)
    assert fit.score_test.statistic == pytest.approx(15.2132379674, abs=1e-9)


def test_clustered_errors_equal_r() -> None:
    # coxph(Y ~ cleaned + load + cluster(v)), then with Breslow's ties, then + strata(s)
    fit = proportional_hazards(small_lives(cluster=VEHICLE))
    np.testing.assert_allclose(errors(fit), [0.389536207292, 0.331922816395], atol=1e-9)
    assert fit.covariance is not None
    assert fit.covariance[0, 1] == pytest.approx(0.0254915006426, abs=1e-9)
    assert fit.wald_test.statistic == pytest.approx(25.8201291683, abs=1e-7)
    assert fit.clusters == 12
    breslow = proportional_hazards(small_lives(cluster=VEHICLE), ties="breslow")
    np.testing.assert_allclose(errors(breslow), [0.377386384371, 0.33436610708], atol=1e-9)
    both = proportional_hazards(small_lives(cluster=VEHICLE, stratum=STRATUM))
    np.testing.assert_allclose(errors(both), [0.703904644109, 0.34597673992], atol=1e-9)


def test_weighted_lives_equal_r() -> None:
    # coxph(Y ~ cleaned + load + cluster(v), weights = w), then with Breslow's ties; the model
    # errors are fit$naive.var.
    lives = small_lives(cluster=VEHICLE, weight=WEIGHT)
    fit, breslow = (proportional_hazards(lives, ties=each) for each in ("efron", "breslow"))
    np.testing.assert_allclose(coefficients(fit), [1.888527331, 0.543467682018], atol=1e-9)
    np.testing.assert_allclose(errors(fit), [0.265390683329, 0.299416282863], atol=1e-9)
    assert fit.model_covariance is not None
    model = np.sqrt(np.diag(fit.model_covariance))
    np.testing.assert_allclose(model, [0.477090289386, 0.228141734397], atol=1e-9)
    assert fit.log_likelihood == pytest.approx(-73.7720705312, abs=1e-9)
    np.testing.assert_allclose(coefficients(breslow), [1.78393106709, 0.511840373889], atol=1e-9)
    np.testing.assert_allclose(errors(breslow), [0.259904314101, 0.301934420444], atol=1e-9)


# Laws

both_ties = st.sampled_from(["efron", "breslow"])
slopes = st.tuples(st.floats(-1.5, 1.5), st.floats(-1.5, 1.5))


def slow_likelihood(lives: HazardLives, slope: np.ndarray, ties: SummedTies) -> float:
    """The log partial likelihood summed risk set by risk set."""
    value = 0.0
    for at_risk, now in moments_of_failure(lives, slope):
        gone = np.arange(len(now)) / len(now) if ties == "efron" else np.zeros(len(now))
        sums = np.exp(at_risk).sum() - gone * np.exp(now).sum()
        value += now.sum() - np.log(sums).sum()
    return value


@settings(max_examples=60)
@given(some_lives, slopes, both_ties, st.sampled_from([1.0, 0.37]))
def test_likelihood_and_slopes_equal_a_slow_count(
    drawn: list[DrawnLife],
    slope: tuple[float, float],
    ties: SummedTies,
    step: float,
) -> None:
    lives = lives_of(drawn, step)
    grid = FailureGrid.of(lives)
    if not len(grid.failed):
        return
    likelihood = PartialLikelihood.of(grid, ties)
    point = likelihood.at(np.array(slope) * grid.scale)
    assert point is not None
    assert point.value == pytest.approx(slow_likelihood(lives, np.array(slope), ties), abs=1e-9)
    slopes_equal_differences(point)


def grouped_lives(seed: int, n: int = 60) -> HazardLives:
    """Invented lives with late entry, ties, two covariates, vehicles of three and strata."""
    rng = np.random.default_rng(seed)
    columns = np.column_stack([rng.integers(0, 2, n), rng.normal(size=n)])
    entry = rng.integers(0, 20, n) * rng.integers(0, 2, n)
    length = np.ceil(rng.exponential(30 * np.exp(-columns @ [0.8, -0.4]))) + 1
    failed = (length < 60) & (rng.random(n) < 0.8)
    return HazardLives(
        entry,
        entry + np.minimum(length, 60),
        failed,
        columns,
        ("cleaned", "load"),
        stratum=rng.integers(0, 2, n),
        cluster=np.arange(n) // 3,
        weight=rng.integers(1, 4, n),
    )


def taken(lives: HazardLives, places: np.ndarray, **changed: object) -> HazardLives:
    arrays = {
        name: np.asarray(getattr(lives, name))[places]
        for name in ("entry", "exit", "failed", "covariates", "stratum", "cluster", "weight")
    }
    return replace(lives, **(arrays | changed))


def test_order_of_lives_does_not_matter() -> None:
    lives = grouped_lives(1)
    shuffled = taken(lives, np.random.default_rng(2).permutation(60))
    once, again = proportional_hazards(lives), proportional_hazards(shuffled)
    np.testing.assert_allclose(coefficients(once), coefficients(again), rtol=1e-10)
    np.testing.assert_allclose(errors(once), errors(again), rtol=1e-10)


def test_unit_of_a_covariate_does_not_matter() -> None:
    lives = grouped_lives(3)
    scaled = replace(lives, covariates=np.asarray(lives.covariates) * [1, 1e6] + [5, -3e7])
    once, again = proportional_hazards(lives), proportional_hazards(scaled)
    unit = np.array([1, 1e6])
    np.testing.assert_allclose(coefficients(once), coefficients(again) * unit, rtol=1e-7)
    np.testing.assert_allclose(errors(once), errors(again) * unit, rtol=1e-7)
    assert once.log_likelihood == pytest.approx(again.log_likelihood, abs=1e-8)


def test_clock_may_be_stretched_anyhow() -> None:
    # Only the order of the clock enters; whole numbers and others are counted by other ways.
    lives = grouped_lives(4)
    stretched = replace(
        lives,
        entry=np.sqrt(np.asarray(lives.entry, float)),
        exit=np.sqrt(np.asarray(lives.exit, float)),
    )
    once, again = proportional_hazards(lives), proportional_hazards(stretched)
    np.testing.assert_allclose(coefficients(once), coefficients(again), rtol=1e-12)


def test_strata_and_clusters_may_carry_any_labels() -> None:
    lives = grouped_lives(5)
    other = replace(
        lives,
        stratum=np.where(np.asarray(lives.stratum) == 0, 10**12, -7),
        cluster=10**9 * np.asarray(lives.cluster) + 5,
    )
    once, again = proportional_hazards(lives), proportional_hazards(other)
    np.testing.assert_allclose(coefficients(once), coefficients(again), rtol=1e-12)
    np.testing.assert_allclose(errors(once), errors(again), rtol=1e-12)


def test_weights_are_repetitions_under_breslow() -> None:
    lives = grouped_lives(6)
    times = np.asarray(lives.weight, int)
    repeated = taken(lives, np.repeat(np.arange(60), times), weight=None)
    once, again = (proportional_hazards(each, ties="breslow") for each in (lives, repeated))
    np.testing.assert_allclose(coefficients(once), coefficients(again), rtol=1e-10)
    # Rows of one vehicle are one cluster, so the robust errors agree as well.
    np.testing.assert_allclose(errors(once), errors(again), rtol=1e-9)
    assert once.log_likelihood == pytest.approx(again.log_likelihood, rel=1e-12)


def test_a_life_never_at_risk_at_a_failure_changes_nothing() -> None:
    lives = small_lives(cluster=VEHICLE)
    longer = HazardLives(
        [*np.asarray(lives.entry), 40, 0],
        [*np.asarray(lives.exit), 50, 1],
        [*np.asarray(lives.failed), 0, 0],
        np.vstack([np.asarray(lives.covariates), [[9.0, 1e6], [1.0, -1e6]]]),
        lives.names,
        cluster=[*VEHICLE, 99, 98],
    )
    once, again = proportional_hazards(lives), proportional_hazards(longer)
    np.testing.assert_allclose(coefficients(once), coefficients(again), rtol=1e-12)
    np.testing.assert_allclose(errors(once), errors(again), rtol=1e-12)
    assert (once.n, again.n, again.clusters) == (24, 26, 12)


@pytest.mark.slow
def test_clustered_limits_hold_the_truth_at_their_level() -> None:
    """200 vehicles of four lives; level found 0.957 of 1 000, 0.80 as if lives were independent.

    Vehicles differ by a positive stable factor of index 0.6, under which hazards stay
    proportional between groups: the coefficient over vehicles is 0.6 times that within one
    (Hougaard, Biometrika 73, 1986; from memory).
    """
    rng = np.random.default_rng(19_890_101)
    index, within, repeats, vehicles = 0.6, 1.0, 1_000, 200
    robust = plain = 0
    vehicle = np.repeat(np.arange(vehicles), 4)
    x = (vehicle % 2).astype(float)
    for _ in range(repeats):
        angle, draw = rng.uniform(0, np.pi, vehicles), rng.exponential(size=vehicles)
        factor = np.sin(index * angle) / np.sin(angle) ** (1 / index)
        factor *= (np.sin((1 - index) * angle) / draw) ** ((1 - index) / index)
        life = rng.exponential(size=len(x)) / (factor[vehicle] * np.exp(within * x))
        end = rng.uniform(0, 6, len(x))
        fit = proportional_hazards(
            HazardLives(
                np.zeros(len(x)),
                np.minimum(life, end),
                life <= end,
                x[:, None],
                ("x",),
                cluster=vehicle,
            )
        )
        off = abs(coefficients(fit)[0] - index * within) / 1.959964
        assert fit.model_covariance is not None
        robust += off < errors(fit)[0]
        plain += off < np.sqrt(fit.model_covariance[0, 0])
    # Three binomial standard errors at 0.95 of 1 000 are 0.021.
    assert abs(robust / repeats - 0.95) < 0.021
    assert plain / repeats < 0.85


# Where there is no figure


def assert_nothing(fit: ProportionalHazards, status: Status, words: str) -> None:
    assert fit.status is status
    assert words in fit.reason
    for each in fit.ratios:
        figures = (each.coefficient, each.standard_error, each.value, each.lower, each.upper)
        assert figures == (None,) * 5
        assert (each.status, each.reason) == (status, fit.reason)
    assert fit.covariance is None
    assert fit.log_likelihood is None
    assert fit.wald_test.p_value is None
    assert fit.likelihood_ratio_test.p_value is None


def test_a_kind_that_never_failed_runs_off_and_keeps_its_score_test() -> None:
    lives = one_column([3, 5, 6, 8, 9, 9], [1, 1, 1, 0, 0, 0], [0, 0, 0, 1, 1, 1])
    fit = proportional_hazards(lives)
    assert_nothing(fit, Status.RUNS_OFF, "'x'")
    assert fit.score_test.statistic is not None
    assert (fit.n, fit.failed) == (6, 3)


@pytest.mark.parametrize("late", [False, True])
def test_run_off_of_one_among_many_is_named(late: bool) -> None:
    rng = np.random.default_rng(7)
    n = 5_000
    rare, load = rng.random(n) < 0.02, rng.normal(size=n)
    entry = np.where(late, rng.integers(0, 30, n), 0)
    failed = (rng.random(n) < 0.5) & ~rare
    fit = proportional_hazards(
        HazardLives(
            entry,
            entry + rng.integers(1, 80, n),
            failed,
            np.column_stack([rare, load]),
            ("rare kind", "load"),
        )
    )
    assert_nothing(fit, Status.RUNS_OFF, "along 'rare kind':")


def test_run_off_beyond_all_numbers_is_no_failed_search() -> None:
    # One life far out fails first among two: each step doubles what is beyond any number.
    rng = np.random.default_rng(2160)
    n = 40
    columns = np.column_stack([rng.normal(size=n), rng.normal(size=n)])
    exit_, failed = rng.integers(5, 12, n), np.zeros(n)
    exit_[0], failed[0], columns[0, 0] = 1, 1, 0.9 * columns[:, 0].max()
    exit_[np.argmax(columns[:, 0])], failed[np.argmax(columns[:, 0])] = 1, 1
    fit = proportional_hazards(
        HazardLives(np.zeros(n), exit_, failed, columns, ("wear", "load")), ties="breslow"
    )
    assert_nothing(fit, Status.RUNS_OFF, "without bound along")


@pytest.mark.parametrize("ties", ["efron", "breslow"])
def test_far_apart_hazards_are_summed_without_loss(ties: SummedTies) -> None:
    # Lives 10^13 times as hazardous come after the first failures and go before the last: in one
    # running sum the rounding of theirs would drown what was there before.
    drawn = [(a, b, c, x, 0) for a, b, c, x in (
        *((0, 1, True, -1), (0, 2, True, -1), (0, 12, True, -1), (0, 13, True, -1)),
        *((0, 14, False, -1), (2, 12, True, 0)),
        *((3, 2, True, 1), (4, 2, True, 1), (4, 3, False, 1), (2, 9, True, 1)),
    )]  # fmt: skip
    lives = lives_of(drawn)
    grid = FailureGrid.of(lives)
    slope = np.array([15.0, 0.0])
    point = PartialLikelihood.of(grid, ties).at(slope * grid.scale)
    assert point is not None
    assert point.value == pytest.approx(slow_likelihood(lives, slope, ties), rel=1e-12)


def test_a_large_ratio_with_failures_on_both_sides_does_not_run_off() -> None:
    # One failure in the long-lived kind is enough for a finite ratio, of about 1 to 16 000.
    n = 2_000
    x = np.repeat([0.0, 1.0], n)
    exit_ = np.concatenate([np.arange(n) % 50 + 1, np.full(n, 60)])
    failed = np.concatenate([np.ones(n), np.zeros(n)])
    exit_[n], failed[n] = 25, 1
    fit = proportional_hazards(one_column(exit_.tolist(), failed.tolist(), x.tolist()))
    ratio = fit.ratio_of("x")
    assert fit.status is Status.OK
    assert ratio.value is not None
    assert 0 < ratio.value < 0.01
    assert ratio.lower is not None
    assert ratio.lower > 0


@pytest.mark.parametrize(
    ("column", "words"),
    [
        ("flat", "'extra' does not differ, or follows"),
        ("double", "'extra' does not differ, or follows"),
        ("by stratum", "'extra' does not differ, or follows"),
        ("sum", "'extra' does not differ, or follows"),
    ],
)
def test_covariates_that_follow_from_each_other_are_named(column: str, words: str) -> None:
    lives = grouped_lives(8)
    given = np.asarray(lives.covariates)
    extra = {
        "flat": np.full(60, 0.1),
        "double": 2 * given[:, 1] + 3,
        "by stratum": np.asarray(lives.stratum) * 4.5,
        "sum": given.sum(axis=1),
    }[column]
    doubled = replace(
        lives, covariates=np.column_stack([given, extra]), names=("cleaned", "load", "extra")
    )
    fit = proportional_hazards(doubled)
    assert_nothing(fit, Status.CANNOT_TELL_APART, words)
    assert fit.score_test.statistic is None


def test_no_lives_and_no_failures_say_so() -> None:
    none = HazardLives([], [], [], np.zeros((0, 1)), ("x",))
    assert_nothing(proportional_hazards(none), Status.NO_LIVES, "no life")
    idle = one_column([3, 5, 6], [0, 0, 0], [0, 1, 1])
    assert_nothing(proportional_hazards(idle), Status.NO_FAILURES, "none of 3 lives")


def test_one_cluster_gives_no_errors_and_few_a_warning() -> None:
    lives = grouped_lives(9, n=240)
    assert_nothing(
        proportional_hazards(replace(lives, cluster=np.zeros(240, int))),
        Status.FEW_CLUSTERS,
        "one cluster",
    )
    few = proportional_hazards(replace(lives, cluster=np.arange(240) % 19))
    enough = proportional_hazards(replace(lives, cluster=np.arange(240) % 20))
    assert (few.status, enough.status) == (Status.FEW_CLUSTERS, Status.OK)
    assert few.ratios[0].value is not None


def test_wald_test_needs_more_clusters_than_covariates() -> None:
    lives = grouped_lives(10, n=240)
    two, three = (
        proportional_hazards(replace(lives, cluster=np.arange(240) % each)) for each in (2, 3)
    )
    assert two.wald_test.statistic is None
    assert three.wald_test.statistic is not None


def test_a_ratio_too_large_for_a_number_is_none_with_a_reason() -> None:
    lives = small_lives()
    tiny = replace(lives, covariates=np.asarray(lives.covariates) * [1e-4, 1])
    ratio = proportional_hazards(tiny).ratio_of("cleaned")
    assert ratio.value is None
    assert ratio.coefficient == pytest.approx(19491.228422)
    assert ratio.status is Status.NOT_REACHED
    assert "larger units" in ratio.reason


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"exit": [1, 2, float("nan")]}, "`exit` is a finite number; got nan at index 2"),
        ({"entry": [0, 3, 0]}, "no earlier than it enters; got 3.0, 2.0 at index 1"),
        ({"entry": [0, 2, 0]}, "no watched time.*got 2.0, 2.0 at index 1"),
        ({"failed": [1, 1, 2]}, "`failed` is 0 or 1; got 2.0 at index 2"),
        ({"covariates": [[0], [1]]}, r"`covariates` must have shape \(3, 1\)"),
        ({"covariates": [[0], [1], [float("inf")]]}, "covariate 'x' is a finite number"),
        ({"names": ("x", "x")}, "named, each once"),
        ({"names": ()}, "named, each once"),
        ({"weight": [1, 0, 1]}, "a weight is above 0.*got 0.0 at index 1"),
        ({"stratum": [0.5, 1, 1]}, "`stratum` holds whole numbers"),
        ({"cluster": [1, 1]}, r"`cluster` must have shape \(3,\)"),
    ],
)
def test_refuses_bad_lives_and_says_where(changed: dict[str, object], words: str) -> None:
    good = HazardLives([0, 0, 0], [1, 2, 3], [1, 1, 1], [[0], [1], [0]], ("x",))
    with pytest.raises(ValueError, match=words):
        proportional_hazards(replace(good, **changed))  # type: ignore[arg-type]


def test_refuses_unknown_ties_names_and_levels() -> None:
    lives = small_lives()
    with pytest.raises(ValueError, match="efron, breslow, exact"):
        proportional_hazards(lives, ties="discrete")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="level"):
        proportional_hazards(lives, level=1.0)
    with pytest.raises(ValueError, match="'dust'"):
        proportional_hazards(lives).ratio_of("dust")
