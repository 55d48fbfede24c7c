"""Forms of a job's logs of drives and burns: a log sent in, one taken out."""

from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile

from garage.evidence.services.drives import BYTES_MOST, TITLE_CHARACTERS, NewDrive
from garage.records.choices import JobPhase


class DriveForm(forms.Form):
    log = forms.FileField(
        label="The log, a CSV file",
        help_text=f"At most {BYTES_MOST // 1_000_000} MB: some ten hours at a row a second.",
    )
    title = forms.CharField(
        label="What was driven",
        max_length=TITLE_CHARACTERS,
        help_text="Such as: 60 km of open road after the work.",
    )
    phase = forms.ChoiceField(
        label="When", choices=JobPhase.choices, initial=JobPhase.AFTER_WORK, required=True
    )


class DriveRemoveForm(forms.Form):
    drive = forms.IntegerField(widget=forms.HiddenInput)


def drive_of(said: dict[str, Any]) -> NewDrive:
    """The log that a form brought, as the records take it; more than allowed is not read."""
    log = said["log"]
    assert isinstance(log, UploadedFile)
    return NewDrive(said["title"], said["phase"], log.read(BYTES_MOST + 1))
