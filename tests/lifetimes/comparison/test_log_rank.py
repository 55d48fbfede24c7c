"""The log-rank tests, against R, published cases, a slow second way and the laws they obey."""

from collections.abc import Callable, Sequence

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from garage.lifetimes.comparison.contrast import ChiSquare
from garage.lifetimes.comparison.hazard_lives import HazardLives
from garage.lifetimes.comparison.log_rank import (
    log_rank,
    log_rank_of_lives,
    stratified_log_rank,
)
from garage.lifetimes.comparison.log_rank_weights import (
    GEHAN,
    LOG_RANK,
    PETO_PETO,
    TARONE_WARE,
    LogRankWeights,
)
from garage.lifetimes.comparison.proportional_hazards import proportional_hazards
from garage.lifetimes.risk_table import LivesArrays, RiskRows, RiskTable
from garage.lifetimes.status import Status
from tests.lifetimes.comparison.small_lives import ENTRY, EXIT, FAILED, STRATUM
from tests.lifetimes.conftest import CheckCase, Rows, table_of

Cases = Callable[[str], CheckCase]
ReadRows = Callable[[str], Rows]
ALL_WEIGHTS = (
    *(LOG_RANK, GEHAN, TARONE_WARE, PETO_PETO),
    *(LogRankWeights("fleming-harrington", *each) for each in ((1, 0), (0, 1), (0.5, 0.5))),
)
THREE = [0, 1, 2] * 8


def tables_of(
    exit_: Sequence[float], failed: Sequence[int], group: Sequence[object], labels: Sequence[object]
) -> list[RiskTable]:
    """Tables of groups, watched from their start, in the order of the labels."""
    place = [[i for i, each in enumerate(group) if each == label] for label in labels]
    return [table_of([exit_[i] for i in each], [failed[i] for i in each]) for each in place]


def columns(rows: Rows, *names: str) -> list[list[int]]:
    return [[int(each[name]) for each in rows] for name in names]


# Published cases


def test_remission_case(check_case: Cases, check_rows: ReadRows) -> None:
    case, rows = check_case("LR-01"), check_rows("freireich_6mp.csv")
    time, status = columns(rows, "time", "status")
    groups = tables_of(time, status, [each["trt"] for each in rows], ["6MP", "placebo"])
    found = log_rank(groups)
    case.holds("log-rank chi2", found.statistic)
    case.holds("p", found.p_value)
    case.holds("observed 6-MP, placebo", found.observed)
    case.holds("expected 6-MP, placebo", found.expected)
    case.holds("variance of O-E", found.variance[0][0])
    case.holds("Gehan-Wilcoxon chi2", log_rank(groups, weights=GEHAN).statistic)
    case.holds("Tarone-Ware chi2", log_rank(groups, weights=TARONE_WARE).statistic)
    case.holds("Peto chi2", log_rank(groups, weights=PETO_PETO).statistic)
    assert (found.n, found.failed, found.status) == (42, 30, Status.OK)


def test_leukaemia_case(check_case: Cases, check_rows: ReadRows) -> None:
    case, rows = check_case("LR-03"), check_rows("aml.csv")
    time, status = columns(rows, "time", "status")
    labels = ["Maintained", "Nonmaintained"]
    groups = tables_of(time, status, [each["x"] for each in rows], labels)
    found = log_rank(groups)
    case.holds("O", found.observed)
    case.holds("E", found.expected)
    case.holds("chi2", found.statistic)
    peto = log_rank(groups, weights=LogRankWeights("fleming-harrington", rho=1))
    case.holds("Peto-Prentice rho=1 chi2", peto.statistic)


def test_four_stages_case(check_case: Cases, check_rows: ReadRows) -> None:
    case, rows = check_case("LR-05"), check_rows("larynx.csv")
    stage, status = columns(rows, "stage", "delta")
    tenths = [round(10 * float(each["time"])) for each in rows]
    found = log_rank(tables_of(tenths, status, stage, [1, 2, 3, 4]))
    case.holds("log-rank chi2 (3 df)", found.statistic)
    case.holds("p", found.p_value)
    case.holds("O", found.observed)
    case.holds("E", found.expected)
    assert found.degrees_of_freedom == 3


