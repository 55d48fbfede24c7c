"""Forms of a workshop's instruments."""

from django import forms

from garage.pages.forms.fields import DayField, DecimalTyped, FloatTyped
from garage.pages.forms.organisations import ForOrganisationForm
from garage.records.models import Instrument


class _Facts(forms.Form):
    name = forms.CharField(label="Name, as it is called here", max_length=80)
    unit = forms.CharField(
        label="Unit that it shows",
        max_length=16,
        required=False,
        help_text="Empty: its display shows bare numbers.",
    )
    resolution = DecimalTyped(
        label="Last step that it shows",
        max_digits=12,
        decimal_places=6,
        required=False,
        help_text="0.5 where it counts in halves.",
    )
    accuracy_share = FloatTyped(
        label="Largest error, % of the reading",
        required=False,
        help_text="From its sheet or certificate; a known gauge needs it.",
    )
    calibrated_on = DayField(label="Last calibrated", required=False)

    def clean_accuracy_share(self) -> float | None:
        """People say per cent; it is kept as a share."""
        per_cent = self.cleaned_data["accuracy_share"]
        if per_cent is not None and not 0 <= per_cent < 100:
            raise forms.ValidationError(
                f"the largest error is 0 to below 100 % of the reading; got {per_cent:g}. "
                "Take it from the instrument's sheet, or leave it empty."
            )
        return None if per_cent is None else float(per_cent) / 100


class InstrumentForm(_Facts):
    """Changes an instrument; starts from what is kept of it."""

    @classmethod
    def of(cls, kept: Instrument) -> "InstrumentForm":
        share, step = kept.accuracy_share, kept.resolution
        return cls(
            prefix=f"instrument-{kept.pk}",
            initial={
                "name": kept.name,
                "unit": kept.unit,
                "resolution": None if step is None else f"{step.normalize():f}",
                "accuracy_share": None if share is None else f"{100 * share:g}",
                "calibrated_on": kept.calibrated_on,
            },
        )


class NewInstrumentForm(ForOrganisationForm, _Facts):
    """Adds one, for one of one's organisations."""

    organisation_label = "Of"
    field_order = ("organisation", "name", "unit", "resolution", "accuracy_share", "calibrated_on")
