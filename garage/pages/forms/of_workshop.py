"""Forms that offer a workshop's own instruments."""

from typing import Any

from django import forms
from django.db.models import Model

from garage.records.models import Instrument


class InstrumentField(forms.ModelChoiceField):
    """One of a workshop's instruments, by its name."""

    def label_from_instance(self, obj: Model) -> str:
        known = vars(obj)
        return f"{known['name']} ({known['unit']})" if known["unit"] else str(known["name"])


class OfWorkshop(forms.Form):
    """Offers the instruments of one workshop."""

    def __init__(self, *said: Any, organisation_id: int, **more: Any) -> None:
        super().__init__(*said, **more)
        for field in self.fields.values():
            if isinstance(field, InstrumentField):
                field.queryset = Instrument.objects.filter(organisation_id=organisation_id)
