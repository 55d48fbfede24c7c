"""What the database refuses of job lines."""

from datetime import UTC, datetime

import pytest

from garage.records.models import LineAnswer, LineToReview, Organisation
from tests.records.constraints import refused_by
from tests.records.factories import OrganisationFactory

pytestmark = pytest.mark.django_db

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)


@pytest.fixture
def organisation() -> Organisation:
    return OrganisationFactory()


def answer(organisation: Organisation, **changed) -> LineAnswer:
    said = {"phrase": "dpf cleaned", "status": "done", "answered_at": AT}
    return LineAnswer.objects.create(organisation=organisation, **said | changed)


def test_line_answer_has_phrase(organisation: Organisation) -> None:
    answer(organisation)
    with refused_by("line_answer_has_phrase"):
        answer(organisation, phrase="")


def test_line_answer_status_known(organisation: Organisation) -> None:
    answer(organisation, status="declined")
    with refused_by("line_answer_status_known"):
        answer(organisation, status="forgotten")


def test_line_to_review_phrase_once(organisation: Organisation) -> None:
    said = {"phrase": "dpf cleaned", "example": "DPF cleaned", "guess": []}
    LineToReview.objects.create(organisation=organisation, **said)
    LineToReview.objects.create(organisation=OrganisationFactory(), **said)
    with refused_by("line_to_review_phrase_once"):
        LineToReview.objects.create(organisation=organisation, **said)
