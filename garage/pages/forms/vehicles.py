"""Forms of a vehicle: what is known of it, the mark it bears, who keeps it."""

from collections.abc import Sequence
from typing import Any

from django import forms

from garage.pages.forms.fields import DayField, YesNoField
from garage.pages.forms.organisations import ForOrganisationForm
from garage.records.choices import Duty, EndedBecause
from garage.records.models import EngineFamily, Organisation


class VehicleForm(forms.Form):
    ref = forms.CharField(label="Your reference", max_length=60)
    vin = forms.CharField(label="VIN", max_length=30, required=False)
    engine_family = forms.CharField(
        label="Engine family",
        max_length=80,
        required=False,
        help_text="A name not yet known is kept for review.",
        widget=forms.TextInput({"list": "engine-families"}),
    )
    first_used_on = DayField(label="First used on", required=False)
    watched_from_new = YesNoField(label="Seen by you since it was new?")
    duty = forms.ChoiceField(
        label="What it mostly does", choices=[("", "not known"), *Duty.choices], required=False
    )
    ended_on = DayField(label="Left on", required=False)
    ended_because = forms.ChoiceField(
        label="Why it left", choices=[("", "not said"), *EndedBecause.choices], required=False
    )

    @staticmethod
    def families() -> list[str]:
        """The names a browser may offer while one types."""
        return list(EngineFamily.objects.order_by("name").values_list("name", flat=True))


class NewVehicleForm(ForOrganisationForm, VehicleForm):
    mark = forms.CharField(label="Registration", max_length=20, required=False)
    organisation_label = "Of"
    field_order: Sequence[str] = ("organisation", "mark", "ref", "vin", "engine_family")

    def __init__(self, *said: Any, organisations: Sequence[Organisation], **more: Any) -> None:
        super().__init__(*said, organisations=organisations, **more)
        del self.fields["ended_on"], self.fields["ended_because"]


class MarkForm(forms.Form):
    mark = forms.CharField(label="New registration", max_length=20)
    from_on = DayField(label="From")


class KeeperForm(forms.Form):
    name = forms.CharField(label="Name", max_length=120)
    phone = forms.CharField(label="Telephone", max_length=40, required=False)
    email = forms.EmailField(label="E-mail", required=False)
    from_on = DayField(
        label="Keeps it since", required=False, help_text="For another keeper; empty: today."
    )
