"""The form by which files of our own form are sent in."""

from collections.abc import Iterator
from typing import BinaryIO, cast

from django import forms
from django.core.files.uploadedfile import UploadedFile

from garage.pages.forms.organisations import ForOrganisationForm
from garage.records.importing.columns import FILE_KINDS
from garage.records.services.import_runs import SentFile


class ImportForm(ForOrganisationForm):
    vehicles = forms.FileField(required=False, label="Vehicles")
    clusters = forms.FileField(required=False, label="Replaced instruments")
    odometer = forms.FileField(required=False, label="Odometer readings")
    jobs = forms.FileField(required=False, label="Jobs")
    dry_run = forms.BooleanField(
        required=False, label="Only try: say what would come of it, record nothing"
    )

    def sent(self) -> tuple[SentFile, ...]:
        return tuple(self._sent())

    def _sent(self) -> Iterator[SentFile]:
        for kind in FILE_KINDS:
            file = self.cleaned_data[kind.name]
            if file is not None:
                assert isinstance(file, UploadedFile)
                content = cast("BinaryIO", file.file)
                yield SentFile(kind.name, file.name or "", content, file.size or 0)
