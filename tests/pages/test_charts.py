"""The charts' specifications, apart from any page."""

import json
from dataclasses import replace
from typing import Any

import pytest

from garage.pages.charts.comebacks import comebacks_chart
from garage.pages.charts.filter_lives import LifeBar, filter_lives_chart
from garage.pages.charts.palette import LIGHT
from garage.pages.charts.survival import survival_chart

BAR = LifeBar(
    place=1,
    name="factory",
    from_km=0,
    watched_from_km=40_000,
    watched_to_km=120_000,
    to_km=120_000,
    ending="failed",
    failed=True,
    normal_low_km=200_000,
    normal_median_km=300_000,
    normal_high_km=400_000,
)


def figure(value: float | None, **more: Any) -> dict[str, Any]:
    return {
        "value": value,
        "lower": None if value is None else max(0.0, value - 0.1),
        "upper": None if value is None else min(1.0, value + 0.1),
        "n": 20,
        "failed": 5,
        "status": "ok" if value is not None else "beyond_watch",
        "reason": "" if value is not None else "nobody was watched beyond 90 000 km",
        "source": "a test",
        **more,
    }


def curve(name: str) -> dict[str, Any]:
    return {
        "curve": name,
        "survival": [figure(0.9, at_km=50_000), figure(None, at_km=100_000)],
        "median_km": figure(None),
        "weibull": {"tenth_failed_km": figure(48_000.0, lower=40_000.0, upper=None)},
        "drawn": [
            {"km": 0, "survival": 1.0, "lower": 1.0, "upper": 1.0},
            {"km": 50_000, "survival": 0.9, "lower": 0.8, "upper": 0.97},
            {"km": 100_000, "survival": None, "lower": None, "upper": None},
        ],
    }


GROUP = {
    "engine_family": "Alder 16",
    "origin": "new_original",
    "stratum": "together",
    "lives": 20,
    "failed": 5,
    "vehicles": 18,
    "watched_km": 900_000,
    "covered_share": 0.6,
    "curves": [curve("expected"), curve("seen"), curve("presumed")],
}
RATE = {
    "engine_family": "Alder 16",
    "operation": "replace",
    "jobs": 20,
    "comebacks": 5,
    "other_ends": 2,
    "vehicles": 18,
    "without_km": 3,
    "within_days": [figure(0.1, at_days=7), figure(0.2, at_days=30)],
    "within_km": [figure(0.1, at_km=500), figure(None, at_km=2_000)],
}


def colours_in(spec: Any) -> set[str]:
    return {word for word in json.dumps(spec).replace('"', " ").split() if word.startswith("#")}


def test_a_palette_of_plain_colours_makes_the_same_chart_for_paper() -> None:
    page = filter_lives_chart([BAR], part_name="filter")
    paper = filter_lives_chart([BAR], part_name="filter", palette=LIGHT)
    assert colours_in(page.spec) == set()
    assert LIGHT.watched in json.dumps(paper.spec)
    assert page.tables == paper.tables


def test_no_chart_names_an_outside_address() -> None:
    charts = [
        filter_lives_chart([BAR], part_name="filter"),
        survival_chart(GROUP, [], None),
        *(comebacks_chart([RATE], unit) for unit in ("days", "km")),
    ]
    assert all(chart.spec is not None for chart in charts)
    assert not any("//" in json.dumps(chart.spec) for chart in charts)


def test_what_is_watched_and_what_is_not_are_told_apart() -> None:
    chart = filter_lives_chart([BAR], part_name="filter")
    assert chart.spec is not None
    row = chart.spec["data"]["values"][0]
    assert (row["start"], row["watched_from"], row["watched_to"]) == (0, 40_000, 120_000)
    dashed = [layer["mark"] for layer in chart.spec["layer"] if "strokeDash" in layer["mark"]]
    assert len(dashed) == 1


def test_a_life_that_cannot_be_placed_stands_in_the_table_alone() -> None:
    nowhere = replace(BAR, from_km=None, watched_from_km=None, watched_to_km=None, to_km=None)
    chart = filter_lives_chart([nowhere], part_name="filter")
    assert chart.spec is None
    assert chart.tables[0].rows[0][1] == "not known"


