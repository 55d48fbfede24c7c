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
from garage.records.importing.summary import summary_lines
from garage.records.models import Organisation
from garage.records.services.history_import import ImportRequest
from garage.records.services.table_import import (
    TableImported,
    source_confirm,
    source_mapping,
    table_import,
    table_propose,
)
from garage.records.tabular.errors import MappingInvalid, TableUnreadable
from garage.records.tabular.mapping import Mapping, mapping_json, mapping_load
from garage.records.tabular.reading import table_read

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
        parser.add_argument("--source", metavar="NAME", help="where such files come from")
        parser.add_argument("--into", type=Path, metavar="DIR", help="folder for what was held")
        parser.add_argument("--dry-run", action="store_true", help="check all, record nothing")
        parser.add_argument("--as-of", type=date.fromisoformat, metavar="DATE")

    def handle(self, *args: Any, **options: Any) -> None:
        as_of = options["as_of"] or timezone.localdate()
        try:
            organisation = Organisation.objects.get(code=options["organisation"])
            if options["propose"] is not None:
                proposal = table_propose(options["file"], as_of=as_of)
                options["propose"].write_text(mapping_json(proposal.mapping), encoding="utf-8")
                self.stdout.write("\n".join(proposal.lines()))
                self.stdout.write(f"Written to {options['propose']}: look through it, correct it.")
                return
            imported = self._import(organisation, options, as_of)
        except Organisation.DoesNotExist as missing:
            raise CommandError(
                f"the organisation must be recorded; got {options['organisation']!r}.",
                returncode=EXIT_REFUSED,
            ) from missing
        except (ImportRefused, MappingInvalid, TableUnreadable, RuleBroken, OSError) as refused:
            raise CommandError(str(refused), returncode=EXIT_REFUSED) from refused
        self._tell(imported)

    def _import(
        self, organisation: Organisation, options: dict[str, Any], as_of: date
    ) -> TableImported:
        mapping = self._mapping(organisation, options)
        folder = options["into"] or Path(tempfile.mkdtemp(prefix="import-"))
        folder.mkdir(parents=True, exist_ok=True)
        request = ImportRequest(
            organisation.code, {}, as_of, timezone.now(), dry_run=options["dry_run"]
        )
        imported = table_import(
            table=table_read(options["file"]), mapping=mapping, folder=folder, request=request
        )
        if options["mapping"] is not None and options["source"] and not options["dry_run"]:
            source_confirm(
                organisation=organisation,
                name=options["source"],
                mapping=mapping,
                at=timezone.now(),
            )
        return imported

    @staticmethod
    def _mapping(organisation: Organisation, options: dict[str, Any]) -> Mapping:
        if options["mapping"] is not None:
            return mapping_load(options["mapping"].read_text(encoding="utf-8"))
        if options["source"]:
            return source_mapping(organisation=organisation, name=options["source"])
        raise RuleBroken(
            "a table is imported by a confirmed mapping",
            got="neither --mapping nor --source",
            do="Make one with --propose mapping.json, and look through it.",
        )

    def _tell(self, imported: TableImported) -> None:
        written = imported.written
        self.stdout.write("\n".join(summary_lines(imported.summary)))
        for kind, rows in imported.rejected_rows.items():
            if rows:
                told = ", ".join(map(str, rows))
                self.stdout.write(f"{kind}: rejected, by the source's own rows: {told}")
        held = written.held.total()
        if held:
            self.stdout.write(f"{held} rows were held; {written.held_file} says why.")
        if held or imported.summary.rejected:
            sys.exit(EXIT_SOME_LEFT)
