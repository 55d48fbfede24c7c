"""Gray's test against printed values, another program, and its own laws."""

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from garage.lifetimes.comparison.cumulative_incidence_test import (
    cumulative_incidence_test,
    stratified_cumulative_incidence_test,
)
from garage.lifetimes.risk_table import LivesArrays, RiskTable
from garage.lifetimes.status import Status
from tests.lifetimes.conftest import CheckCase, Rows, table_of

Case = Callable[[str], CheckCase]
ReadRows = Callable[[str], Rows]

# Lives in the order of their exits (the test uses ranks alone): those of the test suite of R's
# package cmprsk, made by R 4.2.2 with RNGversion("1.2.1"); set.seed(2); rexp(100);
# sample(1:3, 100, TRUE); sample(0:2, 100, TRUE); sample(1:2, 100, TRUE). Their curves equal
# those printed there.
GROUPS = (
    "3113321231111133322333212123232213131213232321311322312223123111"
    "231222322111322221312112331112123311"
)
CAUSES = (
    "0002120122122021000221102111112220211200111122101221022221122220"
    "010000012100002220102101011222012001"
)
STRATA = (
    "2112112211211121212111211212221122221121112112212112212122211211"
    "121121212211211122122221122221112221"
)


def of_digits(digits: str) -> np.ndarray:
    return np.array([int(each) for each in digits])


def printed_lives(group: int, stratum: int) -> RiskTable:
    kept = (of_digits(GROUPS) == group) & (of_digits(STRATA) == stratum)
    return table_of(np.arange(1, 101)[kept], of_digits(CAUSES)[kept], causes=2)


@pytest.mark.parametrize(
    ("groups", "cause", "statistic", "p_value"),
    [
        ((1, 2, 3), "cause 1", 3.393977, 0.1832345),
        ((1, 2, 3), "cause 2", 1.989511, 0.3698139),
        ((1, 3), "cause 1", 3.5151549, 0.06080997),
        ((1, 3), "cause 2", 0.1400145, 0.70826655),
    ],
)
def test_groups_in_strata_equal_the_printed_tests(
    groups: tuple[int, ...], cause: str, statistic: float, p_value: float
) -> None:
    # Printed in tests/test.Rout.save of R's package cmprsk.
    strata = [[printed_lives(group, stratum) for group in groups] for stratum in (1, 2)]
    found = stratified_cumulative_incidence_test(strata, cause=cause)
    assert found.statistic == pytest.approx(statistic, abs=6e-7)
    assert found.p_value == pytest.approx(p_value, abs=6e-8)
    assert found.degrees_of_freedom == len(groups) - 1
    assert sum(found.expected) == pytest.approx(found.failed)


def test_progression_by_sex_case(check_case: Case, check_rows: ReadRows) -> None:
    # Computed with R's package cmprsk.
    rows = check_rows("mgus2.csv")
    groups = [
        table_of(
            [int(r["etime"]) for r in rows if r["sex"] == sex],
            [int(r["ev"]) for r in rows if r["sex"] == sex],
            causes=2,
        )
        for sex in "FM"
    ]
    found = cumulative_incidence_test(groups, cause="cause 1")
    check_case("AJ-03").holds(
        "Gray test chi2, p for pcm (group = sex)", [found.statistic, found.p_value]
    )
    assert found.observed == (59, 56)


def slow_score(lives: list[list[tuple[int, int]]]) -> list[float]:
    """Expected failures of cause 1 by group, each clock value and each curve counted anew."""

    def at_risk(group: list[tuple[int, int]], clock: int) -> int:
        return sum(exit_ >= clock for exit_, _ in group)

    def curves_before(group: list[tuple[int, int]], clock: int) -> tuple[float, float]:
        free, failed = 1.0, 0.0
        for t in sorted({e for e, c in group if c and e < clock}):
            failed += free * sum((e, c) == (t, 1) for e, c in group) / at_risk(group, t)
            free *= 1 - sum(e == t and c > 0 for e, c in group) / at_risk(group, t)
        return free, failed

    expected = [0.0] * len(lives)
    for t in sorted({e for group in lives for e, c in group if c == 1}):
        failing = sum((e, c) == (t, 1) for group in lives for e, c in group)
        standing = []
        for group in lives:
            free, failed = curves_before(group, t)
            standing.append(at_risk(group, t) * (1 - failed) / free if free else 0.0)
        for number, each in enumerate(standing):
            expected[number] += failing * each / sum(standing)
    return expected


two_groups = st.lists(
    st.lists(st.tuples(st.integers(1, 12), st.integers(0, 2)), min_size=1, max_size=15),
    min_size=2,
    max_size=4,
)


def tables_of(lives: list[list[tuple[int, int]]], causes: int = 2) -> list[RiskTable]:
    return [table_of([e for e, _ in g], [c for _, c in g], causes=causes) for g in lives]


@settings(max_examples=80)
@given(two_groups)
def test_expected_failures_equal_a_slow_count(lives: list[list[tuple[int, int]]]) -> None:
    found = cumulative_incidence_test(tables_of(lives), cause="cause 1")
    assert found.expected == pytest.approx(slow_score(lives), abs=1e-9)
    assert (found.statistic is None) == (found.status is not Status.OK) == bool(found.reason)
    assert found.statistic is None or (np.isfinite(found.statistic) and found.statistic >= 0)


