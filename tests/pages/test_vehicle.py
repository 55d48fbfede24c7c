"""The vehicle's page."""

from datetime import date
from typing import Any

import pytest
from django.test import Client

from garage.pages.words import NO_BREAK
from garage.records.choices import OperationKind
from garage.records.models import Vehicle
from garage.records.services.settle import vehicles_settle
from tests.api.scene import Scene, operation, visit
from tests.pages.reading import leaks_in, specs_of, text_of
from tests.records.factories import VehicleFactory


def spoken(text: str) -> str:
    return text.replace(NO_BREAK, " ")


@pytest.fixture
def page(scene: Scene, alder: Client) -> Any:
    return alder.get(f"/vehicles/{scene.van.pk}/")


@pytest.fixture
def told(page: Any) -> str:
    return spoken(text_of(page))


def test_the_head_tells_who_it_is(told: str) -> None:
    for fact in ("Alder 16", "0ABTEST0000000012", "1 January 2019", "50 000 km on 1 January 2021"):
        assert fact in told
    assert "QX 1234 until 1 January 2020" in told
    assert "QZ-77-KL from 1 January 2020 (now)" in told


def test_it_says_what_is_in_place_and_what_failed_before(told: str) -> None:
    assert "A new, aftermarket particulate filter is in place, fitted on 1 January 2021" in told
    assert "Three particulate filters failed on this vehicle before." in told


def test_the_flag_gives_count_odds_and_four_shares_that_add_up(page: Any, told: str) -> None:
    assert "Three failures in 50 000 km" in told
    assert "under normal life" in told
    shares = page.context["sheet"].flags[0].flag.shares
    assert [share.cause for share in shares] == ["vehicle", "repair", "design", "chance"]
    assert sum(share.width for share in shares) == pytest.approx(100, abs=0.1)
    assert "What to check next" in told
    assert "Common practice, no source" in told


def test_the_work_carries_its_cautions(told: str) -> None:
    for caution in (
        "Burn at standstill",
        "Soot and ash",
        "Cleaning with compressed air",
        "Local codes",
    ):
        assert caution in told


def test_an_inconsistent_reading_is_named_with_its_reason_and_accuses_nobody(told: str) -> None:
    assert "inconsistent reading" in told
    assert "1 odometer reading does not agree with the others" in told
    for accusing in ("fraud", "clocked", "clocking", "tampered", "manipulated"):
        assert accusing not in told.lower()


def test_jobs_come_newest_first_with_readings_and_what_was_done(told: str) -> None:
    jobs = told[told.index("Jobs, newest first") :]
    assert jobs.index("1 January 2021") < jobs.index("1 July 2020") < jobs.index("1 January 2020")
    for piece in (
        "39 000 km",
        "Trouble codes: P2463 P2002",
        "Complaint: no power",
        "the old one: failed",
    ):
        assert piece in jobs
    assert "repaired elsewhere since the last job: fuel" in jobs


def test_the_chart_draws_each_life_and_its_table_says_the_same(page: Any) -> None:
    spec = specs_of(page)["chart-lives"]
    rows = spec["data"]["values"]
    assert [row["label"].split("  ")[1] for row in rows] == ["factory", *["new, aftermarket"] * 3]
    assert [row["failed_at"] for row in rows] == [30_000, 39_000, 50_000, None]
    assert [row["start"] for row in rows] == [0, 30_000, 39_000, 50_000]
    table = page.context["sheet"].chart.tables[0]
    assert [spoken(row[4]) for row in table.rows[:3]] == ["30 000 km", "9 000 km", "11 000 km"]
    assert len(table.rows) == len(rows)


def test_a_vehicle_of_which_little_is_known_says_so_in_words(scene: Scene, alder: Client) -> None:
    bare: Vehicle = VehicleFactory(organisation=scene.cast.alder, ref="Bare", engine_family=None)
    answer = alder.get(f"/vehicles/{bare.pk}/")
    told = text_of(answer)
    assert leaks_in(answer) == []
    assert told.count("not known") >= 4
    assert "No job is on record" in told
    assert "No particulate filter is on record as in place" in told


def test_a_part_met_in_place_has_a_start_that_is_not_known(scene: Scene, alder: Client) -> None:
    late: Vehicle = VehicleFactory(
        organisation=scene.cast.alder, ref="Late", engine_family=scene.family
    )
    visit(late, date(2020, 5, 1), 150_000, operation(OperationKind.INSPECT, found_in_place="same"))
    visit(
        late,
        date(2021, 5, 1),
        170_000,
        operation(OperationKind.CLEAN_OFF_VEHICLE, removed_because="failed"),
    )
    vehicles_settle(vehicle_ids=[late.pk])
    answer = alder.get(f"/vehicles/{late.pk}/")
    assert leaks_in(answer) == []
    assert (
        "One particulate filter failed on this vehicle before (one fitted nobody knows when)"
        in (text_of(answer))
    )
    first, second = specs_of(answer)["chart-lives"]["data"]["values"]
    assert first["watched_from"] is None
    assert first["failed_at"] == 170_000
    assert (second["start"], second["failed_at"]) == (170_000, None)


def test_another_part_kind_is_asked_for_by_its_code_and_an_unknown_one_is_missing(
    scene: Scene, alder: Client
) -> None:
    page = f"/vehicles/{scene.van.pk}/"
    assert alder.get(page, {"part_kind": "particulate_filter"}).status_code == 200
    assert alder.get(page, {"part_kind": "no_such_part"}).status_code == 404
