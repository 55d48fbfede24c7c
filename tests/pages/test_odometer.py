"""The odometer ledger on its page: read, decided, added to."""

import re
from datetime import date

import pytest
from django.test import Client

from garage.records.models import OdometerReading, ReadingResolution, Vehicle
from garage.records.services.settle import vehicles_settle
from tests.api.scene import Scene
from tests.pages.conftest import ClientOf
from tests.pages.reading import leaks_in, text_of
from tests.records.factories import OdometerReadingFactory, VehicleFactory


@pytest.fixture
def vehicle(scene: Scene) -> Vehicle:
    """Read every January, once with a nought too many."""
    made = VehicleFactory(organisation=scene.cast.alder)
    for year in range(2018, 2025):
        km = 100_000 + (year - 2020) * 15_000
        typed = 10 * km if year == 2021 else km
        OdometerReadingFactory(vehicle=made, read_on=date(year, 1, 5), typed=typed, km=typed)
    vehicles_settle(vehicle_ids=[made.pk])
    return made


def doubted(vehicle: Vehicle) -> OdometerReading:
    return vehicle.readings.exclude(doubt="").get()


def test_ledger_tells_what_is_in_doubt_and_what_would_mend_it(
    vehicle: Vehicle, alder: Client
) -> None:
    answer = alder.get(f"/vehicles/{vehicle.pk}/odometer/")
    told = text_of(answer)
    assert "1 inconsistent reading to decide on" in told
    assert "115 000" in told.replace("\u00a0", " ")
    assert "a year" in told
    assert "Mend it so" not in told
    assert leaks_in(answer) == []


def test_ledger_mends_with_one_tap_and_takes_it_back(vehicle: Vehicle, technician: Client) -> None:
    address = f"/vehicles/{vehicle.pk}/odometer/"
    reading = doubted(vehicle)
    form = re.search(
        rf'action="/odometer-readings/{reading.pk}/" class="find".*?</form>',
        technician.get(address).content.decode(),
        re.DOTALL,
    )
    assert form is not None
    said = dict(re.findall(r'name="(\w+)" value="([^"]*)"', form[0]))
    answer = technician.post(f"/odometer-readings/{reading.pk}/", said, follow=True)
    assert "Every reading stands or is decided" in text_of(answer)
    reading.refresh_from_db()
    assert (reading.doubt, reading.km) == ("", 115_000)
    answer = technician.post(f"/odometer-readings/{reading.pk}/", {"take_back": "yes"}, follow=True)
    assert "1 inconsistent reading to decide on" in text_of(answer)


def test_ledger_decision_that_is_refused_says_why(vehicle: Vehicle, technician: Client) -> None:
    reading = doubted(vehicle)
    answer = technician.post(
        f"/odometer-readings/{reading.pk}/", {"resolved_as": "mended", "reason": "card"}
    )
    assert "right distance or the right day" in text_of(answer)
    assert not ReadingResolution.objects.exists()


@pytest.mark.parametrize(
    ("on", "said"),
    [
        ("2022-01-05", "as read"),
        ("2022-07-05", "km to"),
        ("2017-01-01", "On 1 January 2017"),
    ],
)
def test_ledger_says_the_distance_on_a_day(
    vehicle: Vehicle, alder: Client, on: str, said: str
) -> None:
    told = text_of(alder.get(f"/vehicles/{vehicle.pk}/odometer/?on={on}"))
    assert said in told.replace("\u00a0", " ")


def test_ledger_takes_a_reading_and_a_replaced_instrument(
    vehicle: Vehicle, technician: Client
) -> None:
    address = f"/vehicles/{vehicle.pk}/odometer/"
    cluster = {
        "cluster-done_on": "2024-06-01",
        "cluster-shown_before": "165000",
        "cluster-shown_after": "0",
        "cluster-unit": "km",
        "cluster-document": "invoice 4711",
    }
    assert technician.post(f"{address}cluster/", cluster).status_code == 302
    reading = {
        "reading-read_on": "2025-01-05",
        "reading-typed": "10000",
        "reading-unit": "km",
        "reading-source": "keeper",
    }
    assert technician.post(f"{address}reading/", reading).status_code == 302
    assert OdometerReading.objects.get(read_on=date(2025, 1, 5)).km == 175_000
    refused = technician.post(f"{address}reading/", reading)
    assert "recorded once" in text_of(refused)
    assert technician.post(f"{address}engine/", reading).status_code == 404


def test_ledger_is_written_by_technicians_of_the_organisation_alone(
    vehicle: Vehicle, scene: Scene, alder: Client, client_of: ClientOf
) -> None:
    said = {"resolved_as": "stands", "reason": "photo"}
    address = f"/odometer-readings/{doubted(vehicle).pk}/"
    assert alder.post(address, said).status_code == 403
    cedar = client_of(scene.cast.at_cedar)
    assert cedar.post(address, said).status_code == 404
    assert cedar.get(f"/vehicles/{vehicle.pk}/odometer/").status_code == 404


def test_ledger_asks_for_a_replaced_instrument_where_none_is_recorded(
    scene: Scene, technician: Client
) -> None:
    made = VehicleFactory(organisation=scene.cast.alder)
    for year in range(2014, 2025):
        km = 100_000 + (year - 2014) * 15_000 if year < 2020 else (year - 2020) * 15_000 + 9_000
        OdometerReadingFactory(vehicle=made, read_on=date(year, 1, 5), typed=km, km=km)
    vehicles_settle(vehicle_ids=[made.pk])
    told = text_of(technician.get(f"/vehicles/{made.pk}/odometer/"))
    assert "Record the replaced instrument" in told


def test_ledger_of_a_vehicle_without_readings(scene: Scene, alder: Client) -> None:
    bare = VehicleFactory(organisation=scene.cast.alder)
    told = text_of(alder.get(f"/vehicles/{bare.pk}/odometer/?on=2024-01-01"))
    assert "No reading is on record" in told
    assert "cannot be said" in told


# --- The list of what is to be decided ---


def test_readings_to_decide_on_are_listed_until_decided(
    vehicle: Vehicle, technician: Client, client_of: ClientOf, scene: Scene
) -> None:
    told = text_of(technician.get("/odometers/"))
    assert "1 reading to decide on" in told
    assert vehicle.ref in told
    assert vehicle.ref not in text_of(client_of(scene.cast.at_cedar).get("/odometers/"))
    said = {"resolved_as": "set_aside", "reason": "the card says so"}
    technician.post(f"/odometer-readings/{doubted(vehicle).pk}/", said)
    assert vehicle.ref not in text_of(technician.get("/odometers/"))
    technician.post(f"/odometer-readings/{doubted(vehicle).pk}/", {"take_back": "yes"})
    assert vehicle.ref in text_of(technician.get("/odometers/"))