def test_plain_and_stratified_case(check_case: Cases, check_rows: ReadRows) -> None:
    case, rows = check_case("LR-07"), check_rows("ovarian.csv")
    time, status, rx, residual = columns(rows, "futime", "fustat", "rx", "resid.ds")
    plain = log_rank(tables_of(time, status, rx, [1, 2]))
    case.holds("E", plain.expected)
    case.holds("chi2", plain.statistic)
    both = list(zip(rx, residual, strict=True))
    strata = [tables_of(time, status, both, [(1, each), (2, each)]) for each in (1, 2)]
    found = stratified_log_rank(strata)
    case.holds("stratified E", found.expected)
    case.holds("stratified chi2", found.statistic)


# Against R 4.2.2, survival 3.5-3, on the lives of small_lives.py watched from their start


@pytest.mark.parametrize(
    ("rho", "observed", "expected", "statistic"),
    [
        (0.0, (5, 6, 5), (5.02634220598, 4.33453908156, 6.63911871246), 1.16002156901),
        (
            1.0,
            (3.67619047619, 4.17976190476, 2.99404761905),
            (3.39880952381, 3.24404761905, 4.20714285714),
            0.906861804347,
        ),
        (
            0.5,
            (4.22548913624, 4.96981170825, 3.7841153168),
            (4.06635622838, 3.72220794485, 5.19085198804),
            1.02771393196,
        ),
    ],
)
def test_three_tied_groups_equal_r(
    rho: float, observed: tuple[float, ...], expected: tuple[float, ...], statistic: float
) -> None:
    # survdiff(Surv(exit, failed) ~ group, rho = rho)
    found = log_rank(
        tables_of(EXIT, FAILED, THREE, [0, 1, 2]),
        weights=LogRankWeights("fleming-harrington", rho=rho),
    )
    np.testing.assert_allclose(found.observed, observed, atol=1e-10)
    np.testing.assert_allclose(found.expected, expected, atol=1e-10)
    assert found.statistic == pytest.approx(statistic, abs=1e-10)


def test_variance_is_that_of_r_and_not_the_short_form() -> None:
    # survdiff(Surv(exit, failed) ~ group)$var
    found = log_rank(tables_of(EXIT, FAILED, THREE, [0, 1, 2]))
    wanted = [
        [3.24188487740733, -1.24597180689420, -1.99591307051314],
        [-1.24597180689420, 2.84145257346586, -1.59548076657166],
        [-1.99591307051314, -1.59548076657166, 3.59139383708480],
    ]
    np.testing.assert_allclose(found.variance, wanted, atol=1e-12)
    pairs = zip(found.observed, found.expected, strict=True)
    short = sum((o - e) ** 2 / e for o, e in pairs)
    assert found.statistic is not None
    assert abs(found.statistic - short) > 0.05


def test_strata_of_three_groups_equal_r() -> None:
    # survdiff(Surv(exit, failed) ~ group + strata(s))
    both = list(zip(THREE, STRATUM, strict=True))
    strata = [tables_of(EXIT, FAILED, both, [(g, s) for g in range(3)]) for s in (0, 1)]
    found = stratified_log_rank(strata)
    np.testing.assert_allclose(
        found.expected, [5.28398268398, 4.13001443001, 6.586002886], atol=1e-9
    )
    assert found.statistic == pytest.approx(4.58382628248, abs=1e-9)


def test_trend_equals_r() -> None:
    # u <- s$obs - s$exp; w <- 0:2; sum(w * u)^2 / (w %*% s$var %*% w)
    groups = tables_of(EXIT, FAILED, THREE, [0, 1, 2])
    found = log_rank(groups, scores=[0, 1, 2])
    assert found.statistic == pytest.approx(0.240279248523, abs=1e-10)
    assert found.degrees_of_freedom == 1
    moved = log_rank(groups, scores=[1e9 + 5, 1e9 + 3, 1e9 + 1])
    assert moved.statistic == pytest.approx(0.240279248523, abs=1e-9)


