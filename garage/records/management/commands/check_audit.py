"""Check the audit trail of an organisation, or of all."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from garage.records.audit_trail import audit_check
from garage.records.models import Organisation


class Command(BaseCommand):
    help = "Check that no row of the audit trail is missing or was changed."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--organisation", metavar="CODE", help="default: all")

    def handle(self, *args: Any, **options: Any) -> None:
        organisations = Organisation.objects.order_by("code")
        if options["organisation"]:
            organisations = organisations.filter(code=options["organisation"])
            if not organisations:
                raise CommandError(
                    f"the organisation must be recorded; got {options['organisation']!r}. "
                    "Without --organisation all are checked.",
                    returncode=2,
                )
        broken = 0
        for organisation in organisations:
            checked = audit_check(organisation=organisation)
            broken += checked.broken_at is not None
            self.stdout.write(f"{organisation.code}: {checked.rows} rows hold, {checked.words}")
        if broken:
            raise CommandError(
                f"{broken} audit trail{'s' if broken > 1 else ''} broken. Keep the database as it "
                "is, and compare it with a backup.",
                returncode=3,
            )
