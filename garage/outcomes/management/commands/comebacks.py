"""Print how often vehicles come back after each operation."""

from collections.abc import Iterable
from typing import Any

from django.core.management.base import CommandError

from garage.outcomes.filters import comebacks_section
from garage.outcomes.terminal.comebacks import comebacks_lines
from garage.outcomes.terminal.command import OutcomeCommand
from garage.outcomes.wire import Wire


class Command(OutcomeCommand):
    help = "Print how often vehicles come back after each operation."

    def section(self, report: Wire, options: dict[str, Any]) -> Wire:
        if options["origin"] is not None:
            raise CommandError(
                "comebacks are counted by operation, not by where the part came from; got --origin "
                f"{options['origin']}. Leave it out, or ask part_life."
            )
        return comebacks_section(report, engine_family=options["engine_family"])

    def lines(self, section: Wire) -> Iterable[str]:
        return comebacks_lines(section)
