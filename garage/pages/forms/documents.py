"""The form of a photo or document."""

from typing import Any

from django import forms

from garage.records.choices import DocumentKind
from garage.records.documents import Upload


class DocumentForm(forms.Form):
    kind = forms.ChoiceField(label="What it is", choices=DocumentKind.choices)
    title = forms.CharField(label="What it shows", max_length=120)
    content = forms.FileField(label="File", help_text="A photo or a PDF, up to 20 MB.")


def upload_of(said: dict[str, Any]) -> Upload:
    """The file that a document form brought, as the records take it."""
    content = said["content"]
    return Upload(said["title"], said["kind"], content.file, content.size)
