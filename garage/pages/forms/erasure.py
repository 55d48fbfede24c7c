"""The form by which an owner says that personal data shall go."""

from django import forms


class EraseForm(forms.Form):
    for_good = forms.BooleanField(
        label="It shall go for good",
        error_messages={"required": "Tick this: what is erased cannot be brought back."},
    )
