"""The one-tap question of each visit: is the part in place the one last recorded?"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django import forms

from garage.pages.forms.jobs import FoundForm, look_form
from garage.pages.words import day, kilometres
from garage.records.choices import FILTER_PART_KIND, Origin
from garage.records.jobs import parts_in_place
from garage.records.models import Fitment, PartKind, Vehicle
from garage.records.services.looks import NOT_LOOKED, LookAnswer
from garage.records.services.operations import OperationFacts

_ORIGIN = {Origin.UNKNOWN.value: "of unknown origin", Origin.FACTORY.value: "the factory's own"}


@dataclass(frozen=True)
class Asked:
    """What is asked of one part: `recorded` says what the records tell of it."""

    form: forms.Form
    part_kind: PartKind
    position: str
    recorded: str


def look_forms(vehicle: Vehicle, sent: Mapping[str, Any] | None) -> list[Asked]:
    """One question a filter on record, or one where none is."""
    part_kind = PartKind.objects.get(code=FILTER_PART_KIND)
    in_place: Sequence[Fitment | None] = parts_in_place(vehicle=vehicle, part_kind=part_kind)
    return [
        Asked(
            look_form(each, sent, prefix=f"look-{number}"),
            part_kind,
            "" if each is None else each.position,
            part_recorded(each),
        )
        for number, each in enumerate(in_place or [None])
    ]


def answers_taken(
    asked: Sequence[Asked],
) -> tuple[tuple[LookAnswer, ...], tuple[OperationFacts, ...]]:
    """Looks at parts on record, and inspections that state a part no record told of."""
    looks, stated = [], []
    for each in asked:
        answer, mark = each.form.cleaned_data["answer"], each.form.cleaned_data["mark"]
        if isinstance(each.form, FoundForm) and answer != NOT_LOOKED:
            stated.append(
                OperationFacts(
                    "inspect", part_kind=each.part_kind, part_origin=answer, part_mark=mark
                )
            )
        else:
            looks.append(LookAnswer(each.part_kind, answer, each.position, mark))
    return tuple(looks), tuple(stated)


def part_recorded(fitment: Fitment | None) -> str:
    """What the records tell of a part in place, in words; empty where they tell nothing."""
    if fitment is None:
        return ""
    told = [_ORIGIN.get(fitment.origin) or fitment.get_origin_display()]
    if fitment.position:
        told.insert(0, fitment.position)
    if fitment.fitted_on is not None and fitment.origin != Origin.FACTORY:
        told.append(f"fitted {day(fitment.fitted_on)}")
        if fitment.fitted_km is not None:
            told.append(f"at {kilometres(fitment.fitted_km)}")
    if fitment.mark:
        told.append(f"marked {fitment.mark}")
    return ", ".join(told)
