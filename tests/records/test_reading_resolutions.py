"""What a person decides of an odometer reading, and the lives that come back by it."""

from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal

import pytest

from garage.background.models import QueuedWork
from garage.records.choices import OperationKind
from garage.records.errors import RuleBroken
from garage.records.models import AuditEntry, Fitment, OdometerReading, PartKind, Vehicle
from garage.records.services.reading_resolutions import (
    Decision,
    NewCluster,
    NewOdometer,
    cluster_replace,
    odometer_add,
    reading_resolve,
    resolution_withdraw,
)
from garage.records.services.settle import vehicles_settle
from tests.records.factories import (
    JobFactory,
    OdometerReadingFactory,
    OperationFactory,
    VehicleFactory,
)

pytestmark = pytest.mark.django_db

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
STANDS = Decision("stands", "photo of the dash")
MENDED = Decision("mended", "job card says 100 200", typed=Decimal(100_200), unit="km")


@pytest.fixture
def doubted() -> OdometerReading:
    """The reading at which a filter was fitted, with a nought too many."""
    vehicle = VehicleFactory()
    for year in range(2018, 2025):
        km = 100_000 + (year - 2020) * 15_000
        OdometerReadingFactory(vehicle=vehicle, read_on=date(year, 1, 5), typed=km, km=km)
    day = date(2020, 1, 6)
    job = JobFactory(vehicle=vehicle, opened_on=day, closed_on=day)
    reading = OdometerReadingFactory(
        vehicle=vehicle, job=job, read_on=day, typed=1_002_000, km=1_002_000, source="job"
    )
    OperationFactory(
        job=job,
        kind=OperationKind.REPLACE,
        part_kind=PartKind.objects.get(code="particulate_filter"),
    )
    vehicles_settle(vehicle_ids=[vehicle.pk])
    reading.refresh_from_db()
    assert reading.doubt
    return reading


def fitted_km(vehicle: Vehicle) -> int | None:
    return Fitment.objects.get(vehicle=vehicle, start="fitted_here").fitted_km


def test_reading_in_doubt_tells_what_would_mend_it(doubted: OdometerReading) -> None:
    assert doubted.explanations
    assert sum(each["weight"] for each in doubted.explanations) == pytest.approx(1, abs=0.01)
    assert 100_200 in {each["km"] for each in doubted.explanations}


def test_reading_mended_brings_the_life_back(doubted: OdometerReading) -> None:
    assert fitted_km(doubted.vehicle) is None
    reading_resolve(reading=doubted, decision=MENDED, at=AT)
    assert fitted_km(doubted.vehicle) == 100_200
    doubted.refresh_from_db()
    assert (doubted.doubt, doubted.km, doubted.typed) == ("", 100_200, Decimal(1_002_000))


def test_reading_mended_queues_new_figures(doubted: OdometerReading) -> None:
    QueuedWork.objects.all().delete()
    reading_resolve(reading=doubted, decision=MENDED, at=AT)
    work = QueuedWork.objects.get()
    assert (work.kind, work.arguments) == (
        "outcomes.refresh",
        {"organisation": doubted.vehicle.organisation.code},
    )


def test_decision_taken_back_doubts_the_reading_again(doubted: OdometerReading) -> None:
    reading_resolve(reading=doubted, decision=MENDED, at=AT)
    resolution_withdraw(reading=doubted, at=AT)
    assert fitted_km(doubted.vehicle) is None
    with pytest.raises(RuleBroken, match="can be taken back"):
        resolution_withdraw(reading=doubted, at=AT)
    verbs = AuditEntry.objects.order_by("serial").values_list("verb", flat=True)
    assert list(verbs) == ["resolve", "reopen"]


def test_later_decision_takes_the_place_of_an_earlier(doubted: OdometerReading) -> None:
    reading_resolve(reading=doubted, decision=STANDS, at=AT)
    reading_resolve(reading=doubted, decision=MENDED, at=AT)
    in_force = doubted.resolutions.filter(withdrawn_at__isnull=True)
    assert in_force.get().resolved_as == "mended"
    assert doubted.resolutions.count() == 2


def test_reading_that_stands_can_be_set_aside(doubted: OdometerReading) -> None:
    good = doubted.vehicle.readings.filter(doubt="").first()
    assert good is not None
    reading_resolve(reading=good, decision=replace(STANDS, resolved_as="set_aside"), at=AT)
    good.refresh_from_db()
    assert good.doubt == "set_aside"


