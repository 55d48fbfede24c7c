"""Add an organisation to the register."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from garage.records.choices import OrganisationKind
from garage.records.errors import RuleBroken
from garage.records.services.organisations import organisation_add


class Command(BaseCommand):
    help = "Add an organisation: an owner of vehicles, jobs and readings."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("code", metavar="CODE", help="small letters, digits, hyphens")
        parser.add_argument("--kind", required=True, choices=OrganisationKind.values)
        parser.add_argument("--name", default="", help="default: the code")
        parser.add_argument(
            "--sees-all-repairs",
            action="store_true",
            help="every repair of its vehicles is in its records (a fleet with its own workshop)",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            organisation = organisation_add(
                code=options["code"],
                kind=options["kind"],
                name=options["name"],
                sees_all_repairs=options["sees_all_repairs"],
            )
        except RuleBroken as broken:
            raise CommandError(str(broken), returncode=2) from broken
        self.stdout.write(
            f"Added {organisation.kind} {organisation.code}. Import its history with manage.py "
            f"import_history --organisation {organisation.code} --vehicles FILE --jobs FILE."
        )
