"""Fields that several forms share."""

from typing import Any

from django import forms

from garage.evidence.gauges.typed import DO, RULE, number_typed


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


class _TypedNumber(forms.Field):
    """A number with a decimal point or a comma.

    A browser's own box of numbers drops a comma without a word, and 4,8 becomes 48.
    """

    widget = forms.TextInput

    def to_python(self, value: Any) -> Any:
        if value in self.empty_values:
            return None
        try:
            typed = number_typed(str(value)).value
        except ValueError as refused:
            raise forms.ValidationError(f"{RULE}; got {value!r}. {DO}") from refused
        return super().to_python(str(typed))

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        """Digits alone on a small screen, but for what may stand below zero."""
        least = getattr(self, "min_value", None)
        return {} if least is None or least < 0 else {"inputmode": "decimal"}


class DecimalTyped(_TypedNumber, forms.DecimalField):
    """A decimal number, kept digit for digit."""


class FloatTyped(_TypedNumber, forms.FloatField):
    """A decimal number to reckon with."""