@pytest.mark.parametrize(
    ("weights", "statistic"),
    [
        (GEHAN, 0.8287586125737),
        (TARONE_WARE, 0.9801348274031),
        (PETO_PETO, 0.8760032767647),
        (LogRankWeights("fleming-harrington", 0, 1), 1.9720739267506),
        (LogRankWeights("fleming-harrington", 0.5, 0.5), 1.8993384210988),
    ],
)
def test_weights_equal_another_program(weights: LogRankWeights, statistic: float) -> None:
    # lifelines 0.30.3: multivariate_logrank_test(EXIT, THREE, FAILED, weightings=...)
    found = log_rank(tables_of(EXIT, FAILED, THREE, [0, 1, 2]), weights=weights)
    assert found.statistic == pytest.approx(statistic, abs=1e-10)


def test_late_entry_without_ties_equals_the_score_test_of_r() -> None:
    # survdiff knows no late entry; coxph(Surv(entry, exit, failed) ~ g)$score, g and factor(g).
    entry = [0, 0, 3, 1, 0, 5, 0, 2, 7, 0, 4, 0]
    exit_ = [8, 3, 9, 12, 6, 14, 11, 5, 16, 18, 10, 20]
    lives = LivesArrays(entry, exit_, [1, 1, 1, 0, 1, 1, 0, 1, 1, 1, 1, 0])
    two = log_rank_of_lives(lives, [0, 1] * 6)
    three = log_rank_of_lives(lives, [0, 1, 2] * 4)
    assert two.statistic == pytest.approx(1.11300507034, abs=1e-10)
    assert three.statistic == pytest.approx(7.54220729603, abs=1e-10)


def test_late_entry_with_ties_equals_the_exact_score_test_of_r() -> None:
    # coxph(Surv(entry, exit, failed) ~ factor(g), ties = "exact")$score, ~ g, and with strata(s):
    # the exact form of ties has the hypergeometric variance.
    found = log_rank_of_lives(LivesArrays(ENTRY, EXIT, FAILED), THREE)
    assert found.statistic == pytest.approx(1.00109963507789, abs=1e-10)
    trend = log_rank_of_lives(LivesArrays(ENTRY, EXIT, FAILED), THREE, scores=[0, 1, 2])
    assert trend.statistic == pytest.approx(0.292222649025069, abs=1e-10)
    entry, exit_, failed = (np.array(each) for each in (ENTRY, EXIT, FAILED))
    cell = np.array(STRATUM) * 3 + THREE
    tables = [
        table_of(exit_[cell == each], failed[cell == each], entry[cell == each])
        for each in range(6)
    ]
    both = stratified_log_rank([tables[:3], tables[3:]])
    assert both.statistic == pytest.approx(4.03108497179282, abs=1e-10)


# Laws

life = st.tuples(st.integers(0, 6), st.integers(1, 8), st.booleans(), st.integers(0, 2))
some_lives = st.lists(life, min_size=3, max_size=40).map(
    # One idle life a group, so that none is empty.
    lambda drawn: [*drawn, *((0, 20, False, each) for each in range(3))]
)


def split(
    drawn: list[tuple[int, int, bool, int]],
) -> tuple[LivesArrays, list[int], list[RiskTable]]:
    entry, exit_ = [a for a, *_ in drawn], [a + b for a, b, *_ in drawn]
    failed, group = [int(c) for *_, c, _ in drawn], [g for *_, g in drawn]
    tables = []
    for label in range(3):
        mine = [i for i, each in enumerate(group) if each == label]
        parts = ([values[i] for i in mine] for values in (exit_, failed, entry))
        tables.append(table_of(*parts))
    return LivesArrays(entry, exit_, failed), group, tables


