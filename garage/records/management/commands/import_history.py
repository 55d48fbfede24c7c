"""Import an organisation's vehicles, odometers and jobs from CSV files."""

import sys
from argparse import ArgumentParser
from datetime import date
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from garage.records.importing.columns import FILE_KINDS
from garage.records.importing.faults import ImportRefused
from garage.records.importing.progress import bar
from garage.records.importing.summary import summary_lines
from garage.records.services.history_import import ImportRequest, history_import

EXIT_REFUSED = 2
EXIT_SOME_REJECTED = 3
#: As shells say it of a program that Ctrl-C ended.
EXIT_STOPPED = 130


class Command(BaseCommand):
    help = (
        "Import vehicles, replaced instruments, odometer readings and jobs from UTF-8 CSV files "
        "(docs/import.md). Exit code: 0 all rows hold, 3 some rows were rejected, 2 refused."
    )
    # The checks of Django load every page and route, which takes a second of a short import.
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--organisation", required=True, metavar="CODE")
        for kind in FILE_KINDS:
            parser.add_argument(f"--{kind.name}", type=Path, metavar="FILE", help=kind.row_is)
        parser.add_argument("--dry-run", action="store_true", help="check all, record nothing")
        parser.add_argument(
            "--as-of", type=date.fromisoformat, metavar="DATE", help="today for the records"
        )
        parser.add_argument(
            "--rejected-to", type=Path, metavar="DIR", help="folder for rejected rows"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        names = [kind.name for kind in FILE_KINDS]
        request = ImportRequest(
            organisation_code=options["organisation"],
            files={name: options[name] for name in names if options[name] is not None},
            as_of=options["as_of"] or timezone.localdate(),
            now=timezone.now(),
            dry_run=options["dry_run"],
            rejected_to=options["rejected_to"],
            progress=bar,
        )
        try:
            summary = history_import(request=request)
        except ImportRefused as refused:
            raise CommandError(str(refused), returncode=EXIT_REFUSED) from refused
        except KeyboardInterrupt:
            words = "the import was stopped. Nothing of it was recorded; run it again."
            raise CommandError(words, returncode=EXIT_STOPPED) from None
        self.stdout.write("\n".join(summary_lines(summary)))
        if summary.rejected:
            sys.exit(EXIT_SOME_REJECTED)
