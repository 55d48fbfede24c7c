"""Forms of call lists and their answers."""

from django import forms

from garage.pages.forms.fields import DayField, YesNoField
from garage.pages.forms.organisations import ForOrganisationForm
from garage.records.choices import CallOutcome, CallState, System
from garage.records.models import PartKind


class DrawForm(ForOrganisationForm):
    part_kind = forms.ModelChoiceField(
        PartKind.objects.order_by("name"), label="Part asked about", to_field_name="code"
    )
    silent_since_days = forms.IntegerField(
        label="Silent for at least (days)", min_value=1, max_value=10_000, initial=400
    )
    size = forms.IntegerField(label="Vehicles to draw", min_value=1, max_value=500, initial=20)


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
