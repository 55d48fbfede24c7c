"""The product-limit estimate against printed values, other programs and its own laws."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from garage.lifetimes.confidence import LimitsKind
from garage.lifetimes.curves.product_limit import product_limit
from garage.lifetimes.risk_table import LivesArrays, RiskTable
from garage.lifetimes.status import Status
from tests.lifetimes.conftest import CheckCase, Rows, table_of

Case = Callable[[str], CheckCase]
ReadRows = Callable[[str], Rows]

# Remission weeks on 6-mercaptopurine, Freireich et al., Blood 21, 1963, 699-716.
REMISSION_WEEKS = [6, 6, 6, 6, 7, 9, 10, 10, 11, 13, 16, 17, 19, 20, 22, 23, 25, 32, 32, 34, 35]
RELAPSED = [1, 1, 1, 0, 1, 0, 1, 0, 0, 1, 1, 0, 0, 0, 1, 1, 0, 0, 0, 0, 0]


def test_survival_of_the_remission_example_equals_the_printed_table() -> None:
    # As printed in G. Rodriguez's survival notes and by R with log-log limits.
    curve = product_limit(table_of(REMISSION_WEEKS, RELAPSED))
    assert curve.clock.tolist() == [6, 7, 10, 13, 16, 22, 23]
    assert curve.at_risk.tolist() == [21, 17, 15, 12, 11, 7, 6]
    printed = {
        "survival": [0.857, 0.807, 0.753, 0.690, 0.627, 0.538, 0.448],
        "lower": [0.620, 0.563, 0.503, 0.432, 0.368, 0.268, 0.188],
        "upper": [0.952, 0.923, 0.889, 0.849, 0.805, 0.747, 0.680],
    }
    for name, values in printed.items():
        np.testing.assert_allclose(getattr(curve, name), values, atol=0.00051, err_msg=name)
    np.testing.assert_allclose(
        curve.standard_error, [0.0764, 0.0869, 0.0963, 0.1068, 0.1141, 0.1282, 0.1346], atol=6e-5
    )


def test_remission_case(check_case: Case) -> None:
    case = check_case("KM-01")
    table = table_of(case.data["time"], case.data["event"])
    curve = product_limit(table)
    case.holds("event times", curve.clock)
    case.holds("number at risk", curve.at_risk)
    case.holds("S(t) at event times", curve.survival)
    case.holds("Greenwood SE", curve.standard_error)
    case.holds("lower 95% (log-log)", curve.lower)
    case.holds("upper 95% (log-log)", curve.upper)
    case.holds("median", curve.median.value)
    assert (curve.median.lower, curve.median.upper) == (13, None)
    for kind, name in (("log", "log transform"), ("plain", "plain (linear)")):
        limited = product_limit(table, limits=kind)  # type: ignore[arg-type]
        case.holds(f"median lower limit, {name}", limited.median.lower)
    for until in (20, 35):
        mean = curve.restricted_mean(until)
        case.holds(f"RMST({until}) and SE", [mean.value, mean.standard_error])


def test_tied_failures_case(check_case: Case) -> None:
    case = check_case("KM-03")
    table = table_of(case.data["time"], case.data["event"])
    curve = product_limit(table)
    case.holds("event times", curve.clock)
    case.holds("S(t)", curve.survival)
    case.holds("lower 95% (log-log)", curve.lower)
    case.holds("upper 95% (log-log)", curve.upper)
    at_90 = product_limit(table, level=0.9)
    case.holds("lower 90% (log-log)", at_90.lower)
    case.holds("upper 90% (log-log)", at_90.upper)
    case.holds("lower 90% (plain)", product_limit(table, level=0.9, limits="plain").lower)
    median = curve.median
    case.holds("median; log-log limits", [median.value, median.lower, median.upper])
    mean = curve.restricted_mean(14)
    case.holds("RMST(14) and SE", [mean.value, mean.standard_error])


@pytest.mark.parametrize("sex", ["F", "M"])
@pytest.mark.parametrize(
    ("kind", "name"),
    [
        ("log", "median, lower, upper (log transform)"),
        ("log-log", "median, lower, upper (log-log)"),
    ],
)
def test_large_group_medians_case(
    check_case: Case, check_rows: ReadRows, sex: str, kind: LimitsKind, name: str
) -> None:
    rows = [each for each in check_rows("mgus2.csv") if each["sex"] == sex]
    table = table_of([int(r["futime"]) for r in rows], [int(r["death"]) for r in rows])
    median = product_limit(table, limits=kind).median
    check_case("KM-05").holds(f"{sex}: {name}", [median.value, median.lower, median.upper])


def test_six_subjects_case(check_case: Case) -> None:
    case = check_case("KM-07")
    curve = product_limit(table_of(case.data["time"], case.data["event"]))
    case.holds(
        "S(t) at 1, 6, 9 as fractions 5/6, 5/12, 0 (product over the printed risk sets)",
        curve.survival,
    )
    case.holds("SE at 1, 6", curve.standard_error[:2])


def test_part_life_in_miles_case(check_case: Case) -> None:
    case = check_case("KM-08")
    failed, left = case.data["failures"], case.data["right_censored"]
    table = table_of(failed + left, [1] * len(failed) + [0] * len(left))
    curve = product_limit(table, limits="plain")
    case.holds("S(t) at the 10 failures", curve.survival)
    case.holds("plain lower 95%", curve.lower)
    case.holds("plain upper 95%", curve.upper)


def test_late_entry_cohort_case(check_case: Case, check_rows: ReadRows) -> None:
    case, rows = check_case("LT-01"), check_rows("macs_cole_hudgens.csv")
    entry, exit_ = ([round(1000 * float(r[name])) for r in rows] for name in ("W", "T"))
    table = table_of(exit_, [int(r["D"]) for r in rows], entry)
    curve = product_limit(table)
    case.holds("number of event times", len(curve.clock))
    case.holds("at risk at 0.269, 0.791, 4.688", table.at_risk_at([269, 791, 4688]))
    case.holds("S(0.791)", curve.at(791).value)
    case.holds("S at 0.269, 2.0, 3.0, 4.688", [curve.at(t).value for t in (269, 2000, 3000, 4688)])
    median = curve.median
    assert median.value is not None
    assert median.lower is not None
    case.holds("median (printed: about 3)", median.value / 1000)
    case.holds("median limits, log-log: lower", median.lower / 1000)
    assert median.upper is None
    logged = product_limit(table, limits="log").median
    assert logged.lower is not None
    case.holds("median limits, log transform: lower (upper not reached)", logged.lower / 1000)
    assert logged.upper is None
    at = np.searchsorted(curve.clock, 791)
    case.holds("SE at S(0.791)", curve.standard_error[at])


@pytest.fixture
def residents(check_rows: ReadRows) -> dict[str, RiskTable]:
    """Channing House by sex, ages in months; Hyde, Biostatistics Casebook, 1980."""
    rows = [r for r in check_rows("channing.csv") if r["ageentry"] != r["age"]]
    tables = {}
    for name, code in (("men", "1"), ("women", "2")):
        mine = [r for r in rows if r["gender"] == code]
        tables[name] = table_of(
            *([int(r[column]) for r in mine] for column in ("age", "death", "ageentry"))
        )
    return tables


def test_conditional_survival_case(check_case: Case, residents: dict[str, RiskTable]) -> None:
    case = check_case("LT-03")
    men = product_limit(residents["men"], given_survival_to=816)
    case.holds("men from 816 mo: n, deaths", [men.n, men.failed])
    ages = (900, 960, 1020, 1080)
    points = [men.at(age) for age in ages]
    case.holds("men from 816: S at 900,960,1020,1080", [p.value for p in points])
    # R's summary counts those at risk at the next exit, which may be after a later entry.
    table = residents["men"]
    exits = table.clock[(table.failed[0] > 0) | (table.withdrawn > 0)]
    next_exits = exits[np.searchsorted(exits, (840, *ages))]
    case.holds("men from 816: at risk at 840,900,960,1020,1080", table.at_risk_at(next_exits))
    case.holds("men from 816: log-log lower at 900..1080", [p.lower for p in points])
    case.holds("men from 816: log-log upper at 900..1080", [p.upper for p in points])
    for name, table in residents.items():
        median = product_limit(table, given_survival_to=816).median
        case.holds(
            f"{name} from 816: median, lower, upper (log-log)",
            [median.value, median.lower, median.upper],
        )
    older = product_limit(residents["men"], given_survival_to=960)
    case.holds("men from 960: S at 1020, 1080", [older.at(age).value for age in (1020, 1080)])
    women = product_limit(residents["women"], given_survival_to=816)
    case.holds(
        "women from 816: S at 840,900,960,1020,1080",
        [women.at(age).value for age in (840, *ages)],
    )


def test_early_small_risk_set_gives_a_status_and_no_zero(
    check_case: Case, residents: dict[str, RiskTable]
) -> None:
    curve = product_limit(residents["men"])
    collapsed = curve.survival[np.searchsorted(curve.clock, 816, side="right") - 1]
    check_case("LT-03").holds("men without conditioning: S(816) collapses to", collapsed)
    assert curve.status is Status.SMALL_RISK_SET
    for result in (curve.at(816), curve.at(900), curve.median, curve.restricted_mean(1000)):
        assert result.value is None
        assert result.status is Status.SMALL_RISK_SET
    again = product_limit(residents["men"], given_survival_to=curve.reliable_from)
    assert again.status is Status.OK
    assert curve.reason.startswith("at 777 steps only 2 at risk")
    assert again.n < curve.n


def test_weighted_entries_case(check_case: Case) -> None:
    case = check_case("LT-05")
    table = table_of(*(case.data[name] for name in ("time", "event", "entry", "count")))
    curve = product_limit(table)
    points = [curve.at(t) for t in (3, 9, 18, 27, 40, 55, 60)]
    case.holds("S at 3,9,18,27,40,55,60", [point.value for point in points])
    assert {point.status for point in points} == {Status.SMALL_RISK_SET}


def test_early_failure_among_few_is_usable_until_more_come() -> None:
    # Three lives from new, one failing at 5; a hundred more only from 50 on.
    exit_, cause, entry = [5, 90, 95, *[100] * 100], [1, 1, 0, *[0] * 100], [0, 0, 0, *[50] * 100]
    curve = product_limit(table_of(exit_, cause, entry))
    assert curve.at(4).value == 1.0
    assert (curve.at(5).value, curve.at(5).status) == (None, Status.SMALL_RISK_SET)
    later = product_limit(table_of(exit_, cause, entry), given_survival_to=5)
    assert later.status is Status.OK
    assert later.at(90).value == pytest.approx(1 - 1 / 102)
    assert later.at(4).value is None
    # The same failure among as many as the rest leaves the curve usable.
    whole = product_limit(table_of(exit_, cause))
    assert whole.status is Status.OK
    assert whole.at(5).value == pytest.approx(1 - 1 / 103)


def test_gap_without_anybody_under_watch_ends_what_the_curve_can_say() -> None:
    table = table_of([10, 10, 40, 41], [1, 0, 1, 0], entry=[0, 0, 30, 30])
    curve = product_limit(table)
    assert curve.at(9).value == 1.0
    assert curve.at(10).status is Status.SMALL_RISK_SET
    assert curve.at(40).value is None
    assert product_limit(table, given_survival_to=curve.reliable_from).at(40).value == 0.5


def test_no_lives() -> None:
    curve = product_limit(RiskTable.empty("km"))
    assert (curve.n, curve.status) == (0, Status.NO_LIVES)
    assert (curve.at(5).value, curve.median.value) == (None, None)
    assert curve.median.status is Status.NO_LIVES


def test_no_failures_gives_one_and_an_exact_lower_limit() -> None:
    curve = product_limit(table_of([50] * 20, [0] * 20))
    assert curve.status is Status.NO_FAILURES
    point = curve.at(50)
    assert point.value == 1.0
    # Clopper and Pearson for 0 of 20: 1 - 0.1684 (binomial tables).
    assert point.lower == pytest.approx(0.8316, abs=5e-5)
    assert curve.at(51).status is Status.BEYOND_WATCH
    assert curve.median.status is Status.NO_FAILURES
    assert "outlast 50 steps" in curve.median.reason


def test_median_at_exactly_one_half_is_reached_in_spite_of_rounding() -> None:
    # 0.9 * 0.8 * ... falls to one half by fractions that floating point misses.
    curve = product_limit(table_of(list(range(1, 11)), [1] * 10))
    assert curve.median.value == 5


def test_capture_share_raises_hazard_and_error_as_a_thinned_binomial() -> None:
    # A second derivation: seen failures are Bin(n, q h), so var(h) = h (1 - q h) / (q n).
    lives = LivesArrays([0] * 10, [4] * 2 + [9] * 8, [1] * 2 + [0] * 8, capture=[0.5] * 10)
    curve = product_limit(RiskTable.from_lives(lives, unit="km"))
    assert curve.survival.tolist() == pytest.approx([0.6])
    assert curve.standard_error[0] == pytest.approx((0.4 * (1 - 0.5 * 0.4) / (0.5 * 10)) ** 0.5)


def test_capture_share_that_asks_for_more_failures_than_lives_ends_at_zero() -> None:
    lives = LivesArrays([0, 0, 0], [4, 4, 9], [1, 1, 0], capture=[0.3, 0.3, 1])
    curve = product_limit(RiskTable.from_lives(lives, unit="km"))
    assert curve.survival.tolist() == [0.0]
    assert np.isfinite(curve.upper).all()
    assert np.isfinite(curve.standard_error).all()


@pytest.mark.parametrize(
    ("arguments", "rule"),
    [({"level": 1.0}, "level lies between"), ({"limits": "log_log"}, "limits are one of")],
)
def test_wrong_arguments_are_refused(arguments: dict[str, Any], rule: str) -> None:
    with pytest.raises(ValueError, match=rule):
        product_limit(table_of([5, 9], [1, 0]), **arguments)


lives_lists = st.lists(
    st.tuples(st.integers(0, 30), st.integers(1, 40), st.booleans()), min_size=1, max_size=40
)


def split(lives: list[tuple[int, int, bool]]) -> tuple[list[int], list[int], list[int]]:
    return [a + b for a, b, _ in lives], [int(c) for *_, c in lives], [a for a, *_ in lives]


@settings(max_examples=80, deadline=None)
@given(lives_lists, st.sampled_from(["log-log", "log", "plain"]))
def test_curve_never_rises_and_lies_between_its_limits(
    lives: list[tuple[int, int, bool]], kind: LimitsKind
) -> None:
    curve = product_limit(table_of(*split(lives)), limits=kind)
    assert np.all(np.diff(np.concatenate([[1.0], curve.survival])) <= 0)
    assert np.all(curve.lower <= curve.survival + 1e-12)
    assert np.all(curve.survival <= curve.upper + 1e-12)
    for each in (curve.lower, curve.upper, curve.standard_error):
        assert np.all(np.isfinite(each))
        assert np.all((each >= 0) & (each <= 1))


@settings(max_examples=40, deadline=None)
@given(lives_lists, st.integers(2, 1000))
def test_scaling_the_clock_scales_the_median(
    lives: list[tuple[int, int, bool]], factor: int
) -> None:
    table = table_of(*split(lives))
    once, scaled = product_limit(table), product_limit(table.in_unit("finer", factor))
    assert scaled.survival.tolist() == once.survival.tolist()
    if once.median.value is None:
        assert scaled.median.value is None
    else:
        assert scaled.median.value == once.median.value * factor


@settings(max_examples=60, deadline=None)
@given(lives_lists)
def test_curve_equals_a_slow_count_of_lives(lives: list[tuple[int, int, bool]]) -> None:
    # A second implementation, life by life and in fractions of whole counts.
    curve = product_limit(table_of(*split(lives)))
    height = 1.0
    for clock, got in zip(curve.clock, curve.survival, strict=True):
        at_risk = sum(a < clock <= a + b for a, b, _ in lives)
        failed = sum(c and a + b == clock for a, b, c in lives)
        height *= (at_risk - failed) / at_risk
        assert got == pytest.approx(height, abs=1e-12)


@settings(max_examples=40, deadline=None)
@given(lives_lists, st.integers(1, 30))
def test_survival_is_survival_to_a_point_times_survival_from_it(
    lives: list[tuple[int, int, bool]], point: int
) -> None:
    table = table_of(*split(lives))
    whole, later = product_limit(table), product_limit(table, given_survival_to=point)
    before = whole.survival[whole.clock <= point]
    reached = before[-1] if len(before) else 1.0
    np.testing.assert_allclose(
        later.survival * reached, whole.survival[whole.clock > point], atol=1e-12
    )
