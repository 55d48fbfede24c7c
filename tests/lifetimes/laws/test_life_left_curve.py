"""Life left off a survival curve: a slow count, another program, and where the watch ends."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from garage.lifetimes.curves.product_limit import product_limit
from garage.lifetimes.laws.life_left import LifeLeft
from garage.lifetimes.laws.life_left_curve import life_left_of_curve
from garage.lifetimes.laws.weibull import WeibullLaw
from garage.lifetimes.risk_table import LivesArrays, RiskTable
from garage.lifetimes.status import Status
from tests.lifetimes.conftest import table_of


def worn_parts(n: int = 4_000) -> RiskTable:
    rng = np.random.default_rng(8)
    entry = np.floor(rng.uniform(0, 60_000, n))
    life = np.ceil(100_000 * rng.weibull(2.5, n))
    seen = life > entry
    end = np.minimum(life, 140_000)
    failed = (life <= 140_000).astype(int)
    lives = LivesArrays(entry[seen], end[seen], failed[seen])
    return RiskTable.from_lives(lives, unit="km")


@pytest.mark.parametrize("now", [0.0, 50_000.0, 90_000.0])
def test_figures_hold_those_of_the_law_behind_the_lives(now: float) -> None:
    left = life_left_of_curve(product_limit(worn_parts(), level=0.999), now)
    law = LifeLeft(WeibullLaw(2.5, 100_000.0), now)
    # Up to 140 000 km only: nothing is watched beyond.
    for figure, wanted in (
        (left.lasting(20_000.0), float(law.lasting(20_000.0))),
        (left.quantile(0.3), law.quantile(0.3)),
        (left.mean_within(40_000.0), law.mean_within(40_000.0)),
    ):
        assert figure.status is Status.OK
        assert figure.lower is not None
        assert figure.upper is not None
        assert figure.lower < wanted < figure.upper
        assert figure.upper - figure.lower < 0.3 * wanted


def test_residents_at_68_years_case(
    check_case: Callable[[str], Any], check_rows: Callable[[str], list[dict[str, str]]]
) -> None:
    # Channing House, ages in months, most residents under watch from a later age on.
    case = check_case("LT-03")
    rows = [r for r in check_rows("channing.csv") if r["ageentry"] != r["age"]]
    for name, code in (("men", "1"), ("women", "2")):
        mine = [r for r in rows if r["gender"] == code]
        columns = ([int(r[key]) for r in mine] for key in ("age", "death", "ageentry"))
        left = life_left_of_curve(product_limit(table_of(*columns)), 816)
        found = left.median
        assert found.value is not None
        assert found.lower is not None
        assert found.upper is not None
        case.holds(
            f"{name} from 816: median, lower, upper (log-log)",
            [816 + each for each in (found.value, found.lower, found.upper)],
        )
        if name == "men":
            further = (84, 144, 204, 264)
            case.holds("men from 816 mo: n, deaths", [left.n, left.failed])
            points = [left.lasting(each) for each in further]
            case.holds("men from 816: S at 900,960,1020,1080", [each.value for each in points])
            case.holds("men from 816: log-log lower at 900..1080", [each.lower for each in points])


@settings(max_examples=40)
@given(
    st.lists(st.tuples(st.integers(1, 30), st.booleans()), min_size=3, max_size=25),
    st.integers(0, 25),
    st.integers(0, 20),
)
def test_chance_is_the_ratio_of_two_survivals(
    lives: list[tuple[int, bool]], now: int, further: int
) -> None:
    exits, failed = [each[0] for each in lives], [int(each[1]) for each in lives]
    curve = product_limit(table_of(exits, failed), smallest_risk_set=1)
    start, end = curve.at(now), curve.at(now + further)
    found = life_left_of_curve(curve, now).lasting(further)
    if now >= max(exits):
        assert (found.value, found.status) == (None, Status.BEYOND_WATCH)
        assert found.n == 0
    elif end.value is None:
        assert found.value is None
        assert found.status is Status.BEYOND_WATCH
    else:
        assert start.value
        assert found.value == pytest.approx(end.value / start.value)
        assert found.n == sum(each > now for each in exits)


def test_figures_count_from_now() -> None:
    table = table_of([10, 20, 30, 40, 50, 60, 70, 80], [1] * 8)
    left = life_left_of_curve(product_limit(table, smallest_risk_set=1), 40)
    assert (left.n, left.failed, left.status) == (4, 4, Status.OK)
    assert [left.lasting(each).value for each in (0, 9, 10, 20, 40)] == [1, 1, 0.75, 0.5, 0]
    assert left.median.value == 20
    # 10 sure, then three quarters, a half and a quarter of 10.
    assert left.mean_within(40).value == pytest.approx(25.0)
    # Half a unit further: the same lives.
    later = life_left_of_curve(product_limit(table, smallest_risk_set=1), 40.5)
    assert later.median.value == 19.5
    assert later.mean_within(39.5).value == pytest.approx(24.5)


def test_limits_forget_what_was_uncertain_before_now() -> None:
    curve = product_limit(worn_parts(300))
    plain, left = curve.at(110_000), life_left_of_curve(curve, 90_000).lasting(20_000)
    assert left.value is not None
    given = product_limit(worn_parts(300), given_survival_to=90_000).at(110_000)
    assert (left.value, left.lower, left.upper) == (given.value, given.lower, given.upper)
    assert plain.value is not None
    assert left.value > plain.value


def test_no_figure_is_carried_beyond_the_watch() -> None:
    curve = product_limit(table_of([5] * 20 + [9] * 20 + [12] * 20, [1] * 20 + [0] * 40))
    left = life_left_of_curve(curve, 6)
    assert (left.status, left.failed) == (Status.NO_FAILURES, 0)
    beyond = left.lasting(7)
    assert (beyond.value, beyond.status) == (None, Status.BEYOND_WATCH)
    assert beyond.reason == "nobody was watched beyond 12 steps"
    assert left.lasting(6).value == 1.0
    assert (left.median.value, left.median.status) == (None, Status.NO_FAILURES)
    assert left.mean_within(7).value is None
    gone = life_left_of_curve(curve, 12)
    for figure in (gone.lasting(1), gone.median, gone.mean_within(1)):
        assert (figure.value, figure.status, figure.n) == (None, Status.BEYOND_WATCH, 0)
        assert figure.reason == "nobody was watched beyond 12 steps"


def test_a_thin_place_before_now_does_no_harm() -> None:
    # Two lives watched from 0 fail at once; many come under watch only later.
    entry = [0, 0] + [20] * 40
    exits = [3, 4, *range(30, 70)]
    curve = product_limit(table_of(exits, [1] * 42, entry=entry))
    assert curve.at(40).value is None
    left = life_left_of_curve(curve, 25)
    assert left.status is Status.OK
    assert left.lasting(25).value == pytest.approx(19 / 40)


def test_empty_table_and_bad_questions() -> None:
    nothing = life_left_of_curve(product_limit(RiskTable.empty("km")), 5)
    assert (nothing.status, nothing.median.value) == (Status.NO_LIVES, None)
    curve = product_limit(table_of([5, 6], [1, 1]))
    left = life_left_of_curve(curve, 1)
    for now in (-1.0, float("nan")):
        with pytest.raises(ValueError, match="now must be"):
            life_left_of_curve(curve, now)
    with pytest.raises(ValueError, match="between 0 and 1"):
        left.quantile(1.0)
    with pytest.raises(ValueError, match="further distance"):
        left.lasting(-1)
    with pytest.raises(ValueError, match="further distance"):
        left.mean_within(-1)
