"""Print the vehicles whose part failed far short of normal life, and the likelier cause."""

from collections.abc import Iterable
from typing import Any

from garage.outcomes.filters import early_failures_section
from garage.outcomes.terminal.command import OutcomeCommand
from garage.outcomes.terminal.early_failures import early_failures_lines
from garage.outcomes.wire import Wire


class Command(OutcomeCommand):
    help = "Print the vehicles whose part failed far short of normal life, and the likelier cause."

    def section(self, report: Wire, options: dict[str, Any]) -> Wire:
        return early_failures_section(
            report, engine_family=options["engine_family"], origin=options["origin"]
        )

    def lines(self, section: Wire) -> Iterable[str]:
        return early_failures_lines(section)
