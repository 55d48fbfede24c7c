"""Rows of a vehicles file: what is new, what stays, what contradicts."""

from datetime import date

import pytest
from django.db import connection

from garage.records.choices import Duty, EndedBecause
from garage.records.importing import families
from garage.records.models import EngineFamily, RegistrationMark, Vehicle
from garage.records.services.history_import import history_import
from tests.records.factories import (
    EngineFamilyAliasFactory,
    EngineFamilyFactory,
    OrganisationFactory,
    VehicleFactory,
    invented_vin,
)
from tests.records.importing.conftest import AS_OF, Importer, counts, faults

FULL = f"""
vehicle_ref|vin|registration|engine_family|first_used_on|watched_from_new|duty|ended_on|ended_because
V1|{invented_vin(1)}|qx 12-ab|Alder 16|2019-03-01|yes|delivery|2025-06-30|sold
"""


def marks(ref: str = "V1") -> list[tuple[str, date | None, date | None]]:
    return list(
        RegistrationMark.objects.filter(vehicle__ref=ref)
        .order_by("pk")
        .values_list("mark", "from_on", "until_on")
    )


def test_vehicle_is_recorded_with_all_that_is_known(importer: Importer) -> None:
    assert counts(importer.one(vehicles=FULL)) == (1, 0, 0, 0)
    vehicle = Vehicle.objects.get(organisation=importer.organisation, ref="V1")
    assert (vehicle.vin, vehicle.first_used_on) == (invented_vin(1), date(2019, 3, 1))
    assert (vehicle.watched_from_new, vehicle.duty) == (True, Duty.DELIVERY)
    assert (vehicle.ended_on, vehicle.ended_because) == (date(2025, 6, 30), EndedBecause.SOLD)
    assert vehicle.engine_family.name == "Alder 16"
    (mark,) = vehicle.marks.all()
    assert (mark.mark, mark.mark_key, mark.from_on, mark.until_on) == (
        "qx 12-ab",
        "QX12AB",
        None,
        None,
    )


def test_vehicle_is_recorded_with_its_reference_alone(importer: Importer) -> None:
    importer(vehicles="vehicle_ref\nV1")
    vehicle = Vehicle.objects.get(ref="V1")
    assert (vehicle.vin, vehicle.engine_family, vehicle.first_used_on) == ("", None, None)
    assert (vehicle.watched_from_new, vehicle.duty, vehicle.ended_on) == (None, "", None)
    assert marks() == []


@pytest.mark.parametrize("again", [FULL, "vehicle_ref|vin|duty\nV1||", FULL.upper()])
def test_equal_or_empty_values_change_nothing(importer: Importer, again: str) -> None:
    importer(vehicles=FULL)
    if again.isupper():
        again = "vehicle_ref|registration|engine_family\nV1|QX12AB|ALDER16"
    before = Vehicle.objects.values().get()
    assert counts(importer.one(vehicles=again)) == (0, 1, 0, 0)
    assert Vehicle.objects.values().get() == before
    assert len(marks()) == EngineFamily.objects.count() == 1


def test_newly_known_values_fill_empty_ones(importer: Importer) -> None:
    importer(vehicles="vehicle_ref\nV1")
    assert counts(importer.one(vehicles=FULL)) == (1, 0, 0, 0)
    vehicle = Vehicle.objects.get()
    assert vehicle.vin == invented_vin(1)
    assert vehicle.watched_from_new is True
    assert vehicle.engine_family.name == "Alder 16"
    assert len(marks()) == 1


@pytest.mark.parametrize(
    ("column", "value", "got"),
    [
        ("vin", invented_vin(2), f"{invented_vin(2)}, recorded is {invented_vin(1)}"),
        ("first_used_on", "2019-03-02", "2019-03-02, recorded is 2019-03-01"),
        ("watched_from_new", "no", "no, recorded is yes"),
        ("engine_family", "Birch 20", "Birch 20, recorded is Alder 16"),
        ("ended_on", "2025-07-01", "2025-07-01, recorded is 2025-06-30"),
        ("ended_because", "left", "left, recorded is sold"),
    ],
)
def test_contradiction_is_rejected_and_names_both_values(
    importer: Importer, column: str, value: str, got: str
) -> None:
    importer(vehicles=FULL)
    before = Vehicle.objects.values().get()
    summary = importer.one(vehicles=f"vehicle_ref|{column}|duty\nV1|{value}|taxi")
    assert [fault[1:4] for fault in faults(summary)] == [
        (column, f"{column} of a recorded vehicle does not change", got)
    ]
    assert Vehicle.objects.values().get() == before
    assert not EngineFamily.objects.filter(name="Birch 20").exists()