def slow_scores(
    drawn: list[tuple[int, int, bool, int]], weights: LogRankWeights
) -> tuple[np.ndarray, np.ndarray]:
    """Scores and variance, risk set by risk set; the weights written out once more."""
    score, variance = np.zeros(3), np.zeros((3, 3))
    survival = modified = 1.0
    for clock in sorted({a + b for a, b, c, _ in drawn if c}):
        risk = np.array(
            [sum(a < clock <= a + b and g == k for a, b, _, g in drawn) for k in range(3)]
        )
        dead = np.array(
            [sum(a + b == clock and c and g == k for a, b, c, g in drawn) for k in range(3)]
        )
        y, d = risk.sum(), dead.sum()
        modified *= 1 - d / (y + 1)
        weight = {
            "log-rank": 1.0,
            "gehan": y,
            "tarone-ware": y**0.5,
            "peto-peto": modified,
            "fleming-harrington": survival**weights.rho * (1 - survival) ** weights.gamma,
        }[weights.kind]
        survival *= 1 - d / y
        share = risk / y
        score += weight * (dead - d * share)
        if y > 1:
            spread = weight**2 * d * (y - d) / (y - 1)
            variance += spread * (np.diag(share) - np.outer(share, share))
    return score, variance


@settings(max_examples=80)
@given(some_lives, st.sampled_from(ALL_WEIGHTS))
def test_every_weighting_equals_a_slow_count(
    drawn: list[tuple[int, int, bool, int]], weights: LogRankWeights
) -> None:
    lives, group, tables = split(drawn)
    score, variance = slow_scores(drawn, weights)
    for found in (
        log_rank(tables, weights=weights),
        log_rank_of_lives(lives, group, weights=weights),
    ):
        np.testing.assert_allclose(np.subtract(found.observed, found.expected), score, atol=1e-9)
        np.testing.assert_allclose(found.variance, variance, atol=1e-9)
        assert sum(found.observed) == pytest.approx(sum(found.expected), abs=1e-9)
        if found.statistic is not None:
            wanted = score @ np.linalg.pinv(variance, rcond=1e-8) @ score
            assert found.statistic == pytest.approx(wanted, abs=1e-7)


@settings(max_examples=40)
@given(some_lives, st.permutations(range(3)))
def test_order_of_groups_does_not_matter(
    drawn: list[tuple[int, int, bool, int]], order: list[int]
) -> None:
    tables = split(drawn)[2]
    once, again = log_rank(tables), log_rank([tables[each] for each in order])
    assert [once.expected[each] for each in order] == pytest.approx(again.expected)
    if once.statistic is None:
        assert again.statistic is None
    else:
        assert again.statistic == pytest.approx(once.statistic, abs=1e-8)


@settings(max_examples=40)
@given(some_lives)
def test_score_of_two_groups_is_the_slope_of_the_breslow_likelihood_at_zero(
    drawn: list[tuple[int, int, bool, int]],
) -> None:
    from garage.lifetimes.comparison.hazard_lives import FailureGrid
    from garage.lifetimes.comparison.partial_likelihood import PartialLikelihood

    lives, group, _ = split(drawn)
    first = [min(each, 1) for each in group]
    found = log_rank_of_lives(lives, first)
    grid = FailureGrid.of(
        HazardLives(lives.entry, lives.exit, lives.cause, np.array([first]).T, ("group",))
    )
    if len(grid.failed):
        point = PartialLikelihood.of(grid, "breslow").at(np.zeros(1))
        assert point is not None
        # Both are observed less expected in the second group.
        wanted = found.observed[1] - found.expected[1]
        assert point.score[0] * grid.scale[0] == pytest.approx(wanted, abs=1e-9)


def test_untied_lives_give_the_score_test_of_proportional_hazards() -> None:
    rng = np.random.default_rng(11)
    exit_ = rng.permutation(200) + 50
    entry = np.where(rng.random(200) < 0.4, rng.integers(0, 50, 200), 0)
    failed, group = rng.random(200) < 0.6, rng.integers(0, 3, 200)
    fit = proportional_hazards(
        HazardLives(entry, exit_, failed, np.column_stack([group == 1, group == 2]), ("one", "two"))
    )
    found = log_rank_of_lives(LivesArrays(entry, exit_, failed), group)
    assert found.statistic == pytest.approx(fit.score_test.statistic, rel=1e-10)


