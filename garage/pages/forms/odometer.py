"""Forms of the odometer ledger."""

from django import forms

from garage.pages.forms.fields import DayField, DecimalTyped
from garage.records.choices import DistanceUnit, ReadingSource, ResolvedAs

_UNITS = [("", "as typed"), *DistanceUnit.choices]
_SOURCES = [each for each in ReadingSource.choices if each[0] != ReadingSource.JOB]


class ResolveForm(forms.Form):
    resolved_as = forms.ChoiceField(label="This reading is", choices=ResolvedAs.choices)
    typed = DecimalTyped(label="Right distance", required=False, max_digits=12)
    unit = forms.ChoiceField(label="Unit", choices=_UNITS, required=False)
    read_on = DayField(label="Right day", required=False)
    reason = forms.CharField(label="What shows it", max_length=300)


class OdometerForm(forms.Form):
    read_on = DayField(label="Read on")
    typed = DecimalTyped(label="Distance shown", min_value=0, max_digits=12)
    unit = forms.ChoiceField(label="Unit", choices=DistanceUnit.choices)
    source = forms.ChoiceField(label="Where it comes from", choices=_SOURCES)


class ClusterForm(forms.Form):
    done_on = DayField(label="Replaced on")
    shown_before = DecimalTyped(label="Old one showed", min_value=0, max_digits=12)
    shown_after = DecimalTyped(label="New one showed", min_value=0, max_digits=12)
    unit = forms.ChoiceField(label="Unit", choices=DistanceUnit.choices)
    document = forms.CharField(
        label="Document", max_length=200, help_text="The invoice or the entry in the papers."
    )


class DayForm(forms.Form):
    on = DayField(label="Distance on", required=False)
