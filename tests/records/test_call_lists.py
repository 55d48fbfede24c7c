"""Call lists: drawn at random among the silent, answered, counted."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from django.http import Http404

from garage.records.call_lists import (
    access_call,
    access_call_list,
    call_figures,
    call_lists_listed,
    calls_of_list,
    silent_vehicles,
)
from garage.records.errors import RuleBroken
from garage.records.models import Keeper, Organisation, PartKind, Vehicle
from garage.records.permissions import Scope
from garage.records.services.call_lists import CallAnswer, CallDraw, call_answer, call_list_draw
from tests.records.cast import cast_make
from tests.records.factories import JobFactory, OrganisationFactory, VehicleFactory

pytestmark = pytest.mark.django_db

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
TODAY = date(2026, 3, 2)
ANSWERED = CallAnswer(state="answered", called_on=TODAY, outcome="goes_elsewhere")


def scope_of(organisation: Organisation) -> Scope:
    return Scope(frozenset({organisation.pk}))


def silent(organisation: Organisation, count: int = 1, days: int = 400) -> list[Vehicle]:
    made = []
    for _ in range(count):
        vehicle = VehicleFactory(organisation=organisation)
        JobFactory(vehicle=vehicle, opened_on=TODAY - timedelta(days=days))
        made.append(vehicle)
    return made


def draw(**changed) -> CallDraw:
    said = {
        "part_kind": PartKind.objects.get(code="particulate_filter"),
        "silent_since_days": 365,
        "size": 5,
        "as_of": TODAY,
        "seed": 7,
    }
    return CallDraw(**said | changed)


@pytest.fixture
def call():
    organisation = OrganisationFactory()
    silent(organisation)
    call_list = call_list_draw(organisation=organisation, draw=draw(), at=AT)
    return call_list.calls.get()


def found(organisation: Organisation, days: int = 365) -> list[Vehicle]:
    return list(silent_vehicles(organisation=organisation, silent_since_days=days, as_of=TODAY))


def test_silent_vehicle_is_one_whose_last_job_is_long_ago() -> None:
    organisation = OrganisationFactory()
    (vehicle,) = silent(organisation, days=365)
    assert found(organisation) == [vehicle]
    assert found(organisation, days=366) == []
    JobFactory(vehicle=vehicle, opened_on=TODAY - timedelta(days=10))
    assert found(organisation) == []


@pytest.mark.parametrize(
    "changed",
    [
        {"ended_on": TODAY, "ended_because": "sold"},
        {"erased_on": TODAY},
        {"organisation": None},
    ],
)
def test_vehicle_that_cannot_be_asked_is_not_silent(changed: dict) -> None:
    organisation = OrganisationFactory()
    (vehicle,) = silent(organisation)
    assert found(organisation) == [vehicle]
    if "organisation" in changed:
        changed = {"organisation": OrganisationFactory()}
    Vehicle.objects.filter(pk=vehicle.pk).update(**changed)
    assert found(organisation) == []


def test_vehicle_without_a_job_is_not_silent() -> None:
    vehicle = VehicleFactory()
    assert found(vehicle.organisation) == []


def test_call_list_is_drawn_again_by_its_seed() -> None:
    organisation = OrganisationFactory()
    silent(organisation, 30)
    drawn = [
        list(
            call_list_draw(organisation=organisation, draw=draw(seed=seed), at=AT)
            .calls.order_by("order")
            .values_list("vehicle_id", flat=True)
        )
        for seed in (7, 7, 8)
    ]
    assert drawn[0] == drawn[1]
    assert drawn[0] != drawn[2]
    assert len(set(drawn[0])) == 5


def test_call_list_keeps_its_population_and_takes_all_where_few_are_silent() -> None:
    organisation = OrganisationFactory()
    silent(organisation, 3)
    call_list = call_list_draw(organisation=organisation, draw=draw(size=10), at=AT)
    assert (call_list.population, call_list.calls.count()) == (3, 3)


@pytest.mark.parametrize(
    ("changed", "column"),
    [
        ({"size": 0}, "size"),
        ({"size": 501}, "size"),
        ({"silent_since_days": 0}, "silent_since_days"),
        ({"silent_since_days": 4_000}, "silent_since_days"),
    ],
)
def test_call_list_that_cannot_be_drawn_is_refused(changed: dict, column: str) -> None:
    organisation = OrganisationFactory()
    silent(organisation)
    with pytest.raises(RuleBroken) as refused:
        call_list_draw(organisation=organisation, draw=draw(**changed), at=AT)
    assert refused.value.column == column


def test_call_answer_is_kept_and_counted(call) -> None:
    answer = replace(
        ANSWERED,
        part_replaced_elsewhere=True,
        repaired_elsewhere=["fuel", "air", "fuel"],
        will_return=False,
    )
    call_answer(call=call, answer=answer, at=AT)
    call.refresh_from_db()
    assert call.repaired_elsewhere == ["air", "fuel"]
    figures = call_figures(call_list=call.call_list)
    assert (figures.answered, figures.replaced_elsewhere, figures.stayed_away) == (1, 1, 1)
    call_answer(call=call, answer=replace(answer, will_return=True), at=AT)
    assert call_figures(call_list=call.call_list).stayed_away == 0
    call_answer(call=call, answer=replace(ANSWERED, will_return=False), at=AT)
    figures = call_figures(call_list=call.call_list)
    assert (figures.replaced_elsewhere, figures.part_not_known) == (0, 1)


def test_call_answer_none_asked_is_not_an_empty_list(call) -> None:
    call_answer(call=call, answer=ANSWERED, at=AT)
    call.refresh_from_db()
    assert call.repaired_elsewhere is None
    call_answer(call=call, answer=replace(ANSWERED, repaired_elsewhere=[]), at=AT)
    call.refresh_from_db()
    assert call.repaired_elsewhere == []


def test_call_not_reached_waits_for_another_try(call) -> None:
    call_answer(call=call, answer=CallAnswer("not_reached", TODAY), at=AT)
    (listed,) = call_lists_listed(scope=scope_of(call.call_list.organisation))
    assert (listed.drawn, listed.left) == (1, 1)
    call_answer(call=call, answer=CallAnswer("declined", TODAY), at=AT)
    (listed,) = call_lists_listed(scope=scope_of(call.call_list.organisation))
    assert listed.left == 0


def test_vehicle_sold_on_a_known_day_ends_then(call) -> None:
    answer = replace(ANSWERED, outcome="sold", ended_on=date(2025, 12, 1))
    call_answer(call=call, answer=answer, at=AT)
    call.vehicle.refresh_from_db()
    assert (call.vehicle.ended_on, call.vehicle.ended_because) == (date(2025, 12, 1), "sold")


@pytest.mark.parametrize(
    ("changed", "column"),
    [
        ({"state": "waiting"}, "state"),
        ({"state": ""}, "state"),
        ({"outcome": ""}, "outcome"),
        ({"outcome": "lost"}, "outcome"),
        ({"called_on": TODAY - timedelta(days=1)}, "called_on"),
        ({"repaired_elsewhere": ["gearbox"]}, "repaired_elsewhere"),
        ({"note": "x" * 301}, "note"),
        ({"ended_on": TODAY}, "ended_on"),
        ({"outcome": "sold", "ended_on": TODAY + timedelta(days=1)}, "ended_on"),
        ({"outcome": "sold", "ended_on": TODAY - timedelta(days=401)}, "ended_on"),
        ({"state": "declined"}, "outcome"),
        ({"state": "declined", "outcome": "", "will_return": False}, "will_return"),
        (
            {"state": "not_reached", "outcome": "", "part_replaced_elsewhere": False},
            "part_replaced_elsewhere",
        ),
    ],
)
def test_call_answer_that_cannot_be_is_refused(call, changed: dict, column: str) -> None:
    with pytest.raises(RuleBroken) as refused:
        call_answer(call=call, answer=replace(ANSWERED, **changed), at=AT)
    assert refused.value.column == column
    call.refresh_from_db()
    assert call.state == "waiting"


def test_calls_come_with_the_keeper_of_now(call) -> None:
    Keeper.objects.create(vehicle=call.vehicle, name="Former", until_on=date(2024, 1, 1))
    assert calls_of_list(call_list=call.call_list) == [(call, None)]
    keeper = Keeper.objects.create(vehicle=call.vehicle, name="Present")
    assert calls_of_list(call_list=call.call_list) == [(call, keeper)]


def test_calls_of_another_organisation_are_not_found(call) -> None:
    cast = cast_make()
    mine = scope_of(call.call_list.organisation)
    assert access_call(scope=mine, call_id=call.pk) == call
    assert access_call_list(scope=mine, call_list_id=call.call_list_id) == call.call_list
    with pytest.raises(Http404):
        access_call(scope=cast.scope(cast.cedar), call_id=call.pk)
    with pytest.raises(Http404):
        access_call_list(scope=cast.scope(cast.cedar), call_list_id=call.call_list_id)
