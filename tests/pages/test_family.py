"""The engine family's page."""

from typing import Any

import pytest
from django.test import Client

from garage.pages.family_sheet import visits_told
from tests.api.scene import Scene
from tests.pages.reading import leaks_in, specs_of, text_of


@pytest.fixture
def page(scene: Scene, alder: Client) -> Any:
    return alder.get(f"/engine-families/{scene.family.pk}/")


def test_both_curves_are_named_and_explained(page: Any) -> None:
    told = text_of(page)
    assert leaks_in(page) == []
    assert "mostly too low" in told
    assert "too high" in told


def test_each_origin_has_a_curve_or_says_why_not(page: Any) -> None:
    sheet = page.context["sheet"]
    drawn = {chart.title: chart.spec is not None for chart in sheet.charts}
    assert drawn == {"Origin: factory": True, "Origin: new, aftermarket": False}
    assert "Too little for a drawing" in text_of(page)
    spec = specs_of(page)["chart-survival-factory"]
    points = spec["data"]["values"]
    # Of 13 vehicles nobody can tell how they come and leave.
    assert {point["curve"] for point in points} == {"seen", "presumed"}
    assert len([layer for layer in spec["layer"] if layer["mark"]["type"] == "area"]) == 2
    assert all(0 <= point["survival"] <= 1 for point in points)


def test_the_numbers_carry_lives_failures_and_reasons(page: Any) -> None:
    table = page.context["sheet"].charts[0].tables[0]
    assert table.head[1:3] == ("Lives", "Failed")
    assert [row[0] for row in table.rows] == [
        "Together, expected",
        "Together, seen",
        "Together, presumed",
    ]
    assert [row[1:3] for row in table.rows] == 3 * [("13", "5")]
    assert set(table.rows[0][3:]) == {"too few vehicles"}
    assert any("came again; 20 are needed" in note for note in table.notes)
    assert all(cell for row in table.rows for cell in row)
    assert any("at risk" in note or "watched" in note for note in table.notes)


def test_normal_life_says_its_source(page: Any) -> None:
    table = page.context["sheet"].normal
    assert all("common practice, no source" in row[-1] for row in table.rows)


def test_comebacks_stand_in_days_and_in_km(page: Any) -> None:
    days, km = page.context["sheet"].comebacks
    assert days.tables[0].head[-1] == "within 365 days"
    assert km.tables[0].head[-1].replace("\u00a0", " ") == "within 20 000 km"
    assert [row[0] for row in days.tables[0].rows] == ["replace"]


def test_flagged_vehicles_are_linked(page: Any, scene: Scene) -> None:
    assert f'href="/vehicles/{scene.van.pk}/"' in page.content.decode()


def test_a_reason_that_several_curves_share_stands_once(page: Any) -> None:
    notes = page.context["sheet"].origins.notes
    assert any(note.startswith("New, aftermarket, seen and presumed: ") for note in notes), notes
    assert len(notes) == len({note.split(": ", 1)[1] + note.split(",")[0] for note in notes})


def test_the_page_says_how_vehicles_come_and_leave_or_why_nobody_knows(page: Any) -> None:
    (line,) = page.context["sheet"].visits
    assert "no expected figures" in line
    assert "20 are needed" in line
    assert "How vehicles come and leave" in text_of(page)


def test_a_known_law_of_visits_is_told_in_words() -> None:
    row = {
        "organisation": "alder",
        "vehicles": 480,
        "of_all": True,
        "gap_days": 388.4,
        "leaving_a_year": 0.113,
        "leaving_a_year_lower": 0.09,
        "leaving_a_year_upper": 0.14,
        "still_customers": 0.64,
        "reason": "",
    }
    (line,) = visits_told({"visits": [row]})
    assert line.replace("\u00a0", " ") == (
        "alder: a visit every 388 days or so; 11 % (9 % to 14 %) of the customers leave in a year; "
        "of 480 vehicles that have been here 64 % are held to be customers still, by the law of "
        "all in view."
    )
