"""Set an organisation's own terms."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from garage.records.errors import RuleBroken
from garage.records.models import Organisation
from garage.records.services.organisations import OwnTerms, organisation_terms_set


class Command(BaseCommand):
    help = "Set when an organisation's rechecks are due, and how long it keeps personal data."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("organisation", metavar="CODE")
        parser.add_argument("--recheck-days", type=int, metavar="N")
        parser.add_argument("--recheck-km", type=int, metavar="N")
        parser.add_argument(
            "--keep-personal-months", type=int, metavar="N", help="0: until somebody asks"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        organisation = Organisation.objects.filter(code=options["organisation"]).first()
        if organisation is None:
            raise CommandError(
                f"the organisation must be recorded; got {options['organisation']!r}.",
                returncode=2,
            )
        names = ("recheck_days", "recheck_km", "keep_personal_months")
        terms = OwnTerms(**{name: options[name] for name in names})
        try:
            row = organisation_terms_set(organisation=organisation, terms=terms, at=timezone.now())
        except RuleBroken as broken:
            raise CommandError(str(broken), returncode=2) from broken
        kept = row.keep_personal_months
        months = "until somebody asks" if kept is None else f"{kept} months after the last job"
        self.stdout.write(
            f"{row.code}: rechecks after {row.recheck_days} days or {row.recheck_km} km; personal "
            f"data kept {months}."
        )
