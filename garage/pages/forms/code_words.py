"""The form of an organisation's own words for a trouble code."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.db.models import QuerySet

from garage.evidence.codes.meanings import groups
from garage.evidence.services.own_wordings import LONGEST_SOURCE, LONGEST_WORDS
from garage.pages.forms.organisations import ForOrganisationForm
from garage.records.models import EngineFamily, Organisation


class OwnWordingForm(ForOrganisationForm):
    """Own words, for one engine family or for all."""

    code = forms.CharField(
        label="Code", max_length=40, help_text="Without a failure type: P1A2B, or 3251/2."
    )
    words = forms.CharField(label="What it says", max_length=LONGEST_WORDS)
    group = forms.ChoiceField(
        label="Group",
        choices=lambda: list(groups().items()),
        help_text="Comebacks and what to fix first go by it.",
    )
    engine_family = forms.ModelChoiceField(
        EngineFamily.objects.none(),
        label="Engine family",
        required=False,
        empty_label="all engine families",
    )
    source = forms.CharField(
        label="Who says so",
        max_length=LONGEST_SOURCE,
        help_text="A maker's document, own experience, a date.",
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
