"""Sections of a report: one family, one origin, one vehicle."""

from datetime import date

import pytest

from garage.outcomes.filters import (
    comebacks_section,
    early_failures_section,
    flags_of_vehicle,
    normal_life_of,
    part_life_section,
)
from garage.outcomes.report import report_make
from garage.outcomes.wire import Wire, report_to_wire
from tests.outcomes.conftest import Region
from tests.outcomes.histories import filter_kind
from tests.records.factories import OwnNormalLifeFactory


@pytest.fixture
def wire(region: Region) -> Wire:
    OwnNormalLifeFactory(
        organisation=region.fleet, part_kind=filter_kind(), origin="cleaned", median_km=77_000
    )
    return report_to_wire(
        report_make(
            organisations=[region.workshop, region.fleet],
            part_kind=filter_kind(),
            as_of=date(2019, 1, 1),
        )
    )


def groups(section: Wire) -> set[tuple[str, str]]:
    return {(row["engine_family"], row["origin"]) for row in section["part_life"]}


def test_without_a_filter_all_groups_are_there(wire: Wire) -> None:
    assert groups(part_life_section(wire)) == {
        ("Alder 16", "factory"),
        ("Alder 16", "new_original"),
        ("Birch 20", "factory"),
        ("Birch 20", "cleaned"),
    }


def test_part_life_of_one_family_in_any_case(wire: Wire) -> None:
    section = part_life_section(wire, engine_family="birch 20")
    assert groups(section) == {("Birch 20", "factory"), ("Birch 20", "cleaned")}
    assert {row["engine_family"] for row in section["accounts"]} == {"Birch 20"}


def test_part_life_of_one_origin(wire: Wire) -> None:
    section = part_life_section(wire, origin="factory")
    assert groups(section) == {("Alder 16", "factory"), ("Birch 20", "factory")}


def test_part_life_of_both_at_once(wire: Wire) -> None:
    assert groups(part_life_section(wire, engine_family="Alder 16", origin="factory")) == {
        ("Alder 16", "factory")
    }


def test_the_account_of_the_whole_view_stays_whatever_is_asked_for(wire: Wire) -> None:
    section = part_life_section(wire, engine_family="Birch 20")
    assert section["account"] == wire["account"]
    assert section["capture"] == wire["capture"]


def test_comebacks_are_those_of_all_families_or_of_the_one_asked_for(wire: Wire) -> None:
    assert {row["engine_family"] for row in comebacks_section(wire)["comebacks"]} == {"(all)"}
    asked = comebacks_section(wire, engine_family="Alder 16")["comebacks"]
    assert {row["engine_family"] for row in asked} == {"Alder 16"}


def test_flags_of_one_family_or_with_an_early_life_of_one_origin(wire: Wire) -> None:
    def refs(**asked: str) -> set[str]:
        section = early_failures_section(wire, **asked)
        return {flag["vehicle_ref"] for flag in section["early_failures"]["flags"]}

    assert "Van 7" in refs()
    assert "Van 7" in refs(engine_family="Alder 16")
    assert "Van 7" not in refs(engine_family="Birch 20")
    assert "Van 7" in refs(origin="new_original")
    assert "Van 7" not in refs(origin="cleaned")


def test_a_filter_does_not_change_how_many_were_watched(wire: Wire) -> None:
    section = early_failures_section(wire, engine_family="Birch 20")
    assert section["early_failures"]["watched_lives"] == wire["early_failures"]["watched_lives"]


@pytest.mark.parametrize("section", [part_life_section, comebacks_section, early_failures_section])
def test_every_section_says_whose_records_of_which_day_it_tells(
    section: object, wire: Wire
) -> None:
    told = section(wire)  # type: ignore[operator]
    for name in ("form", "as_of", "part_kind", "part_kind_name", "organisations", "vehicles"):
        assert told[name] == wire[name]


def test_a_filter_leaves_the_report_as_it_was(wire: Wire) -> None:
    before = repr(wire)
    early_failures_section(wire, engine_family="Birch 20")
    part_life_section(wire, origin="factory")
    assert repr(wire) == before


def test_flags_of_one_vehicle(region: Region, wire: Wire) -> None:
    (flag,) = flags_of_vehicle(wire, vehicle_id=region.ruined.vehicle.pk)
    assert flag["vehicle_ref"] == "Van 7"
    assert flags_of_vehicle(wire, vehicle_id=0) == []


def test_normal_life_is_the_organisations_own_before_everybodys(wire: Wire) -> None:
    own = normal_life_of(wire, organisation="birch-fleet", origin="cleaned")
    other = normal_life_of(wire, organisation="alder-yard", origin="cleaned")
    assert own is not None
    assert other is not None
    assert (own["rule"], own["median_km"]) == ("own", 77_000)
    assert other["rule"] == "catalogue"
    assert set(own) == set(other)
    assert normal_life_of(wire, organisation="birch-fleet", origin="none") is None
