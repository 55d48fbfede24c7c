"""Print how long parts last, by engine family and origin."""

from collections.abc import Iterable
from typing import Any

from garage.outcomes.filters import part_life_section
from garage.outcomes.terminal.command import OutcomeCommand
from garage.outcomes.terminal.part_life import part_life_lines
from garage.outcomes.wire import Wire


class Command(OutcomeCommand):
    help = "Print how long parts last, by engine family and origin."

    def section(self, report: Wire, options: dict[str, Any]) -> Wire:
        return part_life_section(
            report, engine_family=options["engine_family"], origin=options["origin"]
        )

    def lines(self, section: Wire) -> Iterable[str]:
        return part_life_lines(section)
