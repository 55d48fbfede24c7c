"""The form by which files of our own form are sent in."""

from collections.abc import Iterator, Sequence
from typing import Any, BinaryIO, cast

from django import forms
from django.core.files.uploadedfile import UploadedFile

from garage.pages.forms.calls import OrganisationField
from garage.records.importing.columns import FILE_KINDS
from garage.records.models import Organisation
from garage.records.services.import_runs import SentFile


class ImportForm(forms.Form):
    organisation = forms.Field()  # keeps its place; what may be chosen is known when it is made
    vehicles = forms.FileField(required=False, label="Vehicles")
    clusters = forms.FileField(required=False, label="Replaced instruments")
    odometer = forms.FileField(required=False, label="Odometer readings")
    jobs = forms.FileField(required=False, label="Jobs")
    dry_run = forms.BooleanField(
        required=False, label="Only try: say what would come of it, record nothing"
    )

    def __init__(self, *said: Any, organisations: Sequence[Organisation], **more: Any) -> None:
        super().__init__(*said, **more)
        self.fields["organisation"] = OrganisationField(
            Organisation.objects.filter(pk__in=[each.pk for each in organisations]),
            label="For",
            empty_label=None,
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
