"""Print how often vehicles come back after each operation."""

from collections.abc import Iterable
from typing import Any

from garage.outcomes.filters import comebacks_section
from garage.outcomes.terminal.comebacks import comebacks_lines
from garage.outcomes.terminal.command import OutcomeCommand
from garage.outcomes.wire import Wire


class Command(OutcomeCommand):
    help = "Print how often vehicles come back after each operation."

    def section(self, report: Wire, options: dict[str, Any]) -> Wire:
        return comebacks_section(report, engine_family=options["engine_family"])

    def lines(self, section: Wire) -> Iterable[str]:
        return comebacks_lines(section)
