"""Forms of warranty terms and claims."""

from django import forms

from garage.pages.forms.fields import DayField, DecimalTyped
from garage.records.choices import WarrantyGiver


class WarrantyForm(forms.Form):
    given_by = forms.ChoiceField(label="Given by", choices=WarrantyGiver.choices)
    giver_name = forms.CharField(label="Name of who gives it", max_length=80, required=False)
    months = forms.IntegerField(label="Months", min_value=1, required=False)
    distance_km = forms.IntegerField(label="Distance in km", min_value=1, required=False)
    claim_within_days = forms.IntegerField(
        label="Days in which to claim after the failure", min_value=1, required=False
    )
    conditions = forms.CharField(
        label="Conditions", max_length=500, required=False, widget=forms.Textarea({"rows": 3})
    )


class SendForm(forms.Form):
    sent_on = DayField(label="Sent on")


class SettleForm(forms.Form):
    decided_on = DayField(label="Settled on")
    recovered = DecimalTyped(label="Money recovered", min_value=0, max_digits=12)
    currency = forms.CharField(
        label="Currency", min_length=3, max_length=3, help_text="Three letters, such as EUR."
    )


class ReasonForm(forms.Form):
    reason = forms.CharField(label="Reason", max_length=300)


class NothingForm(forms.Form):
    """A button that needs no more words."""
