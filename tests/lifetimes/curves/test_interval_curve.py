"""The curve of interval lives against printed values, another program and the product limit."""

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from garage.lifetimes.curves.interval_curve import IntervalCurve, interval_curve
from garage.lifetimes.curves.product_limit import product_limit
from garage.lifetimes.interval_lives import IntervalLives
from garage.lifetimes.risk_table import LivesArrays, RiskTable
from garage.lifetimes.status import Status
from tests.lifetimes.conftest import CheckCase, Rows
from tests.lifetimes.curves.interval_atoms import interval_lives

Case = Callable[[str], CheckCase]
ReadRows = Callable[[str], Rows]
SOUND = np.inf


def curve_of(left: object, right: object, **more: object) -> IntervalCurve:
    return interval_curve(IntervalLives(left, right, **more), unit="steps")  # type: ignore[arg-type]


def looks(rows: Rows) -> IntervalLives:
    left, right = ([float(row[name] or "inf") for row in rows] for name in ("left", "right"))
    return IntervalLives(np.array(left), np.array(right))


def least_at(curve: IntervalCurve, clock: float) -> float:
    value = curve.at(clock).value
    assert value is not None
    return value


TURNBULL_1974 = [
    *((t, t, count) for t, count in ((1, 12), (2, 6), (3, 2), (4, 3))),
    *((t, SOUND, count) for t, count in ((1, 3), (2, 2), (3, 0), (4, 3))),
    *((0, t, count) for t, count in ((1, 2), (2, 4), (3, 2), (4, 5))),
]
"""Turnbull, JASA 69 (1974) 169-173: failed at, unfailed at, failed by; as R survival tests it."""


def test_doubly_censored_example_equals_the_printed_survival() -> None:
    curve = interval_curve(IntervalLives.from_rows(TURNBULL_1974), unit="steps")
    survival = [least_at(curve, t) for t in (1, 2, 3, 4)]
    np.testing.assert_allclose(survival, [0.538, 0.295, 0.210, 0.095], atol=0.0006)
    assert (curve.n, curve.failed) == (44, 36)


def test_doubly_censored_case(check_case: Case) -> None:
    case = check_case("TB-01")
    kinds = {"exact": (1, 1), "right": (1, None), "left": (0, 1)}
    rows = []
    for time, kind, count in zip(
        case.data["time"], case.data["type"], case.data["count"], strict=True
    ):
        begin, end = kinds[kind]
        rows.append((begin * time, SOUND if end is None else time, count))
    curve = interval_curve(IntervalLives.from_rows(rows), unit="steps")
    case.holds("S after 1,2,3,4", [least_at(curve, t) for t in (1, 2, 3, 4)])


def test_cosmesis_case(check_case: Case, check_rows: ReadRows) -> None:
    case = check_case("TB-02")
    rows = [r for r in check_rows("fetched/breast_cosmesis.csv") if r["treatment"] == "Rad"]
    curve = interval_curve(looks(rows), unit="months")
    case.holds("Turnbull interval left ends", curve.left)
    case.holds("right ends", curve.right)
    case.holds("masses", curve.mass)
    case.holds("maximised log-likelihood", curve.log_likelihood)
    assert not curve.left_closed.any()
    assert curve.unique


def test_cosmesis_of_the_other_arm_equals_the_reference_program(check_rows: ReadRows) -> None:
    # R survival 3.5-3: survfit(Surv(left, right, type = "interval2") ~ 1), RadChem, left 0 and
    # right Inf given as NA; its EM stops early, hence the tolerance.
    rows = [r for r in check_rows("fetched/breast_cosmesis.csv") if r["treatment"] == "RadChem"]
    curve = interval_curve(looks(rows), unit="months")
    printed = {
        5: 0.956717432,
        8: 0.913434863,
        12: 0.844221505,
        17: 0.698905500,
        19: 0.557651503,
        20: 0.441989448,
        25: 0.342096719,
        31: 0.271252482,
        36: 0.110409488,
        48: 0.055204744,
    }
    np.testing.assert_allclose(
        [least_at(curve, month) for month in printed], list(printed.values()), atol=1.5e-4
    )


