"""Forms of call lists and their answers."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.db.models import Model

from garage.pages.forms.fields import DayField, YesNoField
from garage.records.choices import CallOutcome, CallState, System
from garage.records.models import Organisation, PartKind


class OrganisationField(forms.ModelChoiceField):
    """Which of one's organisations, by its name."""

    def label_from_instance(self, obj: Model) -> str:
        return str(vars(obj)["name"])


class DrawForm(forms.Form):
    organisation = forms.Field()  # keeps its place; what may be chosen is known when it is made
    part_kind = forms.ModelChoiceField(
        PartKind.objects.order_by("name"), label="Part asked about", to_field_name="code"
    )
    silent_since_days = forms.IntegerField(
        label="Silent for at least (days)", min_value=1, max_value=10_000, initial=400
    )
    size = forms.IntegerField(label="Vehicles to draw", min_value=1, max_value=500, initial=20)

    def __init__(self, *said: Any, organisations: Sequence[Organisation], **more: Any) -> None:
        super().__init__(*said, **more)
        self.fields["organisation"] = OrganisationField(
            Organisation.objects.filter(pk__in=[each.pk for each in organisations]),
            label="For",
            empty_label=None,
        )


class AnswerForm(forms.Form):
    state = forms.ChoiceField(
        label="The call",
        choices=[each for each in CallState.choices if each[0] != CallState.WAITING],
    )
    called_on = DayField(label="Called on")
    outcome = forms.ChoiceField(
        label="What became of the vehicle",
        choices=[("", "not asked"), *CallOutcome.choices],
        required=False,
    )
    ended_on = DayField(label="Sold or scrapped on", required=False)
    part_replaced_elsewhere = YesNoField(label="Was the part replaced elsewhere?")
    will_return = YesNoField(label="Do they mean to come again?")
    asked_systems = forms.BooleanField(
        label="Asked what else was repaired elsewhere", required=False
    )
    repaired_elsewhere = forms.MultipleChoiceField(
        label="Repaired elsewhere",
        choices=System.choices,
        widget=forms.CheckboxSelectMultiple,
        required=False,
    )
    note = forms.CharField(label="Note", max_length=300, required=False)
