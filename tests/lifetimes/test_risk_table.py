"""The risk table: counting, adding, subtracting, changing the clock."""

import contextlib
import json
import sqlite3

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from garage.lifetimes.risk_table import LivesArrays, RiskRows, RiskTable
from tests.lifetimes.conftest import table_of

life = st.tuples(st.integers(0, 40), st.integers(1, 40), st.integers(0, 2), st.integers(1, 3))
lives_lists = st.lists(life, min_size=0, max_size=30)


def table_from(lives: list[tuple[int, int, int, int]]) -> RiskTable:
    entry = [each[0] for each in lives]
    watched = [each[1] for each in lives]
    return RiskTable.from_lives(
        LivesArrays(
            entry,
            np.add(entry, watched) if lives else [],
            [each[2] for each in lives],
            weight=[each[3] for each in lives],
        ),
        unit="km",
        causes=("one", "two"),
    )


def test_table_counts_a_loss_tied_with_a_failure_as_at_risk() -> None:
    # Therneau, software validation vignette of R survival: risk sets 6, 4, 1.
    table = table_of([1, 1, 6, 6, 8, 9], [1, 0, 1, 1, 0, 1])
    failing = table.failed[0] > 0
    assert table.clock[failing].tolist() == [1, 6, 9]
    assert table.at_risk[failing].tolist() == [6, 4, 1]


def test_table_with_delayed_entry_is_at_risk_after_entry_and_up_to_exit() -> None:
    table = table_of([10, 10], [1, 0], entry=[0, 4])
    assert table.at_risk_at([0, 1, 4, 5, 10, 11]).tolist() == [0, 1, 1, 2, 2, 0]


def test_table_entering_before_zero_is_at_risk_at_zero() -> None:
    table = table_of([0, 5], [1, 0], entry=[-1, -1])
    assert table.at_risk_at(0) == 2
    assert table.failed.tolist() == [[0, 1, 0]]


def test_table_with_capture_corrects_seen_failures() -> None:
    lives = LivesArrays([0, 0, 0], [3, 3, 5], [1, 1, 0], capture=[0.5, 0.8, 1.0])
    table = RiskTable.from_lives(lives, unit="km")
    assert table.failed_total == 2
    assert table.corrected.sum() == pytest.approx(2 + 1.25)


def test_table_with_weight_equals_repeated_lives() -> None:
    repeated = table_of([3, 3, 3, 7], [1, 1, 1, 0])
    assert table_of([3, 7], [1, 0], weight=[3, 1]) == repeated


@pytest.mark.parametrize(
    ("entry", "exit_", "cause", "rule"),
    [
        ([0, 5], [3, 4], [1, 1], r"no earlier than it enters; got 5, 4 at index 1"),
        ([0, 5], [3, 5], [1, 1], r"no watched time.*got 5, 5 at index 1"),
        ([0, -2], [3, 5], [1, 1], r"enters at -1 or later; got -2, 5 at index 1"),
        ([0, 0], [3, 5], [1, 2], r"0 \(withdrawn\) to 1; got 2 at index 1"),
        ([0, 0], [3, 5.5], [1, 1], r"`exit` holds whole numbers; got 5.5 at index 1"),
        ([0, 0], [3], [1, 1], r"`exit` must have shape \(2,\); got \(1,\)"),
        ([0, float("nan")], [3, 5], [1, 1], r"`entry` holds whole numbers; got nan at index 1"),
    ],
)
def test_table_refuses_lives_that_cannot_be(
    entry: list[float], exit_: list[float], cause: list[int], rule: str
) -> None:
    with pytest.raises(ValueError, match=rule):
        RiskTable.from_lives(LivesArrays(entry, exit_, cause), unit="km")


def test_table_takes_an_unfailed_life_without_watched_time_as_nothing_at_risk() -> None:
    assert table_of([5, 9], [0, 1], entry=[5, 0]).at_risk_at([5, 6]).tolist() == [1, 1]


@pytest.mark.parametrize("capture", [0.0, 1.01, -0.5, float("nan")])
def test_table_refuses_a_capture_share_outside_its_range(capture: float) -> None:
    lives = LivesArrays([0], [3], [1], capture=[capture])
    with pytest.raises(ValueError, match=r"capture share lies in \(0, 1\].*index 0"):
        RiskTable.from_lives(lives, unit="km")


@pytest.mark.parametrize(
    ("change", "rule"),
    [
        ({"entered": [1, 0]}, "more lives fail or leave than are at risk"),
        ({"entered": [-1, 4]}, "`entered` counts lives and is never below 0"),
        ({"withdrawn": [0, float("nan")]}, "`withdrawn` counts lives"),
        ({"corrected": [[0, 1]]}, "never below `failed`"),
        ({"corrected": [[1, 2]]}, "never below `failed`"),
    ],
)
def test_table_refuses_rows_that_cannot_be(change: dict[str, object], rule: str) -> None:
    sound = {"clock": [0, 5], "entered": [2, 0], "failed": [[0, 2]], "withdrawn": [0, 0]}
    RiskTable.from_rows(RiskRows(**sound), unit="km")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match=rule):
        RiskTable.from_rows(RiskRows(**(sound | change)), unit="km")  # type: ignore[arg-type]


