"""Lines wait, are answered, are read by the answer from then on, and can be forgotten."""

from datetime import UTC, datetime

import pytest
from django.http import Http404

from garage.records.choices import LineStatus
from garage.records.errors import RuleBroken
from garage.records.job_lines.classify import lines_classify
from garage.records.job_lines.folding import phrase_fold
from garage.records.job_lines.results import LineResult
from garage.records.line_answers import (
    access_line,
    answers_learnt,
    answers_of,
    guess_of,
    is_nothing,
    lines_waiting,
)
from garage.records.models import AuditEntry, Keeper, LineAnswer, LineToReview, Organisation
from garage.records.permissions import Scope
from garage.records.services.erasure import EraseRequest, personal_erase
from garage.records.services.job_lines import (
    LineMeaning,
    answer_withdraw,
    line_answer,
    lines_queue,
)
from tests.records.factories import OrganisationFactory, RegistrationMarkFactory, VehicleFactory
from tests.records.job_lines.lines import unread

pytestmark = pytest.mark.django_db

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
CLEANED = "DPF cleaned for Mr Quince"


@pytest.fixture
def organisation() -> Organisation:
    return OrganisationFactory()


def waiting(organisation: Organisation, text: str = CLEANED) -> LineToReview:
    lines_queue(organisation=organisation, lines=[unread(text)], at=AT)
    return LineToReview.objects.get(organisation=organisation, phrase=phrase_fold(text))


def scope(organisation: Organisation) -> Scope:
    return Scope(frozenset({organisation.pk}))


def test_lines_wait_most_seen_first_and_are_counted_on(organisation: Organisation) -> None:
    made = lines_queue(
        organisation=organisation, lines=[unread("regen done", 2), unread(CLEANED)], at=AT
    )
    assert made == 2
    assert lines_queue(organisation=organisation, lines=[unread(CLEANED, 4)], at=AT) == 0

    lines = list(lines_waiting(scope=scope(organisation)))
    assert [(line.phrase, line.seen) for line in lines] == [
        (phrase_fold(CLEANED), 5),
        ("regen done", 2),
    ]
    assert guess_of(lines[1]) == lines_classify("regen done", {})
    assert AuditEntry.objects.filter(thing="linetoreview", verb="add").count() == 1


def test_line_of_another_organisation_is_missing(organisation: Organisation) -> None:
    line = waiting(organisation)
    assert access_line(scope=scope(organisation), line_id=line.pk) == line
    with pytest.raises(Http404):
        access_line(scope=scope(OrganisationFactory()), line_id=line.pk)


def test_answer_is_read_from_then_on_by_its_organisation_alone(organisation: Organisation) -> None:
    line = waiting(organisation)
    line_answer(
        line=line,
        meanings=[
            LineMeaning("done", "clean_off_vehicle", "particulate_filter"),
            LineMeaning("advised", "replace", "particulate_filter"),
        ],
        at=AT,
    )

    answers = answers_of(organisation=organisation)
    assert lines_classify(CLEANED, answers) == (
        LineResult("done", "clean_off_vehicle", "particulate_filter", "exhaust_aftertreatment"),
        LineResult("advised", "replace", "particulate_filter", "exhaust_aftertreatment"),
    )
    assert answers_of(organisation=OrganisationFactory()) == {}
    line.refresh_from_db()
    assert (line.answered, line.example) == (True, "")
    assert not lines_waiting(scope=scope(organisation))
    assert AuditEntry.objects.filter(verb="resolve").count() == 1
    assert "quince" not in str(list(AuditEntry.objects.values_list("changes", "reason"))).lower()


def test_positions_stand_in_the_phrase(organisation: Organisation) -> None:
    line = waiting(organisation, "cleaned injectors 1 and 3")
    line_answer(line=line, meanings=[LineMeaning("done", "clean_off_vehicle", "injector")], at=AT)
    (results,) = answers_of(organisation=organisation).values()
    assert [each.position for each in results] == ["cyl 1", "cyl 3"]


def test_nothing_to_record_never_lands(organisation: Organisation) -> None:
    (row,) = line_answer(line=waiting(organisation), meanings=[], at=AT)
    assert is_nothing(row)
    results = lines_classify(CLEANED, answers_of(organisation=organisation))
    assert all(each.is_accepted and not each.lands for each in results)


@pytest.mark.parametrize(
    ("meaning", "rule"),
    [
        (LineMeaning("done"), "names its operation"),
        (LineMeaning("perhaps", "inspect"), "a line is one of"),
        (LineMeaning("done", "mangle"), "one of the register's"),
        (LineMeaning("done", "inspect", "flux_part"), "one of the catalogue"),
    ],
)
def test_answer_outside_the_words_of_the_records_is_refused(
    organisation: Organisation, meaning: LineMeaning, rule: str
) -> None:
    line = waiting(organisation)
    line_answer(line=line, meanings=[LineMeaning("done", "inspect")], at=AT)
    with pytest.raises(RuleBroken, match=rule):
        line_answer(line=line, meanings=[meaning], at=AT)
    assert LineAnswer.objects.get().operation == "inspect"


def test_answer_taken_back_lets_the_line_wait_again(organisation: Organisation) -> None:
    line = waiting(organisation)
    meanings = [LineMeaning("done", "inspect"), LineMeaning("done", "replace", "injector")]
    rows = line_answer(line=line, meanings=meanings, at=AT)
    (learnt,) = answers_learnt(scope=scope(organisation))
    assert len(learnt.rows) == 2

    answer_withdraw(answer=rows[1], at=AT)

    assert not LineAnswer.objects.exists()
    assert list(lines_waiting(scope=scope(organisation))) == [line]
    assert AuditEntry.objects.filter(verb="remove", thing="lineanswer").count() == 1


@pytest.mark.parametrize(
    ("text", "goes"),
    [
        ("DPF cleaned for Mr Quince", True),
        ("dpf cleaned qx7", True),
        ("DPF cleaned", False),
    ],
)
def test_erasure_takes_the_lines_that_name_its_keeper_or_mark(
    organisation: Organisation, text: str, goes: bool
) -> None:
    vehicle = VehicleFactory(organisation=organisation)
    RegistrationMarkFactory(vehicle=vehicle, mark="QX 7")
    Keeper.objects.create(vehicle=vehicle, name="A. Quince")
    other = waiting(OrganisationFactory(), text)
    line = waiting(organisation, text)
    line_answer(line=line, meanings=[LineMeaning(LineStatus.DONE, "inspect")], at=AT)

    request = EraseRequest(organisation, [vehicle.pk], "request")
    erased = personal_erase(request=request, at=AT).erased

    assert LineAnswer.objects.exists() != goes
    assert list(LineToReview.objects.exclude(pk=other.pk)) == ([] if goes else [line])
    assert LineToReview.objects.filter(pk=other.pk).exists()
    assert erased["job lines"] == (2 if goes else 0)
