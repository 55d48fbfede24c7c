"""The races run, and every program finds the same figure; how fast is no test's business."""

from dataclasses import replace

import pytest

from tests.benchmarks.document import BEGIN, END, document_with, table_of
from tests.benchmarks.imports import import_seconds
from tests.benchmarks.measure import (
    FiguresDiffer,
    Timing,
    _refuse_difference,
    _takes_too_long,
    races_run,
)
from tests.benchmarks.races import LIFELINES, RACES, REGISTER, R
from tests.conftest import REPO

pytestmark = pytest.mark.oracle


@pytest.mark.parametrize("race", RACES, ids=lambda race: race.name)
def test_programs_find_one_figure(race, rscript: str) -> None:
    timings = list(races_run([2_000], runs=1, races=[race], least_s=0))
    assert [each.program for each in timings] == list(race.programs)
    assert all(each.seconds > 0 for each in timings)


TIMING = Timing(RACES[0], REGISTER, 1_000_000, 0.02, 30.0, 0.5)


def test_different_figures_are_refused() -> None:
    _refuse_difference(RACES[0], [TIMING, replace(TIMING, program=R)])
    with pytest.raises(FiguresDiffer, match="R survival"):
        _refuse_difference(RACES[0], [TIMING, replace(TIMING, program=R, figure=0.6)])


def test_program_that_would_take_minutes_does_not_run() -> None:
    slow = replace(TIMING, lives=100_000, seconds=7.0)
    assert not _takes_too_long(None, 5_000_000)
    assert not _takes_too_long(slow, 500_000)
    assert _takes_too_long(slow, 1_000_000)


def test_table_says_how_many_times_as_fast() -> None:
    others = [
        replace(TIMING, program=LIFELINES, seconds=0.5),
        replace(TIMING, program=R, seconds=2),
    ]
    line = table_of([TIMING, *others]).splitlines()[2]
    assert "| 1 000 000 | 20.0 ms, 30 MB | – | 0.50 s, 30 MB | 2.00 s, 30 MB | 25 | 100 |" in line


def test_page_can_be_renewed() -> None:
    text = (REPO / "docs" / "benchmarks.md").read_text("utf-8")
    renewed = document_with(text, [TIMING], imports_s=0.05)
    assert table_of([TIMING]) in renewed
    assert "`scipy.optimize`: 50.0 ms." in renewed
    with pytest.raises(ValueError, match="in this order"):
        document_with(f"{END} {BEGIN}", [TIMING], imports_s=0.05)


def test_imports_take_some_time() -> None:
    assert 0 < import_seconds(runs=1) < 60