def test_ten_intervals_case(check_case: Case) -> None:
    case = check_case("TB-04")
    left = np.array(case.data["left"], float)
    right = np.array([SOUND if each is None else each for each in case.data["right"]], float)
    curve = curve_of(left, right)
    case.holds(
        "S at 1,7,8,14,44 for (left, right]", [least_at(curve, t) for t in (1, 7, 8, 14, 44)]
    )
    case.holds("masses on (1,7], 8, (8,10], (37,44], (46,inf)", curve.mass)
    assert curve.left_closed.tolist() == [False, True, False, False, False]
    closed = interval_curve(IntervalLives(left, right), unit="steps", closed_left=True)
    case.holds("lifelines NPMLE masses (closed-interval convention)", closed.mass)
    assert closed.left.tolist() == [7, 8, 37, 46]
    assert closed.right.tolist() == [7, 8, 44, SOUND]


def hard_lives() -> IntervalLives:
    """Four masses that plain EM finds slowly, as the check values construct them."""
    left = [0] * 100 + [1] * 200 + [100, 200, 210, 220] + [365] * 100 + [366] * 5
    left += list(range(731, 742))
    right = [3 * k for k in range(1, 101)] + [10 + k for k in range(1, 101)]
    right += [365] * 60 + [366] * 40 + [SOUND, 500, SOUND, 450] + [730] * 90 + [SOUND] * 10
    right += [528, 571, 691, 730, 731, SOUND, *range(1095, 1100), SOUND, 1400, 1200, 772, 1461]
    return IntervalLives(np.array(left, float), np.array(right, float))


def test_hard_case(check_case: Case, check_rows: ReadRows) -> None:
    case = check_case("TB-06")
    lives, read = hard_lives(), looks(check_rows("turnbull_hard.csv"))
    np.testing.assert_array_equal(lives.left, read.left)
    np.testing.assert_array_equal(lives.right, read.right)
    curve = interval_curve(lives, unit="days")
    case.holds("masses on (1,3], (365,366], (366,450], (741,772]", curve.mass)
    case.holds("maximised log-likelihood", curve.log_likelihood)


def test_hard_case_is_proved_best() -> None:
    # Masses as the R survival tests print them.
    curve = interval_curve(hard_lives(), unit="days")
    assert list(zip(curve.left, curve.right, strict=True)) == [
        (1, 3),
        (365, 366),
        (366, 450),
        (741, 772),
    ]
    np.testing.assert_allclose(curve.mass, [0.6958, 0.1674, 0.1079, 0.0289], atol=6e-5)
    assert curve.gap < 1e-8


# R survival 3.5-3: survfit(Surv(c(NA,10,10,20,45,15,30,NA,25), c(20,20,30,40,NA,15,NA,12,25),
# type = "interval2") ~ 1, weights = c(2,3,4,2,5,1,3,2,2)); 19/27, 5/9 and 1/3.
COUNTED = IntervalLives(
    [0, 10, 10, 20, 45, 15, 30, 0, 25],
    [20, 20, 30, 40, SOUND, 15, SOUND, 12, 25],
    weight=[2, 3, 4, 2, 5, 1, 3, 2, 2],
)


def test_counted_lives_of_all_kinds_equal_the_reference_program() -> None:
    curve = interval_curve(COUNTED, unit="km")
    assert curve.left.tolist() == [10, 15, 25, 45]
    assert curve.right.tolist() == [12, 15, 25, SOUND]
    np.testing.assert_allclose(curve.survival[:3], [0.703731508, 0.555557114, 1 / 3], atol=5e-5)
    np.testing.assert_allclose(curve.survival, [19 / 27, 5 / 9, 1 / 3, 0], atol=1e-7)


