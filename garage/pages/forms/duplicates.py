"""The form that decides on a pair of records that may be one."""

from django import forms


class PairForm(forms.Form):
    decision = forms.ChoiceField(
        label="These are",
        choices=[
            ("keep_one", "one: keep the first"),
            ("keep_other", "one: keep the second"),
            ("two", "two"),
        ],
        widget=forms.RadioSelect,
    )
    reason = forms.CharField(label="Reason", max_length=300, required=False)
