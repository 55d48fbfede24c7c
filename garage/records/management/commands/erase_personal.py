"""Erase personal data that is due by an organisation's own term."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from garage.records.choices import ErasureBecause
from garage.records.models import Organisation
from garage.records.services.erasure import EraseRequest, personal_due, personal_erase
from garage.records.services.import_runs import import_runs_old_clear
from garage.records.services.settle import BATCH_VEHICLES
from garage.records.services.table_uploads import uploads_old_discard


class Command(BaseCommand):
    help = (
        "Erase names, contact, registration marks, VINs and free texts of vehicles whose last job "
        "is longer ago than their organisation keeps them, tables that nobody came back "
        "to, and rejected rows of old imports. Run it once a day."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--dry-run", action="store_true", help="say what would go")

    def handle(self, *args: Any, **options: Any) -> None:
        now = timezone.now()
        if not options["dry_run"]:
            for organisation in Organisation.objects.all():
                uploads_old_discard(organisation=organisation, at=now)
                import_runs_old_clear(organisation=organisation, at=now)
        for organisation in Organisation.objects.filter(keep_personal_months__isnull=False):
            due = personal_due(organisation=organisation, as_of=now.date())
            if not due:
                self.stdout.write(f"{organisation.code}: nothing is due.")
                continue
            if options["dry_run"]:
                self.stdout.write(f"{organisation.code}: {len(due)} vehicles are due.")
                continue
            for start in range(0, len(due), BATCH_VEHICLES):
                batch = due[start : start + BATCH_VEHICLES]
                request = EraseRequest(organisation, batch, ErasureBecause.SCHEDULE)
                erased = personal_erase(request=request, at=now).erased
                told = ", ".join(f"{count} {what}" for what, count in erased.items() if count)
                self.stdout.write(f"{organisation.code}: {len(batch)} vehicles, {told}.")
