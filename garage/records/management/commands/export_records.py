"""Take out everything an organisation owns."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from garage.records.exporting.places import FolderPlace
from garage.records.models import Organisation
from garage.records.services.export import records_export

EXIT_REFUSED = 2


class Command(BaseCommand):
    help = (
        "Write an organisation's records as the CSV files that import_history reads, and as one "
        "JSON document (docs/export.md). They hold personal data. Exit code: 0 written, 2 refused."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--organisation", required=True, metavar="CODE")
        parser.add_argument("--to", required=True, type=Path, metavar="FOLDER")
        parser.add_argument("--json", action="store_true", help="write the JSON document too")

    def handle(self, *args: Any, **options: Any) -> None:
        code, folder = options["organisation"], options["to"]
        organisation = Organisation.objects.filter(code=code).first()
        if organisation is None:
            known = ", ".join(Organisation.objects.values_list("code", flat=True)) or "none"
            raise CommandError(
                f"the organisation must be recorded; got {code!r}, recorded: {known}.",
                returncode=EXIT_REFUSED,
            )
        try:
            counts = records_export(
                organisation=organisation,
                place=FolderPlace(folder),
                with_document=options["json"],
                at=timezone.now(),
            )
        except OSError as error:
            raise CommandError(
                f"the files are written into a folder; got: {error.strerror} ({error.filename}). "
                "Name a folder that can be written.",
                returncode=EXIT_REFUSED,
            ) from error
        for name, count in counts.items():
            self.stdout.write(f"{folder / name}: {count} rows")
