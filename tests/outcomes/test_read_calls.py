"""What silent keepers answered, as facts of a day and of the organisations in view."""

from datetime import UTC, date, datetime, timedelta

import pytest

from garage.outcomes.read_calls import call_lists_read
from garage.records.models import CallList, Organisation, PartKind
from garage.records.services.call_lists import CallAnswer, CallDraw, call_answer, call_list_draw
from tests.records.factories import JobFactory, OrganisationFactory, VehicleFactory

pytestmark = pytest.mark.django_db

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
TODAY = date(2026, 3, 2)


def drawn(organisation: Organisation, count: int = 1) -> CallList:
    for _ in range(count):
        vehicle = VehicleFactory(organisation=organisation)
        JobFactory(vehicle=vehicle, opened_on=TODAY - timedelta(days=400))
    kind = PartKind.objects.get(code="particulate_filter")
    draw = CallDraw(kind, silent_since_days=365, size=count, as_of=TODAY, seed=7)
    return call_list_draw(organisation=organisation, draw=draw, at=AT)


def answer(call_list: CallList, order: int = 1, **said) -> None:
    told = {"state": "answered", "called_on": TODAY, "outcome": "goes_elsewhere", **said}
    call_answer(call=call_list.calls.get(order=order), answer=CallAnswer(**told), at=AT)


def read(*organisations: Organisation, as_of: date = TODAY):
    return call_lists_read({each.pk for each in organisations}, as_of)


def test_list_comes_with_its_draw_and_what_was_answered() -> None:
    organisation = OrganisationFactory()
    call_list = drawn(organisation, count=3)
    answer(call_list, 2, part_replaced_elsewhere=True)
    answer(call_list, 3, state="not_reached", outcome="")
    (found,) = read(organisation)
    assert (found.organisation_id, found.population) == (organisation.pk, 3)
    assert (found.drawn_on, found.silent_since) == (TODAY, TODAY - timedelta(days=365))
    (told,) = found.answers
    assert told.vehicle_id == call_list.calls.get(order=2).vehicle_id
    assert (told.part_replaced_elsewhere, told.comes_again) == (True, False)


def test_lists_without_answers_and_of_others_are_left_out() -> None:
    mine, theirs = OrganisationFactory(), OrganisationFactory()
    drawn(mine)
    answer(drawn(theirs))
    assert read(mine) == ()


def test_answers_given_later_are_not_known_yet() -> None:
    organisation = OrganisationFactory()
    call_list = drawn(organisation, count=2)
    answer(call_list, 1)
    answer(call_list, 2, called_on=TODAY + timedelta(days=5))
    assert len(read(organisation)[0].answers) == 1
    assert len(read(organisation, as_of=TODAY + timedelta(days=5))[0].answers) == 2
    assert read(organisation, as_of=TODAY - timedelta(days=1)) == ()


def test_newest_list_comes_first() -> None:
    organisation = OrganisationFactory()
    first, second = drawn(organisation), drawn(organisation)
    answer(first)
    answer(second)
    assert [each.population for each in read(organisation)] == [2, 1]


@pytest.mark.parametrize(
    ("said", "comes_again"),
    [
        ({"outcome": "still_customer"}, True),
        ({"outcome": "still_customer", "will_return": False}, False),
        ({"outcome": "goes_elsewhere"}, False),
        ({"outcome": "goes_elsewhere", "will_return": True}, True),
        ({"outcome": "sold"}, False),
        ({"outcome": "sold", "will_return": True}, False),
        ({"outcome": "scrapped", "will_return": True}, False),
    ],
)
def test_who_comes_again(said: dict, comes_again: bool) -> None:
    organisation = OrganisationFactory()
    answer(drawn(organisation), **said)
    assert read(organisation)[0].answers[0].comes_again is comes_again
