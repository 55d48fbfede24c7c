"""What the database refuses of readings, instruments, codes, findings and drives."""

from datetime import datetime

import pytest

from garage.records.choices import EngineCondition, EvidenceList, JobPhase, ReadingKind
from tests.records.constraints import refused_by
from tests.records.evidence_factories import (
    AT,
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
from tests.records.factories import EngineFamilyFactory, JobFactory, OrganisationFactory

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("kind", ReadingKind.values)
def test_reading_kind_known(kind: str) -> None:
    ReadingFactory(kind=kind)
    with refused_by("reading_kind_known"):
        ReadingFactory(kind="guessed")


@pytest.mark.parametrize("condition", ["", *EngineCondition.values])
def test_reading_condition_known(condition: str) -> None:
    ReadingFactory(condition=condition)
    with refused_by("reading_condition_known"):
        ReadingFactory(condition="fast")


@pytest.mark.parametrize("layout", ["", "two_hose", "one_hose"])
def test_reading_layout_known(layout: str) -> None:
    ReadingFactory(layout=layout)
    with refused_by("reading_layout_known"):
        ReadingFactory(layout="three_hose")


def test_finding_seen_once_per_phase() -> None:
    job = JobFactory()
    FindingSeenFactory(job=job)
    FindingSeenFactory(job=job, phase=JobPhase.RECHECK)
    with refused_by("finding_seen_once_per_phase"):
        FindingSeenFactory(job=job, state="clean")


@pytest.mark.parametrize("missing", ["finding", "state"])
def test_finding_seen_said(missing: str) -> None:
    FindingSeenFactory()
    with refused_by("finding_seen_said"):
        FindingSeenFactory(**{missing: ""})


def test_finding_seen_phase_known() -> None:
    with refused_by("finding_seen_phase_known"):
        FindingSeenFactory(phase="later")


def test_outcome_once_per_list() -> None:
    job = JobFactory()
    OutcomeConfirmedFactory(job=job)
    OutcomeConfirmedFactory(job=job, list=EvidenceList.UPSTREAM, state="thermostat")
    with refused_by("outcome_once_per_list"):
        OutcomeConfirmedFactory(job=job, state="ash_limited")


@pytest.mark.parametrize("known", EvidenceList.values)
def test_outcome_list_known(known: str) -> None:
    OutcomeConfirmedFactory(list=known)
    with refused_by("outcome_list_known"):
        OutcomeConfirmedFactory(list="driver")


def test_outcome_state_said() -> None:
    with refused_by("outcome_state_said"):
        OutcomeConfirmedFactory(state="")


@pytest.mark.parametrize("missing", ["procedure", "name"])
def test_caution_named(missing: str) -> None:
    CautionConfirmedFactory()
    with refused_by("caution_named"):
        CautionConfirmedFactory(**{missing: ""})


def test_instrument_name_once() -> None:
    organisation = OrganisationFactory()
    InstrumentFactory(organisation=organisation, name="hand gauge")
    InstrumentFactory(name="hand gauge")
    with refused_by("instrument_name_once"):
        InstrumentFactory(organisation=organisation, name="Hand Gauge")


def test_instrument_named() -> None:
    with refused_by("instrument_named"):
        InstrumentFactory(name="")


@pytest.mark.parametrize("good", [None, "0.1"])
def test_instrument_resolution_positive(good: str | None) -> None:
    InstrumentFactory(resolution=good)
    with refused_by("instrument_resolution_positive"):
        InstrumentFactory(resolution=0)


@pytest.mark.parametrize(("good", "bad"), [(None, 1), (0, -0.01)])
def test_instrument_accuracy_is_a_share(good: float | None, bad: float) -> None:
    InstrumentFactory(accuracy_share=good)
    with refused_by("instrument_accuracy_is_a_share"):
        InstrumentFactory(accuracy_share=bad)


def test_gauge_pair_has_uncertainty() -> None:
    GaugePairFactory(applied_error_pa=0.1)
    with refused_by("gauge_pair_has_uncertainty"):
        GaugePairFactory(applied_error_pa=0)


def test_gauge_pair_has_resolution() -> None:
    GaugePairFactory(shown_resolution="0.01")
    with refused_by("gauge_pair_has_resolution"):
        GaugePairFactory(shown_resolution=0)


def test_unit_confirmed_once() -> None:
    family, display = EngineFamilyFactory(), InstrumentFactory()
    UnitConfirmedFactory(instrument=display, engine_family=family)
    UnitConfirmedFactory(instrument=display, engine_family=EngineFamilyFactory())
    UnitConfirmedFactory(instrument=display, engine_family=family, quantity="soot_mass", unit="g")
    with refused_by("unit_confirmed_once"):
        UnitConfirmedFactory(instrument=display, engine_family=family, unit="mbar")


def test_unit_confirmed_once_for_all() -> None:
    display = InstrumentFactory()
    UnitConfirmedFactory(instrument=display)
    UnitConfirmedFactory(instrument=display, engine_family=EngineFamilyFactory())
    with refused_by("unit_confirmed_once_for_all"):
        UnitConfirmedFactory(instrument=display)


@pytest.mark.parametrize("missing", ["unit", "quantity"])
def test_unit_confirmed_named(missing: str) -> None:
    UnitConfirmedFactory()
    with refused_by("unit_confirmed_named"):
        UnitConfirmedFactory(**{missing: ""})


def test_code_read_once_per_phase() -> None:
    job = JobFactory()
    TroubleCodeReadFactory(job=job, failure_type=0)
    TroubleCodeReadFactory(job=job, failure_type=0x92)
    TroubleCodeReadFactory(job=job, failure_type=0, phase="recheck")
    TroubleCodeReadFactory(job=job, failure_type=0, ecu="engine")
    with refused_by("code_read_once_per_phase"):
        TroubleCodeReadFactory(job=job, failure_type=0)


def test_code_without_type_once_per_phase() -> None:
    job = JobFactory()
    TroubleCodeReadFactory(job=job)
    TroubleCodeReadFactory(job=job, failure_type=0)
    TroubleCodeReadFactory(job=job, state="pending")
    TroubleCodeReadFactory(job=job, code="P244B")
    with refused_by("code_without_type_once_per_phase"):
        TroubleCodeReadFactory(job=job)


def test_code_read_given() -> None:
    TroubleCodeReadFactory(code="P2002")
    with refused_by("code_read_given"):
        TroubleCodeReadFactory(code="")


def test_code_read_scheme_known() -> None:
    TroubleCodeReadFactory(scheme="spn_fmi", code="3251/0")
    with refused_by("code_read_scheme_known"):
        TroubleCodeReadFactory(scheme="other")


def test_code_read_state_known() -> None:
    TroubleCodeReadFactory(state="permanent")
    with refused_by("code_read_state_known"):
        TroubleCodeReadFactory(state="old")


def test_code_read_phase_known() -> None:
    TroubleCodeReadFactory(phase="recheck")
    with refused_by("code_read_phase_known"):
        TroubleCodeReadFactory(phase="later")


def test_code_read_failure_type_is_a_byte() -> None:
    TroubleCodeReadFactory(failure_type=255)
    with refused_by("code_read_failure_type_is_a_byte"):
        TroubleCodeReadFactory(failure_type=256)


def test_code_read_status_is_a_byte() -> None:
    TroubleCodeReadFactory(status_byte=255)
    with refused_by("code_read_status_is_a_byte"):
        TroubleCodeReadFactory(status_byte=256)


def test_own_code_wording_once() -> None:
    family, organisation = EngineFamilyFactory(), OrganisationFactory()
    OwnCodeWordingFactory(organisation=organisation, engine_family=family)
    OwnCodeWordingFactory(organisation=organisation, engine_family=EngineFamilyFactory())
    with refused_by("own_code_wording_once"):
        OwnCodeWordingFactory(organisation=organisation, engine_family=family)


def test_own_code_wording_once_for_all() -> None:
    organisation = OrganisationFactory()
    OwnCodeWordingFactory(organisation=organisation)
    OwnCodeWordingFactory()
    with refused_by("own_code_wording_once_for_all"):
        OwnCodeWordingFactory(organisation=organisation)


@pytest.mark.parametrize("missing", ["code", "words", "source"])
def test_own_code_wording_said(missing: str) -> None:
    OwnCodeWordingFactory()
    with refused_by("own_code_wording_said"):
        OwnCodeWordingFactory(**{missing: ""})


def test_own_threshold_once() -> None:
    family, organisation = EngineFamilyFactory(), OrganisationFactory()
    OwnThresholdFactory(organisation=organisation, engine_family=family)
    OwnThresholdFactory(organisation=organisation, engine_family=EngineFamilyFactory())
    with refused_by("own_threshold_once"):
        OwnThresholdFactory(organisation=organisation, engine_family=family)


def test_own_threshold_once_for_all() -> None:
    organisation = OrganisationFactory()
    OwnThresholdFactory(organisation=organisation)
    OwnThresholdFactory()
    with refused_by("own_threshold_once_for_all"):
        OwnThresholdFactory(organisation=organisation)


@pytest.mark.parametrize("missing", ["key", "source"])
def test_own_threshold_has_source(missing: str) -> None:
    OwnThresholdFactory()
    with refused_by("own_threshold_has_source"):
        OwnThresholdFactory(**{missing: ""})


def test_drive_has_a_table() -> None:
    DriveLoggedFactory()
    with refused_by("drive_has_a_table"):
        DriveLoggedFactory(text="")


def test_drive_phase_known() -> None:
    with refused_by("drive_phase_known"):
        DriveLoggedFactory(phase="later")


@pytest.mark.parametrize(("at", "who"), [(AT, ""), (None, "A. Tester")])
def test_code_cleared_by_somebody(at: datetime | None, who: str) -> None:
    TroubleCodeReadFactory(cleared_at=AT, cleared_by_name="A. Tester")
    TroubleCodeReadFactory()
    with refused_by("code_cleared_by_somebody"):
        TroubleCodeReadFactory(cleared_at=at, cleared_by_name=who)