def test_watched_from_new_no_is_known_and_can_be_contradicted(importer: Importer) -> None:
    importer(vehicles="vehicle_ref|watched_from_new\nV1|no")
    summary = importer.one(vehicles="vehicle_ref|watched_from_new\nV1|yes")
    assert faults(summary)[0][3] == "yes, recorded is no"


def test_duty_is_that_of_the_latest_row(importer: Importer) -> None:
    importer(vehicles=FULL)
    importer(vehicles="vehicle_ref|duty\nV1|taxi")
    assert Vehicle.objects.get().duty == Duty.TAXI


def test_rows_of_one_file_agree_in_duty(importer: Importer) -> None:
    text = "vehicle_ref|duty\nV1|taxi\nV1|town\nV1|\nV1|taxi"
    summary = importer.one(vehicles=text)
    assert counts(summary) == (1, 0, 2, 1)
    assert faults(summary)[0][3] == "town, an earlier row's taxi stands"
    # The same file again must not turn the duty to and fro.
    assert counts(importer.one(vehicles=text)) == (0, 3, 0, 1)
    assert Vehicle.objects.get().duty == Duty.TAXI


def test_new_registration_becomes_the_current_one(importer: Importer) -> None:
    importer(vehicles=FULL)
    assert counts(importer.one(vehicles="vehicle_ref|registration\nV1|RY 77")) == (1, 0, 0, 0)
    assert marks() == [("qx 12-ab", None, AS_OF), ("RY 77", AS_OF, None)]


def test_former_registration_from_an_older_export_changes_nothing(importer: Importer) -> None:
    importer(vehicles=FULL)
    importer(vehicles="vehicle_ref|registration\nV1|RY 77")
    assert counts(importer.one(vehicles=FULL)) == (0, 1, 0, 0)
    assert [mark for mark, _, until in marks() if until is None] == ["RY 77"]


def test_marks_that_change_within_a_file_follow_one_another(importer: Importer) -> None:
    importer(vehicles="vehicle_ref|registration\nV1|A 1\nV1|B 2\nV1|A1\nV1|C 3")
    assert marks() == [("A 1", None, AS_OF), ("B 2", AS_OF, AS_OF), ("C 3", AS_OF, None)]


def test_import_as_of_an_earlier_day_keeps_the_marks_in_order(importer: Importer) -> None:
    importer(vehicles="vehicle_ref|registration\nV1|A 1")
    importer(vehicles="vehicle_ref|registration\nV1|B 2")
    earlier = date(2026, 1, 1)
    history_import(
        request=importer.request(as_of=earlier, vehicles="vehicle_ref|registration\nV1|C 3")
    )
    assert marks() == [("A 1", None, AS_OF), ("B 2", AS_OF, AS_OF), ("C 3", AS_OF, None)]


def test_repeated_rows_are_told_from_recorded_ones(importer: Importer) -> None:
    importer(vehicles="vehicle_ref\nV1")
    text = "vehicle_ref|duty\nV1|\nV2|taxi\nV2|taxi\nV2|"
    assert counts(importer.one(vehicles=text)) == (1, 1, 2, 0)