@st.composite
def exact_lives(draw: st.DrawFn) -> LivesArrays:
    count = draw(st.integers(1, 40))
    entry = [draw(st.integers(0, 8)) if draw(st.booleans()) else 0 for _ in range(count)]
    exit_ = [each + draw(st.integers(1, 9)) for each in entry]
    failed = [draw(st.integers(0, 1)) for _ in range(count)]
    return LivesArrays(entry, exit_, failed, [draw(st.integers(1, 4)) for _ in range(count)])


@settings(max_examples=60)
@given(exact_lives(), st.booleans())
def test_exact_failures_give_the_product_limit(lives: LivesArrays, closed_left: bool) -> None:
    table = RiskTable.from_lives(lives, unit="km")
    limit = product_limit(table)
    curve = interval_curve(IntervalLives.from_risk_table(table), unit="km", closed_left=closed_left)
    assert (curve.n, curve.failed) == (limit.n, limit.failed)
    for clock in range(18):
        theirs, ours = limit.at(clock), curve.at(clock)
        if theirs.value is not None and ours.value is not None:
            assert ours.value == pytest.approx(theirs.value, abs=1e-7)
            assert ours.at_risk == theirs.at_risk
        if theirs.value is None and theirs.status is Status.BEYOND_WATCH:
            assert ours.value is None
        if ours.value is None and curve.reliable_to is None:
            assert theirs.value is None
    if curve.reliable_to is None and limit.reliable_to is None:
        assert curve.median.value == limit.median.value


@settings(max_examples=50)
@given(interval_lives(), st.randoms(use_true_random=False), st.floats(0.01, 1e5))
def test_order_scale_and_repetition_change_nothing_but_the_clock(
    lives: IntervalLives, random: object, factor: float
) -> None:
    curve = interval_curve(lives, unit="steps")
    rows = np.repeat(np.arange(len(lives.left)), lives.weight.astype(int))
    random.shuffle(rows)  # type: ignore[attr-defined]
    # An entry of -1 lies before the clock begins and stays there.
    entry = np.where(lives.entry < 0, -1.0, lives.entry * factor)
    left = np.where(lives.left < 0, -1.0, lives.left * factor)
    other = interval_curve(
        IntervalLives(left[rows], (lives.right * factor)[rows], entry[rows]), unit="other"
    )
    np.testing.assert_allclose(other.survival, curve.survival, atol=1e-7)
    np.testing.assert_allclose(other.right, curve.right * factor)
    assert other.log_likelihood == pytest.approx(curve.log_likelihood, abs=1e-9)
    assert (other.n, other.failed, other.status) == (curve.n, curve.failed, curve.status)


@settings(max_examples=50)
@given(interval_lives())
def test_masses_are_a_share_and_survival_never_rises(lives: IntervalLives) -> None:
    curve = interval_curve(lives, unit="steps")
    assert np.all(curve.mass > 0)
    assert curve.mass.sum() == pytest.approx(1, abs=1e-9)
    assert np.all(np.diff(curve.survival) < 0)


def test_inside_a_set_there_is_a_range_and_no_figure() -> None:
    lives = IntervalLives([0, 10, 10, 20, 45], [20, 20, 30, 40, SOUND], weight=[9] * 5)
    curve = interval_curve(lives, unit="km")
    before, inside, after = (curve.at(clock) for clock in (10, 15, 20))
    assert (before.value, before.status) == (1.0, Status.OK)
    assert (inside.value, inside.status) == (None, Status.WITHIN_A_RANGE)
    assert inside.greatest == 1
    assert inside.least == pytest.approx(7 / 15, abs=1e-7)
    assert "between 0.466667 and 1 survival to 15 km" in inside.reason
    assert after.value == pytest.approx(7 / 15, abs=1e-7)
    assert inside.lower is not None
    assert 0 < inside.lower < 7 / 15