def test_strata_add_up() -> None:
    both = list(zip(THREE, STRATUM, strict=True))
    strata = [tables_of(EXIT, FAILED, both, [(g, s) for g in range(3)]) for s in (0, 1)]
    whole, parts = stratified_log_rank(strata), [log_rank(each) for each in strata]
    np.testing.assert_allclose(whole.expected, np.sum([p.expected for p in parts], axis=0))
    np.testing.assert_allclose(whole.variance, np.sum([p.variance for p in parts], axis=0))
    assert whole.n == sum(each.n for each in parts)


def test_fractional_withdrawals_lower_the_number_at_risk() -> None:
    # Worked by hand: at 5, 1.5 of 3.5 at risk are of the first group; its one failure against
    # 3/7 expected, and one failure has the variance 3/7 times 4/7.
    first = RiskTable.from_rows(RiskRows([0, 3, 5], [2, 0, 0], [0, 0, 1], [0, 0.5, 0.5]), unit="km")
    second = RiskTable.from_rows(RiskRows([0, 9], [2, 0], [0, 0], [0, 2]), unit="km")
    found = log_rank([first, second])
    assert found.expected == pytest.approx((3 / 7, 4 / 7))
    assert found.statistic == pytest.approx((4 / 7) ** 2 / (12 / 49))


def test_weights_of_lives_are_repetitions() -> None:
    lives = LivesArrays([0] * 24, EXIT, FAILED, weight=[1, 2, 3] * 8)
    times = np.tile([1, 2, 3], 8)
    again = LivesArrays([0] * int(times.sum()), np.repeat(EXIT, times), np.repeat(FAILED, times))
    group = [0, 1] * 12
    once = log_rank_of_lives(lives, group)
    assert once == log_rank_of_lives(again, np.repeat(group, times))


@pytest.mark.slow
def test_equal_groups_are_told_apart_as_rarely_as_promised() -> None:
    """Three groups of 40 of one law, entering late; found 0.0525 of 2 000 times at 0.05."""
    rng = np.random.default_rng(20_261_126)
    wrong, repeats = 0, 2_000
    for _ in range(repeats):
        entry = np.where(rng.random(120) < 0.3, rng.integers(0, 80, 120), 0)
        life = entry + np.ceil(rng.exponential(100, 120)).astype(int)
        end = entry + rng.integers(20, 200, 120)
        lives = LivesArrays(entry, np.minimum(life, end), life <= end)
        found = log_rank_of_lives(lives, np.arange(120) % 3)
        assert found.p_value is not None
        wrong += found.p_value < 0.05
    # Three binomial standard errors are 0.015.
    assert abs(wrong / repeats - 0.05) < 0.015


# Where there is no figure, or one with a warning


def test_a_group_without_lives_is_named() -> None:
    groups = [table_of([3, 5], [1, 0]), RiskTable.empty("steps", ["cause 1"])]
    found = log_rank(groups)
    assert (found.statistic, found.p_value, found.status) == (None, None, Status.NO_LIVES)
    assert "group 2" in found.reason
    # A group may be empty in some strata.
    filled = [table_of([4, 6], [1, 0]), table_of([5, 7], [1, 1])]
    assert stratified_log_rank([groups, filled]).status is Status.OK


def test_no_failures_say_so() -> None:
    found = log_rank([table_of([3, 5], [0, 0]), table_of([4], [0])])
    assert (found.statistic, found.status, found.n) == (None, Status.NO_FAILURES, 3)


def test_groups_never_at_risk_together_cannot_be_told_apart() -> None:
    early, late = table_of([3, 5], [1, 1]), table_of([13, 15], [1, 1], [10, 10])
    found = log_rank([early, late])
    assert (found.statistic, found.status) == (None, Status.CANNOT_TELL_APART)
    trend = log_rank([early, late], scores=[0, 1])
    assert (trend.statistic, trend.status) == (None, Status.CANNOT_TELL_APART)


def test_survival_weights_refuse_a_collapsed_curve_and_others_do_not() -> None:
    # The only life at risk fails at 2; all others come under watch at 5.
    first = table_of([2, 9, 11], [1, 1, 0], [0, 5, 5])
    second = table_of([8, 12], [1, 1], [5, 5])
    found = log_rank([first, second], weights=LogRankWeights("fleming-harrington", rho=1))
    assert (found.statistic, found.status) == (None, Status.SMALL_RISK_SET)
    assert "all 1 at risk at clock 2" in found.reason
    for weights in (LOG_RANK, GEHAN, TARONE_WARE, PETO_PETO):
        assert log_rank([first, second], weights=weights).status is Status.OK


