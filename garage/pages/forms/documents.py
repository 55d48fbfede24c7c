"""The form of a photo or document."""

from django import forms

from garage.records.choices import DocumentKind


class DocumentForm(forms.Form):
    kind = forms.ChoiceField(label="What it is", choices=DocumentKind.choices)
    title = forms.CharField(label="What it shows", max_length=120)
    content = forms.FileField(label="File", help_text="A photo or a PDF, up to 20 MB.")