def test_table_rows_in_any_order_and_repeated_give_the_same_table() -> None:
    once = RiskRows([0, 5, 9], [4, 0, 0], [[0, 2, 1]], [0, 0.5, 0.5])
    shuffled = RiskRows([9, 5, 0, 5, 0], [0, 0, 1, 0, 3], [[1, 1, 0, 1, 0]], [0.5, 0, 0, 0.5, 0])
    assert RiskTable.from_rows(once, unit="km") == RiskTable.from_rows(shuffled, unit="km")


@settings(max_examples=60, deadline=None)
@given(lives_lists, lives_lists)
def test_table_of_merged_lives_is_the_sum_of_tables(
    ours: list[tuple[int, int, int, int]], theirs: list[tuple[int, int, int, int]]
) -> None:
    merged = table_from(ours + theirs)
    assert table_from(ours) + table_from(theirs) == merged
    assert merged - table_from(theirs) == table_from(ours)
    assert merged + RiskTable.empty("km", ("one", "two")) == merged


@settings(max_examples=40, deadline=None)
@given(lives_lists, st.randoms(use_true_random=False))
def test_table_does_not_depend_on_the_order_of_lives(
    lives: list[tuple[int, int, int, int]], shuffler: object
) -> None:
    shuffled = list(lives)
    shuffler.shuffle(shuffled)  # type: ignore[attr-defined]
    assert table_from(shuffled) == table_from(lives)


@settings(max_examples=40, deadline=None)
@given(lives_lists)
def test_table_kept_as_json_comes_back_the_same(
    lives: list[tuple[int, int, int, int]],
) -> None:
    table = table_from(lives)
    assert RiskTable.from_dict(json.loads(json.dumps(table.to_dict()))) == table


def test_table_kept_in_an_unknown_form_is_refused() -> None:
    kept = table_of([3], [1]).to_dict() | {"form_version": 99}
    with pytest.raises(ValueError, match="form_version 1; got 99"):
        RiskTable.from_dict(kept)


def test_subtraction_of_lives_that_are_not_in_the_table_is_refused() -> None:
    with pytest.raises(ValueError, match=r"never below 0.*part of this one"):
        table_of([5, 9], [1, 0]) - table_of([5, 5], [1, 1])


def test_tables_on_different_clocks_are_not_added() -> None:
    with pytest.raises(ValueError, match="one clock and the same causes"):
        RiskTable.empty("km") + RiskTable.empty("days")


@settings(max_examples=40, deadline=None)
@given(lives_lists, st.integers(1, 50))
def test_finer_clock_scales_every_value(
    lives: list[tuple[int, int, int, int]], factor: int
) -> None:
    table = table_from(lives)
    finer = table.in_unit("finer", float(factor))
    assert finer.clock.tolist() == (table.clock * factor).tolist()
    assert finer.at_risk.tolist() == table.at_risk.tolist()


@settings(max_examples=60, deadline=None)
@given(lives_lists, st.floats(0.01, 0.99))
def test_coarser_clock_keeps_every_life_and_failure(
    lives: list[tuple[int, int, int, int]], factor: float
) -> None:
    table = table_from(lives)
    coarse = table.in_unit("coarse", factor)
    assert (coarse.n, coarse.failed_total) == (table.n, table.failed_total)
    assert np.all(coarse.at_risk >= coarse.failed.sum(axis=0))


def test_cause_alone_counts_other_failures_as_withdrawn() -> None:
    table = table_of([1, 2, 3], [1, 2, 0], causes=2)
    alone = table.cause_alone("cause 2")
    assert alone.failed.tolist() == [[0, 0, 1, 0]]
    assert alone.withdrawn.tolist() == [0, 1, 0, 1]
    with pytest.raises(ValueError, match="the causes of this table are"):
        table.cause_alone("cause 3")


def test_rows_grouped_by_a_database_give_the_table_of_the_lives() -> None:
    rng = np.random.default_rng(6)
    entry = rng.integers(0, 40, 400)
    exit_ = entry + rng.integers(1, 60, 400)
    cause = rng.integers(0, 3, 400)
    with contextlib.closing(sqlite3.connect(":memory:")) as database:
        database.execute("CREATE TABLE life (entry_km INT, exit_km INT, cause INT)")
        database.executemany(
            "INSERT INTO life VALUES (?, ?, ?)",
            zip(entry.tolist(), exit_.tolist(), cause.tolist(), strict=True),
        )
        rows = database.execute(
            """
            SELECT clock, SUM(entered), SUM(one), SUM(two), SUM(withdrawn) FROM (
                SELECT entry_km AS clock, 1 AS entered, 0 AS one, 0 AS two, 0 AS withdrawn
                FROM life
                UNION ALL
                SELECT exit_km, 0, cause = 1, cause = 2, cause = 0 FROM life
            ) GROUP BY clock
            """
        ).fetchall()
    clock, entered, one, two, withdrawn = zip(*rows, strict=True)
    counted = RiskTable.from_rows(
        RiskRows(clock, entered, [one, two], withdrawn), unit="km", causes=("one", "two")
    )
    lives = LivesArrays(entry, exit_, cause)
    assert counted == RiskTable.from_lives(lives, unit="km", causes=("one", "two"))