def test_failure_at_left_itself_belongs_to_the_range_where_left_is_closed() -> None:
    lives = IntervalLives([10, 40], [20, SOUND], weight=[20, 20])
    for closed_left, value in ((False, 1.0), (True, None)):
        assert interval_curve(lives, unit="km", closed_left=closed_left).at(10).value == value


def test_beyond_the_last_look_there_is_no_figure() -> None:
    curve = interval_curve(COUNTED, unit="km")
    beyond = curve.at(46)
    assert (beyond.value, beyond.lower, beyond.upper) == (None, None, None)
    assert (beyond.least, beyond.greatest) == (0, pytest.approx(1 / 3, abs=1e-7))
    assert (beyond.status, beyond.reason) == (
        Status.BEYOND_WATCH,
        "nobody was watched beyond 45 km",
    )
    assert curve.at(45).value is not None


def test_all_failed_leaves_nothing_beyond() -> None:
    curve = curve_of([2, 3], [4, 5])
    assert (curve.at(4).value, curve.at(99).value) == (0, 0)


def test_few_at_risk_are_marked() -> None:
    def at_8(count: float) -> Status:
        return curve_of([1, 8], [4, SOUND], weight=[20, count]).at(8).status

    assert (at_8(9), at_8(10)) == (Status.SMALL_RISK_SET, Status.OK)


def test_quantile_is_a_stretch_or_a_clock_value_or_not_reached() -> None:
    curve = interval_curve(COUNTED, unit="km")
    tenth, third, half, most = (curve.quantile(share) for share in (0.1, 0.4, 0.5, 0.9))
    assert (tenth.earliest, tenth.latest, tenth.value) == (10, 12, None)
    assert tenth.status is Status.WITHIN_A_RANGE
    assert (third.value, third.status) == (15, Status.OK)
    assert half.value == 25
    assert (most.earliest, most.latest, most.value) == (45, None, None)
    assert most.status is Status.NOT_REACHED
    assert "more than 10 % may outlast 45 km" in most.reason
    for each in (tenth, third, half):
        assert each.lower is not None
        assert each.lower <= each.earliest


def test_share_outside_0_to_1_is_refused() -> None:
    with pytest.raises(ValueError, match="between 0 and 1; got 1"):
        interval_curve(COUNTED, unit="km").quantile(1)


def test_level_outside_0_to_1_is_refused() -> None:
    with pytest.raises(ValueError, match="a level lies between 0 and 1"):
        interval_curve(COUNTED, unit="km", level=95)


def test_no_lives() -> None:
    for curve in (curve_of([], []), curve_of([1], [2], weight=[0])):
        assert (curve.status, curve.n, curve.watched_to) == (Status.NO_LIVES, 0, None)
        assert (curve.at(5).value, curve.at(5).status) == (None, Status.NO_LIVES)
        assert (curve.median.earliest, curve.median.status) == (None, Status.NO_LIVES)


def test_no_failures_give_one_and_an_exact_lower_limit() -> None:
    # 0.025^(1/20), Clopper and Pearson.
    curve = curve_of([30], [SOUND], weight=[20])
    assert curve.status is Status.NO_FAILURES
    at_20 = curve.at(20)
    assert (at_20.value, at_20.upper) == (1, 1)
    assert at_20.lower == pytest.approx(0.8316, abs=5e-5)
    assert curve.median.status is Status.NO_FAILURES


EARLY_FALL = IntervalLives([3, 40, 60], [5, 60, SOUND], [0, 30, 30], [1, 20, 20])
"""One life watched from the start fails at once; the others come under watch later."""


