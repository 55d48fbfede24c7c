import json
from datetime import UTC, datetime
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from garage.background.services import work_enqueue


class Command(BaseCommand):
    help = "Queue work as a request would, from a process that then ends."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("kind")
        parser.add_argument("arguments", type=json.loads)

    def handle(self, *args: Any, **options: Any) -> None:
        work_enqueue(
            kind=options["kind"],
            arguments=options["arguments"],
            now=datetime(2026, 3, 2, 8, 0, tzinfo=UTC),
        )
