"""Instruments as they are written: each refusal differs in one thing."""

from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

import pytest

from garage.evidence.services.instruments import (
    InstrumentFacts,
    instrument_add,
    instrument_change,
)
from garage.records.errors import RuleBroken
from garage.records.models import AuditEntry, Instrument, Organisation
from tests.records.evidence_factories import InstrumentFactory, ReadingFactory
from tests.records.factories import JobFactory, OrganisationFactory

pytestmark = pytest.mark.django_db

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
GAUGE = InstrumentFacts(
    "hand pump gauge", "mbar", Decimal("0.5"), 0.01, calibrated_on=date(2026, 1, 5)
)


@pytest.fixture
def organisation() -> Organisation:
    return OrganisationFactory()


def test_instrument_is_kept_with_an_audit_row(organisation: Organisation) -> None:
    kept = instrument_add(organisation=organisation, facts=GAUGE, at=AT)
    assert Instrument.objects.get() == kept
    assert (kept.name, kept.unit, kept.accuracy_share) == ("hand pump gauge", "mbar", 0.01)
    assert AuditEntry.objects.get().thing == "instrument"


def test_display_without_anything_known_is_kept(organisation: Organisation) -> None:
    kept = instrument_add(organisation=organisation, facts=InstrumentFacts(" old  reader "), at=AT)
    assert (kept.name, kept.unit, kept.resolution, kept.accuracy_share) == (
        "old reader",
        "",
        None,
        None,
    )


@pytest.mark.parametrize(
    ("changed", "column"),
    [
        ({"name": "  "}, "name"),
        ({"name": "x" * 81}, "name"),
        ({"name": "The Reader"}, "name"),
        ({"unit": "stone"}, "unit"),
        ({"resolution": Decimal(0)}, "resolution"),
        ({"resolution": Decimal("NaN")}, "resolution"),
        ({"resolution": Decimal("0.0000001")}, "resolution"),
        ({"accuracy_share": 1.0}, "accuracy_share"),
        ({"accuracy_share": -0.01}, "accuracy_share"),
        ({"accuracy_share": float("nan")}, "accuracy_share"),
        ({"calibrated_on": date(2027, 1, 5)}, "calibrated_on"),
    ],
)
def test_instrument_that_cannot_be_is_refused(
    organisation: Organisation, changed: dict[str, Any], column: str
) -> None:
    InstrumentFactory(organisation=organisation, name="the reader")
    with pytest.raises(RuleBroken) as refused:
        instrument_add(organisation=organisation, facts=replace(GAUGE, **changed), at=AT)
    assert [each.column for each in refused.value.broken] == [column]
    assert Instrument.objects.count() == 1


def test_all_faults_are_told_at_once(organisation: Organisation) -> None:
    facts = InstrumentFacts("", "stone", Decimal(0), 2.0, date(2027, 1, 5))
    with pytest.raises(RuleBroken) as refused:
        instrument_add(organisation=organisation, facts=facts, at=AT)
    assert [each.column for each in refused.value.broken] == [
        "name",
        "unit",
        "resolution",
        "accuracy_share",
        "calibrated_on",
    ]


def test_name_of_another_workshops_instrument_is_free(organisation: Organisation) -> None:
    InstrumentFactory(name="hand pump gauge")
    assert instrument_add(organisation=organisation, facts=GAUGE, at=AT).pk


def test_instrument_is_changed_and_the_trail_says_what(organisation: Organisation) -> None:
    kept = instrument_add(organisation=organisation, facts=GAUGE, at=AT)
    instrument_change(instrument=kept, facts=replace(GAUGE, accuracy_share=0.02), at=AT)
    assert Instrument.objects.get().accuracy_share == 0.02
    entry = AuditEntry.objects.order_by("serial")[1]
    assert entry.changes == {"accuracy_share": [0.01, 0.02]}
    instrument_change(instrument=kept, facts=replace(GAUGE, accuracy_share=0.02), at=AT)
    assert AuditEntry.objects.count() == 2


def test_unit_that_an_instrument_turns_out_to_name_tells_its_bare_readings() -> None:
    job = JobFactory()
    display = InstrumentFactory(organisation=job.organisation, name="reader")
    reading = ReadingFactory(job=job, instrument=display, unit="", value=Decimal("4.8"))
    instrument_change(instrument=display, facts=InstrumentFacts("reader", "kPa"), at=AT)
    reading.refresh_from_db()
    assert reading.standard_value == 48.0
