"""Import a table in somebody else's form, by a mapping that a person has confirmed."""

import sys
import tempfile
from argparse import ArgumentParser
from datetime import date
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from garage.records.errors import RuleBroken
from garage.records.importing.faults import ImportRefused
from garage.records.importing.progress import bar
from garage.records.models import Organisation
from garage.records.services.table_import import TableRequest, table_propose, table_take_in
from garage.records.tabular.errors import MappingInvalid, TableUnreadable
from garage.records.tabular.mapping import mapping_json

EXIT_REFUSED = 2
EXIT_SOME_LEFT = 3


class Command(BaseCommand):
    help = (
        "Import a CSV or XLSX file in any form (docs/tabular-import.md). First --propose FILE.json "
        "writes a mapping to look through and correct; then --mapping FILE.json imports by it, and "
        "--source NAME keeps it for the next file of that source."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE")
        parser.add_argument("--organisation", required=True, metavar="CODE")
        parser.add_argument("--propose", type=Path, metavar="JSON", help="write a mapping, only")
        parser.add_argument("--mapping", type=Path, metavar="JSON", help="a confirmed mapping")
        parser.add_argument("--source", default="", metavar="NAME", help="where it comes from")
        parser.add_argument("--into", type=Path, metavar="DIR", help="folder for what was held")
        parser.add_argument("--dry-run", action="store_true", help="check all, record nothing")
        parser.add_argument("--as-of", type=date.fromisoformat, metavar="DATE")

    def handle(self, *args: Any, **options: Any) -> None:
        as_of = options["as_of"] or timezone.localdate()
        try:
            organisation = Organisation.objects.filter(code=options["organisation"]).first()
            if organisation is None:
                raise CommandError(
                    f"the organisation must be recorded; got {options['organisation']!r}.",
                    returncode=EXIT_REFUSED,
                )
            if options["propose"] is not None:
                proposal = table_propose(options["file"], as_of=as_of)
                options["propose"].write_text(mapping_json(proposal.mapping), encoding="utf-8")
                self.stdout.write("\n".join(proposal.lines()))
                self.stdout.write(f"Written to {options['propose']}: look through it, correct it.")
                return
            request = TableRequest(
                organisation,
                options["file"],
                options["mapping"],
                options["source"],
                options["into"] or Path(tempfile.mkdtemp(prefix="import-")),
                as_of,
                timezone.now(),
                dry_run=options["dry_run"],
                progress=bar,
            )
            imported = table_take_in(request=request)
        except (ImportRefused, MappingInvalid, TableUnreadable, RuleBroken, OSError) as refused:
            raise CommandError(str(refused), returncode=EXIT_REFUSED) from refused
        self.stdout.write("\n".join(imported.lines()))
        if not imported.is_whole:
            sys.exit(EXIT_SOME_LEFT)
