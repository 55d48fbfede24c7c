"""Draw call lists and record what silent keepers answer."""

import random
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from garage.records.call_lists import silent_vehicles
from garage.records.choices import AuditVerb, CallOutcome, CallState, EndedBecause, System
from garage.records.errors import RuleBroken
from garage.records.models import Call, CallList, Organisation, PartKind, Vehicle
from garage.records.services.audit import Change, audit_record
from garage.records.services.settle import vehicles_changed
from garage.records.texts import refuse_long

#: More than an evening's calls helps nobody, and the share is known well enough by then. Judgement.
MOST_DRAWN = 500
_NOTE_CHARACTERS = 300
#: What became of the vehicle, as its end is recorded.
_ENDS = {CallOutcome.SOLD: EndedBecause.SOLD, CallOutcome.SCRAPPED: EndedBecause.SCRAPPED}


@dataclass(frozen=True)
class CallDraw:
    """What to draw: `size` vehicles at random of those silent for so many days. The same seed
    draws the same vehicles of the same population."""

    part_kind: PartKind
    silent_since_days: int
    size: int
    as_of: date
    seed: int


@dataclass(frozen=True)
class CallAnswer:
    """What a keeper said. None where it was not asked or not known; `ended_on` for a vehicle that
    was sold or scrapped, where the keeper knows the day."""

    state: str
    called_on: date
    outcome: str = ""
    part_replaced_elsewhere: bool | None = None
    repaired_elsewhere: Sequence[str] | None = None
    will_return: bool | None = None
    ended_on: date | None = None
    note: str = ""


def call_list_draw(
    *,
    organisation: Organisation,
    draw: CallDraw,
    at: datetime,
    by: AbstractBaseUser | None = None,
) -> CallList:
    """Draw a random sample of silent keepers. RuleBroken where there is nobody to draw."""
    if draw.silent_since_days < 1:
        raise RuleBroken(
            "a silence is a day or longer",
            got=draw.silent_since_days,
            do="Give the days since the last job.",
            column="silent_since_days",
        )
    if not 1 <= draw.size <= MOST_DRAWN:
        raise RuleBroken(
            f"a call list has 1 to {MOST_DRAWN} vehicles",
            got=draw.size,
            do="Draw fewer; another list can follow.",
            column="size",
        )
    silent = silent_vehicles(
        organisation=organisation, silent_since_days=draw.silent_since_days, as_of=draw.as_of
    )
    population = list(silent.values_list("pk", flat=True))
    if not population:
        raise RuleBroken(
            "a call list is drawn among silent vehicles",
            got=f"none silent for {draw.silent_since_days} days or longer",
            do="Take a shorter silence.",
            column="silent_since_days",
        )
    chosen = random.Random(draw.seed).sample(population, min(draw.size, len(population)))
    with transaction.atomic():
        call_list = CallList.objects.create(
            organisation=organisation,
            drawn_on=draw.as_of,
            silent_since_days=draw.silent_since_days,
            part_kind=draw.part_kind,
            population=len(population),
            seed=draw.seed,
        )
        Call.objects.bulk_create(
            Call(call_list=call_list, vehicle_id=vehicle_id, order=order)
            for order, vehicle_id in enumerate(chosen, start=1)
        )
        audit_record(
            organisation=organisation,
            change=Change(AuditVerb.ADD, call_list, {"size": [None, len(chosen)]}),
            by=by,
            at=at,
        )
    return call_list


