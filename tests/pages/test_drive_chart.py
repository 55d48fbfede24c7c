"""The charts of a log: along the distance or the time, thinned without losing a peak."""

import numpy as np
import pytest

from garage.evidence.drives.judged import drive_judged
from garage.evidence.drives.log import Drive
from garage.evidence.drives.targets import FilterSaid, targets_of
from garage.pages.charts.chart import Chart
from garage.pages.charts.drive import POINTS_MOST, drive_charts, thinned
from garage.pages.charts.palette import LIGHT

MINUTES = range(41)
FALLING = tuple(20.0 if m < 10 else max(2.0, 20.0 - m + 10) for m in MINUTES)
STANDING = Drive(
    41,
    time_s=tuple(60.0 * m for m in MINUTES),
    distance_km=(141_250.0,) * 41,
    soot_g=FALLING,
    inlet_c=tuple(610.0 if 8 <= m <= 29 else 250.0 for m in MINUTES),
)


def charts_of(drive: Drive, said: FilterSaid | None = None) -> tuple[Chart, ...]:
    judged = drive_judged(drive, targets_of(said or FilterSaid()))
    return drive_charts(drive, judged, 550.0, name="log-1", palette=LIGHT)


def spans(chart: Chart) -> list[tuple[float, float]]:
    assert chart.spec is not None
    return [(each["along"], each["until"]) for each in chart.spec["layer"][0]["data"]["values"]]


def test_burn_at_standstill_is_drawn_along_the_time() -> None:
    """Soot falls from minute 10 to 28."""
    soot, heat = charts_of(STANDING)
    assert (soot.name, heat.name) == ("log-1-soot", "log-1-heat")
    assert soot.title == "Soot along the time"
    assert spans(soot) == spans(heat) == [(10.0, 28.0)]


def test_drive_is_drawn_along_its_distance_from_the_first_row() -> None:
    km = tuple(141_250.0 + 1.2 * m for m in MINUTES)
    soot, _ = charts_of(Drive(41, STANDING.time_s, km, FALLING, STANDING.inlet_c))
    assert soot.title == "Soot along the distance"
    assert spans(soot) == [(pytest.approx(12.0), pytest.approx(33.6))]


def test_limit_is_drawn_only_where_it_is_known() -> None:
    labels = [each.label for each in charts_of(STANDING)[0].key]
    assert "most soot for a burn" not in labels
    labels = [each.label for each in charts_of(STANDING, FilterSaid(limit_g=24.0))[0].key]
    assert "most soot for a burn" in labels


def test_log_without_temperature_has_no_chart_of_it() -> None:
    assert [each.name for each in charts_of(Drive(41, STANDING.time_s, None, FALLING))] == [
        "log-1-soot"
    ]


def test_one_moment_is_told_and_not_drawn() -> None:
    (soot,) = charts_of(Drive(1, time_s=(0.0,), soot_g=(5.0,)))
    assert soot.spec is None
    assert "Soot from 5 to 5 g" in soot.summary


def test_column_without_a_value_is_told_and_not_drawn() -> None:
    (soot,) = charts_of(Drive(1, time_s=(0.0,), soot_g=(None,)))
    assert (soot.spec, soot.summary, soot.tables) == (None, "No soot was read.", ())


def test_long_log_is_thinned_and_keeps_its_peaks_and_ends() -> None:
    """One row in 10 000 stands out either way. Fails if every n-th row is taken."""
    values = np.full(10_000, 5.0)
    values[3_333], values[7_777] = 9.0, 1.0
    kept = thinned(values, POINTS_MOST)
    assert len(kept) <= POINTS_MOST
    assert {0, 3_333, 7_777, 9_999} <= set(kept)
    assert kept == sorted(kept)


def test_short_log_keeps_every_row() -> None:
    assert thinned(np.arange(7.0), 7) == list(range(7))