def test_the_axis_begins_where_the_vehicle_was_met() -> None:
    def begin(bar: LifeBar) -> float:
        spec = filter_lives_chart([bar], part_name="filter").spec
        assert spec is not None
        return float(spec["layer"][0]["encoding"]["x"]["scale"]["domain"][0])

    late = replace(
        BAR,
        from_km=500_000,
        watched_from_km=500_000,
        watched_to_km=520_000,
        to_km=520_000,
        normal_low_km=700_000,
        normal_median_km=800_000,
        normal_high_km=900_000,
    )
    assert begin(late) == 500_000
    assert begin(BAR) == 0


def test_a_curve_ends_where_nobody_was_watched() -> None:
    spec = survival_chart(GROUP, [], None).spec
    assert spec is not None
    assert max(point["km"] for point in spec["data"]["values"]) == 50_000


def test_a_curve_at_zero_is_drawn_no_further_than_it_takes_to_show_it() -> None:
    fallen = curve("seen")
    fallen["drawn"] += [
        {"km": km, "survival": 0.0, "lower": 0.0, "upper": 0.3}
        for km in range(60_000, 400_001, 10_000)
    ]
    spec = survival_chart(GROUP | {"curves": [fallen, curve("presumed")]}, [], None).spec
    assert spec is not None
    assert max(point["km"] for point in spec["data"]["values"]) == 70_000


def test_what_cannot_be_given_stands_in_words_with_its_reason() -> None:
    table = survival_chart(GROUP, [GROUP | {"stratum": "on_arrivals"}], None).tables[0]
    assert [row[0] for row in table.rows] == [
        "Together, expected",
        "Together, seen",
        "Together, presumed",
        "Arrived in trouble, expected",
        "Arrived in trouble, seen",
        "Arrived in trouble, presumed",
    ]
    assert table.rows[0][4] == "not watched so far"
    assert "nobody was watched beyond 90\u00a0000\u00a0km" in table.notes[0]


def test_curves_differ_in_dash_and_windows_in_shape() -> None:
    survival = survival_chart(GROUP, [], None)
    assert len({item.dash for item in survival.key}) == len(survival.key)
    comebacks = comebacks_chart([RATE], "days")
    assert len({item.shape for item in comebacks.key}) == len(comebacks.key) == 2


def layers_of(curves: list[dict[str, Any]]) -> tuple[list[Any], list[Any]]:
    """The bands, and the lines in the order in which they are drawn."""
    spec = survival_chart(GROUP | {"curves": curves}, [], None).spec
    assert spec is not None
    bands = [layer for layer in spec["layer"] if layer["mark"]["type"] == "area"]
    return bands, [layer for layer in spec["layer"] if layer["mark"]["type"] == "line"]


def test_expected_is_drawn_over_the_others_the_strongest_and_alone_with_its_band() -> None:
    bands, lines = layers_of([curve("expected"), curve("seen"), curve("presumed")])
    assert [band["transform"][0]["filter"]["equal"] for band in bands] == ["expected"]
    assert [line["transform"][0]["filter"]["equal"] for line in lines] == [
        "presumed",
        "seen",
        "expected",
    ]
    widths = [line["mark"]["strokeWidth"] for line in lines]
    assert widths[-1] > max(widths[:-1])
    assert len({line["mark"]["stroke"] for line in lines}) == 3


def test_without_expected_the_others_keep_their_bands_and_the_key_says_so() -> None:
    unknown = curve("expected") | {"drawn": []}
    curves = [unknown, curve("seen"), curve("presumed")]
    bands, lines = layers_of(curves)
    assert (len(bands), len(lines)) == (2, 2)
    key = survival_chart(GROUP | {"curves": curves}, [], None).key
    assert [item.label for item in key] == [
        "seen, with its 95 % band",
        "presumed, with its 95 % band",
    ]


def test_jobs_without_an_odometer_are_named_beside_the_figures_by_km() -> None:
    assert any(
        "3 jobs without an odometer" in note
        for note in comebacks_chart([RATE], "km").tables[0].notes
    )
    assert comebacks_chart([RATE], "days").tables[0].notes == ()


@pytest.mark.parametrize("unit", ["days", "km"])
def test_without_jobs_there_is_nothing_to_draw(unit: str) -> None:
    chart = comebacks_chart([], unit)
    assert (chart.spec, chart.tables) == (None, ())
