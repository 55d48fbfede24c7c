"""Weigh a table of readings and findings, without keeping it."""

import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from garage.evidence.visit.said_by_table import table_visit
from garage.evidence.visit.table import visit_table_read
from garage.evidence.visit.terminal import evidence_lines
from garage.evidence.visit.weighing import visit_weigh
from garage.records.choices import JobPhase

EXIT_REFUSED = 2
EXIT_SOME_UNUSED = 3


class Command(BaseCommand):
    help = (
        "Say what the readings and findings of one visit say together (docs/evidence.md). A row of "
        "the CSV file is a reading (quantity,value,unit,condition,speed_rpm,layout) or a finding "
        "(finding,state); phase is arrival where it is empty. Nothing is kept. Exit code: 0 all "
        "lines were used, 3 some were not, 2 refused."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE")
        parser.add_argument(
            "--code",
            action="append",
            default=[],
            metavar="CODES",
            help="trouble codes as typed, such as 'P2463, P244B pend.'; may be repeated",
        )
        parser.add_argument("--phase", choices=JobPhase.values, default=JobPhase.ARRIVAL.value)

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            table = visit_table_read(options["file"].read_bytes().decode("utf-8-sig"))
        except UnicodeDecodeError as error:
            raise CommandError(
                "the table is a text in UTF-8; got other bytes. Save it as CSV in UTF-8.",
                returncode=EXIT_REFUSED,
            ) from error
        except ValueError as refused:
            raise CommandError(f"{refused}.", returncode=EXIT_REFUSED) from refused
        except OSError as error:
            raise CommandError(
                f"the table is a file that can be read; got: {error.strerror} ({error.filename}). "
                "Name another.",
                returncode=EXIT_REFUSED,
            ) from error
        visit = table_visit(table, phase=options["phase"], codes=options["code"])
        evidence = visit_weigh(visit.said)
        self.stdout.write("\n".join(evidence_lines(evidence, visit.unused)))
        if visit.unused or evidence.unused:
            sys.exit(EXIT_SOME_UNUSED)
