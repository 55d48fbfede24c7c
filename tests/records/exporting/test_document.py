"""The JSON document: everything the organisation owns, and nothing of anybody else."""

import io
import json
import os
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from django.apps import apps

from garage.records.choices import ComebackState, OperationKind
from garage.records.exporting.document import document_write
from garage.records.exporting.reference import sections_as_markdown, tables_written
from garage.records.exporting.sections import SECTIONS
from garage.records.models import (
    AdviceGiven,
    Baseline,
    Call,
    CallList,
    ComebackReview,
    Document,
    EngineFamily,
    EngineFamilyAlias,
    Erasure,
    ImportRun,
    ImportSource,
    Keeper,
    LineAnswer,
    LineToReview,
    LookMissed,
    Merge,
    NotDuplicate,
    Organisation,
    PartKind,
    Recheck,
    TableUpload,
)
from garage.records.services.claims import claims_open
from garage.records.services.reading_resolutions import Decision, reading_resolve
from tests.records.evidence_factories import (
    CautionConfirmedFactory,
    DriveLoggedFactory,
    FindingSeenFactory,
    GaugePairFactory,
    InstrumentFactory,
    OutcomeConfirmedFactory,
    OwnCodeWordingFactory,
    OwnThresholdFactory,
    ReadingFactory,
    TroubleCodeReadFactory,
    UnitConfirmedFactory,
)
from tests.records.exporting.odd import odd_make
from tests.records.factories import MembershipFactory, OwnNormalLifeFactory
from tests.records.stories import fitted_and_failed

pytestmark = pytest.mark.django_db

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
#: The vocabulary of the installation, which no organisation owns; rows name it in words.
VOCABULARY = {EngineFamily, EngineFamilyAlias, PartKind, Organisation}


def document_of(organisation: Organisation) -> dict[str, Any]:
    out = io.StringIO()
    document_write(organisation, out, at=AT)
    told: dict[str, Any] = json.loads(out.getvalue())
    return told


def full_make(code: str) -> Organisation:
    """Records of every kind."""
    organisation = odd_make(code)
    member = MembershipFactory(organisation=organisation)
    filter_kind = PartKind.objects.get(code="particulate_filter")
    OwnNormalLifeFactory(organisation=organisation, part_kind=filter_kind)
    vehicle, (fitting, failing) = fitted_and_failed(organisation=organisation)
    claims_open(vehicle_ids=[vehicle.pk], at=AT)
    job, later = fitting.job, failing.job
    Keeper.objects.create(vehicle=vehicle, name=f"keeper at {code}", phone="1")
    reading_resolve(
        reading=job.reading,
        decision=Decision(resolved_as="stands", reason="seen again"),
        at=AT,
        by=member.user,
    )
    LookMissed.objects.create(job=job, part_kind=filter_kind)
    pressure = ReadingFactory(job=job)
    Baseline.objects.create(reading=pressure, because="new_part", kept_at=AT)
    for each in (FindingSeenFactory, OutcomeConfirmedFactory, CautionConfirmedFactory):
        each(job=job)
    for more in (TroubleCodeReadFactory, DriveLoggedFactory):
        more(job=job)
    for own in (OwnThresholdFactory, OwnCodeWordingFactory):
        own(organisation=organisation)
    display = InstrumentFactory(organisation=organisation)
    GaugePairFactory(job=job, instrument=display)
    UnitConfirmedFactory(instrument=display)
    AdviceGiven.objects.create(job=job, line=1, text="renew the hoses")
    ComebackReview.objects.create(
        job=later, index_job=job, state=ComebackState.REFUSED, reason="another fault", at=AT
    )
    Recheck.objects.create(job=job, due_on=date(2025, 1, 1))
    stored = {"stored_as": f"{code}.pdf", "content_type": "application/pdf", "sha256": "0" * 64}
    Document.objects.create(
        organisation=organisation,
        job=job,
        kind="invoice",
        title="bill",
        size_bytes=9,
        added_at=AT,
        **stored,
    )
    drawn = CallList.objects.create(
        organisation=organisation,
        drawn_on=AT.date(),
        silent_since_days=365,
        part_kind=filter_kind,
        population=1,
        seed=1,
    )
    Call.objects.create(call_list=drawn, vehicle=vehicle, order=1)
    pair = {"organisation": organisation, "thing": "job", "at": AT}
    Merge.objects.create(kept_id=1, gone_id=2, gone_ref="X", undo={}, reason="same", **pair)
    NotDuplicate.objects.create(one_id=1, other_id=2, **pair)
    Erasure.objects.create(
        organisation=organisation, because="request", at=AT, vehicle_ids=[1], erased={}
    )
    ImportSource.objects.create(
        organisation=organisation, name="till", mapping={"a": 1}, confirmed_at=AT
    )
    ImportRun.objects.create(organisation=organisation, files={}, queued_at=AT)
    TableUpload.objects.create(
        organisation=organisation,
        source_name="till",
        file_name="out.csv",
        stored_as="tables/1.csv",
        mapping={},
        uploaded_at=AT,
    )
    LineAnswer.objects.create(
        organisation=organisation,
        phrase="replace filter",
        status="done",
        operation=OperationKind.REPLACE,
        part_kind=filter_kind,
        answered_at=AT,
    )
    LineToReview.objects.create(organisation=organisation, phrase="?", example="?", guess={})
    return organisation


