"""Forms of the limits: which are shown, and an own one."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.db.models import QuerySet

from garage.evidence.limits_shipped import GROUPS, with_unit
from garage.evidence.services.own_thresholds import LONGEST_SOURCE
from garage.pages.forms.fields import FloatTyped
from garage.pages.forms.organisations import ForOrganisationForm
from garage.records.models import EngineFamily, Organisation


class LimitsShownForm(forms.Form):
    """Which limits are shown."""

    words = forms.CharField(label="With these words", max_length=60, required=False)
    own = forms.BooleanField(label="Show", required=False)


class OwnLimitForm(ForOrganisationForm):
    """An own limit, for one engine family or for all."""

    key = forms.ChoiceField(
        label="Limit",
        choices=[
            (group.title, [(each.key, f"{each.title}: {with_unit(each)}") for each in group.limits])
            for group in GROUPS
        ],
    )
    engine_family = forms.ModelChoiceField(
        EngineFamily.objects.none(),
        label="Engine family",
        required=False,
        empty_label="all engine families",
    )
    value = FloatTyped(label="Value, in the limit's unit")
    source = forms.CharField(
        label="Who says so",
        max_length=LONGEST_SOURCE,
        help_text="A data sheet, own measurements of so many vehicles, a date.",
    )

    def __init__(
        self,
        *said: Any,
        organisations: Sequence[Organisation],
        families: QuerySet[EngineFamily],
        **more: Any,
    ) -> None:
        super().__init__(*said, organisations=organisations, **more)
        field = self.fields["engine_family"]
        assert isinstance(field, forms.ModelChoiceField)  # as it stands above
        field.queryset = families