@pytest.mark.parametrize(
    ("decision", "column"),
    [
        (replace(STANDS, resolved_as="guessed"), "resolved_as"),
        (replace(STANDS, reason=" "), "reason"),
        (replace(STANDS, reason="x" * 301), "reason"),
        (replace(STANDS, typed=Decimal(1), unit="km"), "typed"),
        (replace(MENDED, typed=None, unit=""), "typed"),
        (replace(MENDED, unit=""), "unit"),
        (replace(MENDED, typed=Decimal(-1)), "typed"),
        (replace(MENDED, typed=Decimal("NaN")), "typed"),
        (replace(MENDED, typed=Decimal(10_000_001)), "typed"),
        (replace(MENDED, read_on=date(2026, 3, 4)), "read_on"),
    ],
)
def test_decision_that_cannot_be_is_refused(
    doubted: OdometerReading, decision: Decision, column: str
) -> None:
    with pytest.raises(RuleBroken) as refused:
        reading_resolve(reading=doubted, decision=decision, at=AT)
    assert refused.value.column == column
    assert not doubted.resolutions.exists()


def test_reading_without_a_job_is_added_late(doubted: OdometerReading) -> None:
    vehicle = doubted.vehicle
    new = NewOdometer(date(2021, 7, 1), Decimal(77_000), "mi", "inspection")
    reading = odometer_add(vehicle=vehicle, new=new, at=AT)
    reading.refresh_from_db()
    assert (reading.km, reading.doubt) == (123_919, "")
    with pytest.raises(RuleBroken, match="recorded once"):
        odometer_add(vehicle=vehicle, new=new, at=AT)
    for wrong, column in (
        (replace(new, source="job"), "source"),
        (replace(new, unit="yd"), "unit"),
        (replace(new, read_on=date(2027, 1, 1)), "read_on"),
    ):
        with pytest.raises(RuleBroken) as refused:
            odometer_add(vehicle=vehicle, new=wrong, at=AT)
        assert refused.value.column == column


CLUSTER = NewCluster(date(2024, 6, 1), Decimal(165_000), Decimal(5), "km", "invoice 4711")


def test_replaced_instrument_is_an_offset_with_its_document(doubted: OdometerReading) -> None:
    vehicle = doubted.vehicle
    replacement = cluster_replace(vehicle=vehicle, new=CLUSTER, at=AT)
    assert replacement.offset_km == 164_995
    new = NewOdometer(date(2025, 1, 5), Decimal(10_005), "km", "keeper")
    reading = odometer_add(vehicle=vehicle, new=new, at=AT)
    reading.refresh_from_db()
    assert (reading.km, reading.doubt) == (175_000, "")


def test_second_replaced_instrument_carries_the_first_on(doubted: OdometerReading) -> None:
    vehicle = doubted.vehicle
    cluster_replace(vehicle=vehicle, new=CLUSTER, at=AT)
    second = replace(
        CLUSTER,
        done_on=date(2025, 6, 1),
        shown_before=Decimal(10_000),
        shown_after=Decimal(0),
        unit="mi",
    )
    replacement = cluster_replace(vehicle=vehicle, new=second, at=AT)
    assert replacement.offset_km == 164_995 + 16_093
    assert (replacement.typed_offset, replacement.unit) == (Decimal(181_088), "km")


@pytest.mark.parametrize(
    ("changed", "column"),
    [
        ({"document": " "}, "document"),
        ({"document": "x" * 201}, "document"),
        ({"unit": ""}, "unit"),
        ({"shown_after": Decimal(-1)}, "shown_after"),
        ({"done_on": date(2030, 1, 1)}, "done_on"),
    ],
)
def test_replaced_instrument_that_cannot_be_is_refused(
    doubted: OdometerReading, changed: dict, column: str
) -> None:
    with pytest.raises(RuleBroken) as refused:
        cluster_replace(vehicle=doubted.vehicle, new=replace(CLUSTER, **changed), at=AT)
    assert refused.value.column == column


def test_instrument_is_replaced_once_a_day(doubted: OdometerReading) -> None:
    cluster_replace(vehicle=doubted.vehicle, new=CLUSTER, at=AT)
    with pytest.raises(RuleBroken, match="once a day"):
        cluster_replace(vehicle=doubted.vehicle, new=CLUSTER, at=AT)