@pytest.mark.parametrize(("other", "status"), [(0.8, Status.OK), (0.6, Status.UNEQUAL_CAPTURE)])
def test_unequal_capture_shares_are_marked(other: float, status: Status) -> None:
    captures = np.where(np.arange(24) % 2 == 0, 0.8, other)
    lives = LivesArrays([0] * 24, EXIT, FAILED, capture=captures)
    found = log_rank_of_lives(lives, [0, 1] * 12)
    tables = [
        RiskTable.from_lives(
            LivesArrays([0] * 12, EXIT[each::2], FAILED[each::2], capture=captures[each::2]),
            unit="km",
        )
        for each in (0, 1)
    ]
    for each in (found, log_rank(tables)):
        assert each.status is status
        # The figures are those of failures seen, either way.
        plain = log_rank_of_lives(LivesArrays([0] * 24, EXIT, FAILED), [0, 1] * 12)
        assert each.statistic == pytest.approx(plain.statistic)
        assert ("60 to 80 %" in each.reason) == (status is Status.UNEQUAL_CAPTURE)


def test_causes_all_count_as_failures() -> None:
    causes = [1, 2, 0, 2, 1, 1, 0, 2]
    exit_ = [3, 4, 4, 6, 7, 8, 9, 9]
    two = [table_of(exit_[each::2], causes[each::2], causes=2) for each in (0, 1)]
    one = [table_of(exit_[each::2], np.minimum(causes[each::2], 1)) for each in (0, 1)]
    assert log_rank(two).statistic == log_rank(one).statistic


@pytest.mark.parametrize(
    ("groups", "further", "words"),
    [
        ([table_of([3], [1])], {}, "two or more groups"),
        ([table_of([3], [1]), table_of([3], [1], causes=2)], {}, "same causes"),
        ([table_of([3], [1])] * 2, {"scores": [1, 1]}, "differ between groups"),
        ([table_of([3], [1])] * 2, {"scores": [1, 2, 3]}, "one a group"),
        ([table_of([3], [1])] * 2, {"scores": [1, float("nan")]}, "finite numbers"),
    ],
)
def test_refuses_groups_that_cannot_be_compared(
    groups: list[RiskTable], further: dict[str, list[float]], words: str
) -> None:
    with pytest.raises(ValueError, match=words):
        log_rank(groups, scores=further.get("scores"))


def test_refuses_strata_of_unlike_groups_and_bad_group_numbers() -> None:
    table = table_of([3], [1])
    with pytest.raises(ValueError, match="as many in every stratum"):
        stratified_log_rank([[table] * 2, [table] * 3])
    lives = LivesArrays([0, 0], [1, 2], [1, 1])
    with pytest.raises(ValueError, match="numbered from 0"):
        log_rank_of_lives(lives, [0, -1])
    with pytest.raises(ValueError, match="got 1"):
        log_rank_of_lives(lives, [0, 0])
    with pytest.raises(ValueError, match=r"shape \(2,\)"):
        log_rank_of_lives(lives, [0, 1, 1])


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("wilcoxon",), "weights are one of"),
        (("fleming-harrington", -1.0), "`rho` is a finite power"),
        (("gehan", 1.0), "`rho` belongs to"),
        (("fleming-harrington", 0.0, float("inf")), "`gamma` is a finite power"),
    ],
)
def test_refuses_weights_that_do_not_exist(arguments: tuple[object, ...], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        LogRankWeights(*arguments)  # type: ignore[arg-type]


def test_chance_of_a_chi_square_is_that_of_the_tables() -> None:
    # Upper 5 % points of the chi-square law, from memory of printed tables.
    for degrees, point in ((1, 3.841), (2, 5.991), (3, 7.815), (10, 18.307)):
        assert ChiSquare(point, degrees).p_value == pytest.approx(0.05, abs=5e-5)
