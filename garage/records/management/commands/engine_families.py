"""List engine families, and review new ones."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db.models import Count
from django.utils import timezone

from garage.records.errors import RuleBroken
from garage.records.models import EngineFamily
from garage.records.services.engine_families import family_accept, family_join


class Command(BaseCommand):
    help = "List engine families. New names wait for review: accept one, or join it to another."

    def add_arguments(self, parser: ArgumentParser) -> None:
        what = parser.add_mutually_exclusive_group()
        what.add_argument("--accept", metavar="NAME", help="it is a family of its own")
        what.add_argument(
            "--join", nargs=2, metavar=("NAME", "FAMILY"), help="NAME is a spelling of FAMILY"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        if options["accept"] is not None:
            family_accept(family=_family(options["accept"]), at=timezone.now())
        elif options["join"] is not None:
            name, into = (_family(each) for each in options["join"])
            try:
                family_join(family=name, into=into, at=timezone.now())
            except RuleBroken as broken:
                raise CommandError(str(broken), returncode=2) from broken
        for family in EngineFamily.objects.annotate(used=Count("vehicles")).prefetch_related(
            "aliases"
        ):
            aliases = ", ".join(alias.name for alias in family.aliases.all())
            self.stdout.write(
                f"{family.name}: {family.used} vehicles"
                + (f"; also written {aliases}" if aliases else "")
                + ("" if family.reviewed else "; to review")
            )


def _family(name: str) -> EngineFamily:
    family = EngineFamily.objects.filter(name__iexact=name).first()
    if family is None:
        known = ", ".join(EngineFamily.objects.values_list("name", flat=True)) or "none"
        raise CommandError(
            f"an engine family must be recorded; got {name!r}, recorded: {known}.", returncode=2
        )
    return family