def test_fall_from_a_single_life_gives_no_figure_beyond() -> None:
    curve = interval_curve(EARLY_FALL, unit="km")
    assert curve.status is Status.SMALL_RISK_SET
    # After 5 nobody was watched until 30.
    assert (curve.reliable_to, curve.reliable_from) == (3, 30)
    assert "after 3 km only 1 at risk" in curve.reason
    assert "that have reached 30 km" in curve.reason
    assert curve.at(3).value == 1
    for clock in (4, 5, 50, 60):
        assert (curve.at(clock).value, curve.at(clock).status) == (None, Status.SMALL_RISK_SET)
    median = curve.median
    assert (median.earliest, median.latest, median.status) == (None, None, Status.SMALL_RISK_SET)


@pytest.mark.parametrize("given", [5, 30])
def test_curve_given_survival_beyond_the_fall_is_sound(given: float) -> None:
    curve = interval_curve(EARLY_FALL, unit="km", given_survival_to=given)
    # Nobody was watched between 5 and 30.
    assert (curve.status, curve.start, curve.n, curve.failed) == (Status.OK, 30, 40, 20)
    at_60 = curve.at(60)
    assert at_60.value == pytest.approx(0.5, abs=1e-7)
    alone = interval_curve(EARLY_FALL.where(EARLY_FALL.entry == 30), unit="km").at(60)
    assert (at_60.lower, at_60.upper) == pytest.approx((alone.lower, alone.upper), abs=1e-6)
    before = curve.at(20)
    assert (before.value, before.status) == (None, Status.BEYOND_WATCH)
    assert "have reached 30 km" in before.reason


def test_curve_cannot_begin_where_survival_is_a_range() -> None:
    with pytest.raises(ValueError, match="got 4, choose 3 or 5"):
        interval_curve(EARLY_FALL, unit="km", given_survival_to=4)


def test_stretch_that_nobody_watched_gives_no_figure_beyond() -> None:
    lives = IntervalLives([10, 50, 60], [SOUND, 55, SOUND], [0, 30, 30], [20, 20, 20])
    curve = interval_curve(lives, unit="km")
    assert (curve.reliable_to, curve.reliable_from) == (10, 30)
    assert curve.at(10).value == 1
    assert curve.at(40).value is None
    again = interval_curve(lives, unit="km", given_survival_to=30)
    assert again.at(55).value == pytest.approx(0.5, abs=1e-7)


def test_several_equally_likely_curves_are_told() -> None:
    lives = IntervalLives(
        [2, 2, 1, 5, 1, 2, 3],
        [4, 4, 4, 5, SOUND, SOUND, SOUND],
        [1, -1, -1, 3, -1, 2, 0],
        weight=np.array([3, 2, 1, 3, 3, 2, 3]) * 10,
    )
    curve = interval_curve(lives, unit="km", closed_left=True)
    assert not curve.unique
    assert (curve.status, curve.reason) == (
        Status.WITHIN_A_RANGE,
        "several curves are equally likely",
    )
    at_3 = curve.at(3)
    assert (at_3.value, at_3.greatest) == (None, pytest.approx(1, abs=1e-6))
    assert at_3.least == pytest.approx(1 / 3, abs=1e-6)
    assert curve.at(4).value == pytest.approx(1 / 3, abs=1e-6)


def test_search_that_was_cut_short_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("garage.lifetimes.curves.interval_search.NEWTON_STEPS", 1)
    curve = interval_curve(hard_lives(), unit="days")
    assert curve.status is Status.NOT_CONVERGED
    assert curve.gap > 1
    assert curve.at(365).status is Status.NOT_CONVERGED


def test_curve_of_a_table_with_intervals_keeps_its_entries() -> None:
    # Ten failed at 60, last sound at 40; all came under watch at 30.
    table = RiskTable.from_lives(
        LivesArrays([30, 30], [60, 80], [1, 0], weight=[10, 10]), unit="km"
    )
    lives = IntervalLives.from_risk_table(table, [(40, 60, 10)])
    curve = interval_curve(lives, unit="km")
    assert curve.at(50).least == pytest.approx(0.5, abs=1e-7)
    assert curve.at(60).value == pytest.approx(0.5, abs=1e-7)
