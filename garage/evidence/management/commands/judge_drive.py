"""Judge a table of a drive or a burn, without keeping it."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from garage.evidence.drives.judged import drive_judged
from garage.evidence.drives.targets import FilterSaid, targets_of
from garage.evidence.drives.told import drive_lines
from garage.evidence.services.drives import log_file_read
from garage.records.errors import RuleBroken

EXIT_REFUSED = 2


class Command(BaseCommand):
    help = (
        "Judge the table of a drive or a burn: soot per km, distance to the next burn and to the "
        "limit for one, and each burn. The head names time or distance, soot, and for burns the "
        "inlet temperature, with units: time_s,distance_km,soot_g,inlet_c. Nothing is kept. Exit "
        "code: 0 judged, 2 refused."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE")
        parser.add_argument("--trigger-g", type=float, metavar="G", help="soot that starts a burn")
        parser.add_argument("--limit-g", type=float, metavar="G", help="most soot for a burn")
        parser.add_argument("--litres", type=float, metavar="L", help="volume of the filter")

    def handle(self, *args: Any, **options: Any) -> None:
        said = FilterSaid(
            litres=options["litres"],
            limit_g=options["limit_g"],
            trigger_g=options["trigger_g"],
        )
        try:
            targets = targets_of(said)
            drive = log_file_read(options["file"].read_bytes())
        except (RuleBroken, ValueError) as refused:
            raise CommandError(str(refused), returncode=EXIT_REFUSED) from refused
        except OSError as error:
            raise CommandError(
                f"the log is a file that can be read; got: {error.strerror} ({error.filename}). "
                "Name another.",
                returncode=EXIT_REFUSED,
            ) from error
        self.stdout.write("\n".join(drive_lines(drive, drive_judged(drive, targets))))