@settings(max_examples=40)
@given(two_groups)
def test_expected_failures_of_a_single_cause_are_the_log_ranks(
    lives: list[list[tuple[int, int]]],
) -> None:
    single = [[(exit_, min(cause, 1)) for exit_, cause in group] for group in lives]
    found = cumulative_incidence_test(tables_of(single, causes=1), cause="cause 1")
    expected = np.zeros(len(single))
    for t in sorted({e for group in single for e, c in group if c}):
        failing = sum((e, c) == (t, 1) for group in single for e, c in group)
        at_risk = np.array([sum(e >= t for e, _ in group) for group in single])
        expected += failing * at_risk / at_risk.sum()
    assert found.expected == pytest.approx(expected.tolist(), abs=1e-9)


def test_order_of_groups_and_a_stretched_clock_change_nothing() -> None:
    tables = [printed_lives(group, 1) + printed_lives(group, 2) for group in (1, 2, 3)]
    first = cumulative_incidence_test(tables, cause="cause 1")
    turned = cumulative_incidence_test(tables[::-1], cause="cause 1")
    stretched = cumulative_incidence_test(
        [each.in_unit("half steps", 2) for each in tables], cause="cause 1"
    )
    assert first.statistic is not None
    assert turned.statistic == pytest.approx(first.statistic, rel=1e-9)
    assert stretched.statistic == pytest.approx(first.statistic, rel=1e-12)


def test_the_same_group_twice_differs_by_nothing() -> None:
    found = cumulative_incidence_test([printed_lives(1, 1)] * 2, cause="cause 2")
    assert found.statistic == pytest.approx(0, abs=1e-12)
    assert found.p_value == pytest.approx(1)


def test_group_without_lives_is_named() -> None:
    empty = RiskTable.empty("steps", ("cause 1", "cause 2"))
    tables = [printed_lives(1, 1), printed_lives(2, 1), empty]
    found = cumulative_incidence_test(tables, cause="cause 1")
    assert (found.statistic, found.p_value, found.status) == (None, None, Status.NO_LIVES)
    assert found.reason == "group 3 has no lives"


def test_group_without_lives_in_one_stratum_is_compared_in_the_other() -> None:
    empty = RiskTable.empty("steps", ("cause 1", "cause 2"))
    here = [printed_lives(1, 1), printed_lives(3, 1)]
    alone = cumulative_incidence_test(here, cause="cause 1")
    both = stratified_cumulative_incidence_test(
        [here, [printed_lives(1, 2), empty]], cause="cause 1"
    )
    assert both.statistic == pytest.approx(alone.statistic, rel=1e-12)


def test_cause_that_never_struck_has_no_statistic() -> None:
    tables = tables_of([[(3, 2), (5, 0)], [(4, 2), (5, 0)]])
    found = cumulative_incidence_test(tables, cause="cause 1")
    assert (found.statistic, found.status, found.failed) == (None, Status.NO_FAILURES, 0)


def test_groups_never_at_risk_together_cannot_be_told_apart() -> None:
    tables = tables_of([[(2, 0), (2, 0)], [(4, 1), (5, 1)]])
    found = cumulative_incidence_test(tables, cause="cause 1")
    assert (found.statistic, found.status) == (None, Status.CANNOT_TELL_APART)


def test_late_entry_is_refused_and_entry_at_the_start_is_not() -> None:
    sound = table_of([3, 5, 6], [1, 2, 0], [-1, 0, 0], causes=2)
    assert cumulative_incidence_test([sound, sound], cause="cause 1").status is Status.OK
    late = table_of([3, 5, 6], [1, 2, 0], [-1, 0, 1], causes=2)
    with pytest.raises(ValueError, match="entered at 1 steps"):
        cumulative_incidence_test([sound, late], cause="cause 1")


def test_failures_divided_by_a_capture_share_are_refused() -> None:
    lives = LivesArrays([0] * 3, [3, 5, 6], [1, 1, 0], capture=[1.0, 0.5, 1.0])
    table = RiskTable.from_lives(lives, unit="km")
    with pytest.raises(ValueError, match="failures divided by a capture share"):
        cumulative_incidence_test([table, table], cause="failed")


def test_unlike_groups_one_group_and_unknown_causes_are_refused() -> None:
    table = printed_lives(1, 1)
    with pytest.raises(ValueError, match="two or more groups"):
        cumulative_incidence_test([table], cause="cause 1")
    with pytest.raises(ValueError, match="as many in every stratum"):
        stratified_cumulative_incidence_test([[table] * 2, [table] * 3], cause="cause 1")
    with pytest.raises(ValueError, match="on one clock with the same causes"):
        cumulative_incidence_test([table, table.in_unit("km", 1)], cause="cause 1")
    with pytest.raises(ValueError, match="the causes of these tables"):
        cumulative_incidence_test([table, table], cause="cause 9")


@pytest.mark.slow
def test_level_is_kept_where_causes_compete_and_watching_differs() -> None:
    """5 % of 1 000 tests of three like groups of 60 to 140 lives, watched for different times:
    found 0.051 (99.9 % limits of a true 5 %: 0.027 to 0.073)."""
    rng = np.random.default_rng(20)
    sizes, watched = (60, 100, 140), (8.0, 20.0, 40.0)
    rejected = 0
    for _ in range(1_000):
        tables = []
        for size, longest in zip(sizes, watched, strict=True):
            ends = np.stack(
                [
                    rng.uniform(0, longest, size),
                    rng.weibull(1.5, size) * 15,
                    rng.exponential(20, size),
                ]
            )
            exit_ = np.maximum(np.ceil(ends.min(axis=0)), 1)
            tables.append(table_of(exit_, ends.argmin(axis=0), causes=2))
        found = cumulative_incidence_test(tables, cause="cause 1")
        assert found.p_value is not None
        rejected += found.p_value < 0.05
    assert 0.027 < rejected / 1_000 < 0.073
