"""Fields that several forms share."""

from typing import Any

from django import forms


class DayField(forms.DateField):
    """A day, picked in the browser's own calendar."""

    def __init__(self, **said: Any) -> None:
        widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
        super().__init__(widget=widget, input_formats=["%Y-%m-%d"], **said)


class YesNoField(forms.TypedChoiceField):
    """Yes, no, or not known: three answers, for nothing said is not a no."""

    def __init__(self, **said: Any) -> None:
        super().__init__(
            choices=[("", "not known"), ("yes", "yes"), ("no", "no")],
            coerce=lambda value: value == "yes",
            empty_value=None,
            required=False,
            **said,
        )
