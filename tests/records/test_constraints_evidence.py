"""What the database refuses of readings, findings, outcomes and cautions."""

import pytest

from garage.records.choices import EngineCondition, EvidenceList, JobPhase, ReadingKind
from tests.records.constraints import refused_by
from tests.records.evidence_factories import (
    CautionConfirmedFactory,
    FindingSeenFactory,
    OutcomeConfirmedFactory,
    ReadingFactory,
)
from tests.records.factories import JobFactory

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
