"""Load the demo into an empty register."""

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import transaction
from django.utils import timezone

from garage.evidence.services.demo import demo_evidence_load
from garage.records.errors import RuleBroken
from garage.records.importing.progress import bar
from garage.records.services.demo import SIGN_INS, demo_load


class Command(BaseCommand):
    help = "Load the demo, an invented region's records, into a register without organisations."

    def handle(self, *args: Any, **options: Any) -> None:
        if settings.ENVIRONMENT.is_production:
            raise CommandError(
                "the demo's passwords are public, so it is not loaded in production; got "
                "REGISTER_MODE=production. Load it in the workshop mode, in a data folder of "
                "its own."
            )
        try:
            with transaction.atomic():
                demo_load(now=timezone.now(), progress=bar)
                demo_evidence_load(now=timezone.now())
        except RuleBroken as broken:
            raise CommandError(str(broken)) from broken
        self.stdout.write("Loaded the demo. Sign in as one of:")
        for sign_in in SIGN_INS:
            self.stdout.write(f"  {sign_in.username} with password {sign_in.password}")
