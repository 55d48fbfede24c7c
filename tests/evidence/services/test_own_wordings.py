"""Own words as they are written and read: each refusal differs in one thing."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from garage.evidence.codes.meanings import meaning_of
from garage.evidence.own_wordings import own_meanings
from garage.evidence.services.own_wordings import (
    OwnWording,
    own_wording_remove,
    own_wording_set,
)
from garage.records.errors import RuleBroken
from garage.records.models import AuditEntry, Organisation, OwnCodeWording
from tests.records.evidence_factories import OwnCodeWordingFactory
from tests.records.factories import EngineFamilyFactory, OrganisationFactory

pytestmark = pytest.mark.django_db

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
SAID = OwnWording("p244c", " burn  too long ", "burn", "own experience, March 2026")


@pytest.fixture
def organisation() -> Organisation:
    return OrganisationFactory()


def test_own_words_are_kept_with_an_audit_row(organisation: Organisation) -> None:
    kept = own_wording_set(organisation=organisation, wording=SAID, at=AT)
    assert (kept.code, kept.words, kept.group) == ("P244C", "burn too long", "burn")
    told = AuditEntry.objects.get()
    assert (told.verb, told.changes["words"]) == ("add", [None, "burn too long"])
    assert told.changes["code"] == ["P244C", "P244C"]


def test_second_words_take_the_place_of_the_first(organisation: Organisation) -> None:
    own_wording_set(organisation=organisation, wording=SAID, at=AT)
    own_wording_set(organisation=organisation, wording=replace(SAID, words="too long"), at=AT)
    assert OwnCodeWording.objects.get().words == "too long"
    assert AuditEntry.objects.get(serial=2).changes["words"] == ["burn too long", "too long"]


def test_same_words_again_change_nothing(organisation: Organisation) -> None:
    own_wording_set(organisation=organisation, wording=SAID, at=AT)
    own_wording_set(organisation=organisation, wording=SAID, at=AT)
    assert AuditEntry.objects.count() == 1


@pytest.mark.parametrize(
    ("typed", "code"), [("P1A2b", "P1A2B"), ("SPN 3251 FMI 2", "3251/2"), ("3251/2", "3251/2")]
)
def test_code_is_kept_as_it_is_printed(organisation: Organisation, typed: str, code: str) -> None:
    own_wording_set(organisation=organisation, wording=replace(SAID, code=typed), at=AT)
    assert OwnCodeWording.objects.get().code == code


@pytest.mark.parametrize(
    ("changed", "column"),
    [
        ({"code": "P2O63"}, "code"),
        ({"code": "P2463-92"}, "code"),
        ({"code": "3251/99"}, "code"),
        ({"code": ""}, "code"),
        ({"group": "mood"}, "group"),
        ({"words": " "}, "words"),
        ({"words": "x" * 121}, "words"),
        ({"source": " "}, "source"),
        ({"source": "x" * 201}, "source"),
    ],
)
def test_own_words_that_cannot_be_are_refused(
    organisation: Organisation, changed: dict[str, str], column: str
) -> None:
    with pytest.raises(RuleBroken) as refused:
        own_wording_set(organisation=organisation, wording=replace(SAID, **changed), at=AT)
    assert [each.column for each in refused.value.broken] == [column]
    assert not OwnCodeWording.objects.exists()


def test_every_fault_is_told_at_once(organisation: Organisation) -> None:
    with pytest.raises(RuleBroken) as refused:
        own_wording_set(organisation=organisation, wording=OwnWording("x", "", "", ""), at=AT)
    assert {each.column for each in refused.value.broken} == {"code", "group", "words", "source"}


def test_removed_words_give_way_to_those_shipped(organisation: Organisation) -> None:
    kept = own_wording_set(organisation=organisation, wording=SAID, at=AT)
    own_wording_remove(wording=kept, at=AT)
    own_wording_remove(wording=kept, at=AT)
    own = own_meanings(organisation.pk, None)
    meaning = meaning_of("P244C", own)
    assert meaning is not None
    assert meaning.words == "exhaust too cold for a burn, bank 1"
    assert [each.verb for each in AuditEntry.objects.order_by("serial")] == ["add", "remove"]


@pytest.mark.parametrize("family_first", [True, False])
def test_familys_words_win_over_those_for_all(
    organisation: Organisation, family_first: bool
) -> None:
    family = EngineFamilyFactory(name="Alder 16")
    said = [
        {"engine_family": family, "words": "of the family"},
        {"engine_family": None, "words": "of all"},
    ]
    for each in said if family_first else reversed(said):
        OwnCodeWordingFactory(organisation=organisation, **each)
    assert own_meanings(organisation.pk, family.pk)["P244C"].words == "of the family"
    assert own_meanings(organisation.pk, None)["P244C"].words == "of all"


def test_words_of_another_organisation_or_family_do_not_hold(organisation: Organisation) -> None:
    OwnCodeWordingFactory(code="P0401")
    other = EngineFamilyFactory(name="Birch 20")
    OwnCodeWordingFactory(organisation=organisation, code="P0402", engine_family=other)
    assert own_meanings(organisation.pk, EngineFamilyFactory(name="Alder 16").pk) == {}
