"""Print the main job's result: early failures, part life and comebacks of the first part kind."""

import sys
from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from garage.outcomes.filters import (
    comebacks_section,
    early_failures_section,
    part_life_section,
)
from garage.outcomes.services import part_kinds_in_view, snapshot_refresh
from garage.outcomes.terminal.comebacks import comebacks_lines
from garage.outcomes.terminal.early_failures import early_failures_lines
from garage.outcomes.terminal.part_life import part_life_lines
from garage.outcomes.terminal.progress import step_bar
from garage.records.models import Organisation

#: Flags shown; the rest are counted. The whole list: manage.py early_failures.
FLAGS_SHOWN = 8


class Command(BaseCommand):
    help = (
        "Print early failures, part life and comebacks of the filter, or of the part most often "
        "fitted where no filter was, over all records; and keep the report."
    )

    def handle(self, *args: Any, **options: Any) -> None:
        ids = list(Organisation.objects.values_list("pk", flat=True))
        part_kinds = part_kinds_in_view(ids)
        if not part_kinds:
            self.stdout.write(
                "There are no records yet. Add an organisation with manage.py add_organisation, "
                "then its history with manage.py import_history."
            )
            return
        first, *others = part_kinds
        with step_bar(sys.stderr) as progress:
            kept = snapshot_refresh(
                organisation_ids=ids, part_kind=first, now=timezone.now(), progress=progress
            )
        if kept is None:
            return
        for lines in (
            early_failures_lines(early_failures_section(kept.report), most=FLAGS_SHOWN),
            part_life_lines(part_life_section(kept.report), apart=False),
            comebacks_lines(comebacks_section(kept.report)),
        ):
            self.stdout.write("\n".join(lines) + "\n\n")
        if others:
            codes = ", ".join(kind.code for kind in others)
            self.stdout.write(
                f"Also followed: {codes}. For one of them: manage.py part_life --part-kind "
                f"{others[0].code}\n"
            )