def test_every_model_is_owned_or_vocabulary() -> None:
    held = {section.model for section in SECTIONS}
    models = set(apps.get_app_config("records").get_models())
    assert held | VOCABULARY == models, "give it a section in garage/records/exporting/sections.py"
    assert not held & VOCABULARY


def test_document_holds_every_record_of_the_organisation_and_no_other() -> None:
    own, other = full_make("alder"), full_make("birch")
    told, others = document_of(own), document_of(other)
    for section in SECTIONS:
        keys = {record["id"] for record in told[section.name]}
        assert keys, section.name
        assert not keys & {record["id"] for record in others[section.name]}
        both = section.model._default_manager.count()
        assert len(keys) + len(others[section.name]) == both, section.name


def test_document_says_its_form_and_whose_it_is() -> None:
    told = document_of(odd_make())
    assert (told["form"], told["version"]) == ("comeback register export", 1)
    assert told["exported_at"] == "2026-03-02T09:30:00+00:00"
    assert told["organisation"]["code"] == "oddments"


def test_records_stand_after_those_they_name() -> None:
    told = document_of(full_make("alder"))
    named = {
        section.name: [
            (field.name, field.holds.split("`")[1])
            for field in section.fields
            if field.holds.startswith("key in")
        ]
        for section in SECTIONS
    }
    seen: dict[str, set[int]] = {}
    for section in SECTIONS:
        records = told[section.name]
        seen[section.name] = {record["id"] for record in records}
        for record in records:
            for name, where in named[section.name]:
                assert record[name] is None or record[name] in seen[where], (section.name, name)


def test_values_are_written_as_they_were_typed() -> None:
    told = document_of(odd_make())
    typed = [(each["typed"], each["unit"]) for each in told["odometer_readings"]]
    assert ("50000.50", "mi") in typed
    marks = [(each["mark"], each["until_on"]) for each in told["registration_marks"]]
    assert marks == [("-OLD 1", "2020-01-01"), ("QX 77", None)]
    (operation,) = [each for each in told["operations"] if each["part_mark"] == "=7+1"]
    assert operation["part_kind"] == "particulate_filter"
    assert operation["labour_cost"] == "120.50"
    assert told["vehicles"][2]["erased_on"] == "2024-01-01"


def test_one_record_stands_on_one_line() -> None:
    out = io.StringIO()
    organisation = odd_make()
    count = document_write(organisation, out, at=AT)
    lines = out.getvalue().splitlines()
    records = [
        json.loads(line.rstrip(",")) for line in lines if line.startswith("{") and line != "{"
    ]
    assert len(records) == count


def test_reference_shows_the_sections(repo: Path) -> None:
    path = repo / "docs" / "export.md"
    text = path.read_text(encoding="utf-8")
    if os.environ.get("WRITE_DOCUMENTS") == "yes":
        text = tables_written(text)
        path.write_text(text, encoding="utf-8")
    assert sections_as_markdown() in text, (
        "write it anew: WRITE_DOCUMENTS=yes deploy/test tests/records/exporting/test_document.py"
    )
