"""Forms that are filled in for one of several organisations."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.db.models import Model

from garage.records.models import Organisation


class OrganisationField(forms.ModelChoiceField):
    """Which of one's organisations, by its name."""

    def label_from_instance(self, obj: Model) -> str:
        return str(vars(obj)["name"])


class ForOrganisationForm(forms.Form):
    """Asks first for whom, unless there is only one to choose."""

    organisation = forms.Field()  # keeps its place; what may be chosen is known when it is made
    organisation_label = "For"

    def __init__(self, *said: Any, organisations: Sequence[Organisation], **more: Any) -> None:
        super().__init__(*said, **more)
        field = OrganisationField(
            Organisation.objects.filter(pk__in=[each.pk for each in organisations]),
            label=self.organisation_label,
            empty_label=None,
        )
        if len(organisations) == 1:
            field.widget = forms.HiddenInput()
            field.initial = organisations[0].pk
        self.fields["organisation"] = field