def call_answer(
    *, call: Call, answer: CallAnswer, at: datetime, by: AbstractBaseUser | None = None
) -> Call:
    """Record what came of a call; a later answer takes the place of an earlier one.

    A vehicle that was sold or scrapped on a known day ends on that day. RuleBroken says what is
    wrong.
    """
    _check(call, answer)
    with transaction.atomic():
        row = Call.objects.select_for_update().select_related("call_list").get(pk=call.pk)
        before = row.state
        row.state, row.called_on, row.outcome = answer.state, answer.called_on, answer.outcome
        row.part_replaced_elsewhere = answer.part_replaced_elsewhere
        row.repaired_elsewhere = (
            None if answer.repaired_elsewhere is None else sorted(set(answer.repaired_elsewhere))
        )
        row.will_return, row.note = answer.will_return, answer.note.strip()
        row.save()
        audit_record(
            organisation=row.call_list.organisation,
            change=Change(
                AuditVerb.CHANGE,
                row,
                {"state": [before, row.state], "outcome": [None, row.outcome]},
            ),
            by=by,
            at=at,
        )
        if answer.ended_on is not None:
            Vehicle.objects.filter(pk=row.vehicle_id).update(
                ended_on=answer.ended_on, ended_because=_ENDS[CallOutcome(answer.outcome)]
            )
        # Answers measure the stay-away share, so that figures change with each.
        vehicles_changed(vehicle_ids=[row.vehicle_id], at=at)
    return row


def _check(call: Call, answer: CallAnswer) -> None:
    if answer.state not in CallState.values or answer.state == CallState.WAITING:
        raise RuleBroken(
            "a call was answered, declined or not reached",
            got=answer.state or "nothing",
            do="Say which.",
            column="state",
        )
    if answer.called_on < call.call_list.drawn_on:
        raise RuleBroken(
            f"a call is made on or after the day of the draw, {call.call_list.drawn_on}",
            got=answer.called_on,
            do="Correct the day.",
            column="called_on",
        )
    refuse_long("note", answer.note.strip(), _NOTE_CHARACTERS)
    if answer.state != CallState.ANSWERED:
        _refuse_answers(answer)
        return
    if answer.outcome not in CallOutcome.values:
        raise RuleBroken(
            f"what became of the vehicle is one of {', '.join(CallOutcome.values)}",
            got=answer.outcome or "nothing",
            do="Choose one.",
            column="outcome",
        )
    unknown = sorted(set(answer.repaired_elsewhere or ()) - set(System.values))
    if unknown:
        raise RuleBroken(
            f"a system is one of {', '.join(System.values)}",
            got=", ".join(unknown),
            do="Choose from the list.",
            column="repaired_elsewhere",
        )
    if answer.ended_on is not None:
        _check_end(call, answer)


def _check_end(call: Call, answer: CallAnswer) -> None:
    if answer.outcome not in _ENDS:
        raise RuleBroken(
            "only a vehicle that was sold or scrapped has ended",
            got=answer.outcome,
            do="Leave the day out, or correct what became of it.",
            column="ended_on",
        )
    first_used_on = call.vehicle.first_used_on
    last_job_on = call.vehicle.jobs.order_by("-opened_on").values_list("opened_on", flat=True)[:1]
    for day, what in (
        (first_used_on, "its first use"),
        (next(iter(last_job_on), None), "its last job"),
    ):
        if day is not None and answer.ended_on is not None and answer.ended_on < day:
            raise RuleBroken(
                f"a vehicle ends on or after {what}, {day}",
                got=answer.ended_on,
                do="Correct the day.",
                column="ended_on",
            )
    if answer.ended_on is not None and answer.ended_on > answer.called_on:
        raise RuleBroken(
            "a vehicle ended on or before the day of the call",
            got=answer.ended_on,
            do="Correct the day.",
            column="ended_on",
        )


def _refuse_answers(answer: CallAnswer) -> None:
    said = {
        "outcome": answer.outcome or None,
        "part_replaced_elsewhere": answer.part_replaced_elsewhere,
        "repaired_elsewhere": answer.repaired_elsewhere,
        "will_return": answer.will_return,
        "ended_on": answer.ended_on,
    }
    for column, value in said.items():
        if value is not None:
            raise RuleBroken(
                "only an answered call has answers",
                got=f"{column} on a call that is {answer.state}",
                do="Mark the call as answered, or leave it out.",
                column=column,
            )