def test_vehicle_repeated_far_down_the_file_is_the_same(
    importer: Importer, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("garage.records.importing.rows.CHUNK_ROWS", 2)
    text = "vehicle_ref|duty\nV1|\nV2|\nV3|\nV1|taxi\nV2|\nV1|taxi"
    assert counts(importer.one(vehicles=text)) == (4, 0, 2, 0)
    assert Vehicle.objects.get(ref="V1").duty == Duty.TAXI


def test_vin_of_another_vehicle_is_refused(importer: Importer) -> None:
    importer(vehicles=FULL)
    summary = importer.one(vehicles=f"vehicle_ref|vin\nV2|{invented_vin(1)}")
    assert faults(summary)[0][1:4] == (
        "vin",
        "one VIN belongs to one vehicle of an organisation",
        f"{invented_vin(1)}, recorded as V1",
    )


def test_vin_twice_in_one_file_is_refused_the_second_time(importer: Importer) -> None:
    vin = invented_vin(7)
    summary = importer.one(vehicles=f"vehicle_ref|vin\nV1|{vin}\nV2|{vin}\nV3|")
    assert counts(summary) == (2, 0, 0, 1)
    assert faults(summary)[0][0] == "3"


def test_same_vin_and_reference_at_another_organisation_are_its_own(importer: Importer) -> None:
    other = VehicleFactory(organisation=OrganisationFactory(), ref="V1", vin=invented_vin(1))
    assert counts(importer.one(vehicles=FULL)) == (1, 0, 0, 0)
    other.refresh_from_db()
    assert other.duty == ""
    assert Vehicle.objects.filter(vin=invented_vin(1)).count() == 2


def test_end_needs_its_day_and_does_not_precede_first_use(importer: Importer) -> None:
    summary = importer.one(
        vehicles="vehicle_ref|first_used_on|ended_on|ended_because\n"
        "V1|||sold\nV2|2020-01-02|2020-01-01|\nV3|2020-01-01|2020-01-01|sold\nV4||nonsense|sold"
    )
    assert [(line, column) for line, column, *_ in faults(summary)] == [
        ("2", "ended_because"),
        ("3", "ended_on"),
        ("5", "ended_on"),
    ]
    assert counts(summary) == (1, 0, 0, 3)


def test_end_is_held_against_what_is_recorded(importer: Importer) -> None:
    importer(vehicles="vehicle_ref|ended_on\nV1|2020-01-01")
    summary = importer.one(vehicles="vehicle_ref|first_used_on\nV1|2021-01-01")
    assert faults(summary)[0][1:4] == (
        "ended_on",
        "a vehicle does not end before its first use",
        "2020-01-01, first used on 2021-01-01",
    )
    assert counts(importer.one(vehicles="vehicle_ref|ended_because\nV1|sold")) == (1, 0, 0, 0)


def test_engine_family_is_found_by_name_or_alias(importer: Importer) -> None:
    family = EngineFamilyFactory(name="Alder 16")
    EngineFamilyAliasFactory(family=family, name="AL-16 TD")
    summary = importer.one(
        vehicles="vehicle_ref|engine_family\nV1|ALDER16\nV2|alder  16\nV3|al-16td\nV4|Alder 16"
    )
    assert set(Vehicle.objects.values_list("engine_family", flat=True)) == {family.pk}
    assert summary.notices == []


def test_own_name_of_a_family_goes_before_an_alias_of_another(importer: Importer) -> None:
    EngineFamilyAliasFactory(family=EngineFamilyFactory(name="Birch 20"), name="Alder16")
    family = EngineFamilyFactory(name="Alder 16")
    importer(vehicles="vehicle_ref|engine_family\nV1|alder16")
    assert Vehicle.objects.get().engine_family == family


def test_unknown_engine_family_is_created_for_review(importer: Importer) -> None:
    summary = importer.one(
        vehicles="vehicle_ref|engine_family\nV1|Rowan  18\nV2|ROWAN 18\nV3|Linden 22"
    )
    assert list(EngineFamily.objects.values_list("name", "reviewed")) == [
        ("Linden 22", False),
        ("Rowan 18", False),
    ]
    assert summary.notices == ["new engine families to review: Linden 22, Rowan 18"]


def test_rejected_row_creates_no_engine_family(importer: Importer) -> None:
    importer(vehicles="vehicle_ref|engine_family|duty\nV1|Rowan 18|bus")
    assert not EngineFamily.objects.exists()


def test_family_created_elsewhere_at_the_same_moment_is_taken(importer: Importer) -> None:
    book = families.FamilyBook()
    family = EngineFamilyFactory(name="Rowan 18")  # after the book was read
    assert book.find_or_create("rowan 18") == family.pk
    assert EngineFamily.objects.count() == 1


def test_keys_are_asked_for_where_the_database_does_not_tell_them(
    importer: Importer, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(type(connection.features), "can_return_rows_from_bulk_insert", False)
    importer(
        vehicles="vehicle_ref|registration\nV1|A 1\nV2|B 2",
        jobs="job_ref|vehicle_ref|opened_on|operation|system|odometer|unit\n"
        "J1|V1|2024-01-01|inspect|fuel|1000|km\nJ2|V2|2024-01-01|inspect|fuel|2000|km",
    )
    assert marks("V2") == [("B 2", None, None)]
    vehicle = Vehicle.objects.get(ref="V2")
    assert vehicle.jobs.get().operations.count() == vehicle.readings.count() == 1
