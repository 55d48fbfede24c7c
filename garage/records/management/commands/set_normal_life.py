"""Set an organisation's own value for the normal life of a part."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from garage.records.choices import Origin
from garage.records.errors import RuleBroken
from garage.records.models import Organisation, PartKind
from garage.records.services.normal_life import (
    USUAL_SHAPE,
    NormalLifeValue,
    own_normal_life_set,
)


class Command(BaseCommand):
    help = "Set how long a part ought to last in an organisation's view, by origin."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("organisation", metavar="CODE")
        parser.add_argument("part_kind", metavar="PART")
        parser.add_argument("--origin", required=True, choices=Origin.values)
        parser.add_argument(
            "--median-km", required=True, type=int, metavar="KM", help="half have failed by then"
        )
        parser.add_argument("--shape", type=float, default=USUAL_SHAPE, metavar="SHAPE")
        parser.add_argument("--source", required=True, metavar="TEXT", help="who says so")

    def handle(self, *args: Any, **options: Any) -> None:
        organisation = Organisation.objects.filter(code=options["organisation"]).first()
        part_kind = PartKind.objects.filter(code=options["part_kind"]).first()
        if organisation is None or part_kind is None:
            missing = "organisation" if organisation is None else "part_kind"
            raise CommandError(
                f"the {missing.replace('_', ' ')} must be recorded; got {options[missing]!r}. "
                f"Add it with manage.py add_{missing}.",
                returncode=2,
            )
        value = NormalLifeValue(
            options["origin"], options["median_km"], options["source"], options["shape"]
        )
        try:
            own_normal_life_set(
                organisation=organisation, part_kind=part_kind, value=value, at=timezone.now()
            )
        except RuleBroken as broken:
            raise CommandError(str(broken), returncode=2) from broken
        self.stdout.write(
            f"In {organisation.code}'s view, half of {part_kind.name}s of origin {value.origin} "
            f"fail by {value.median_km} km."
        )
