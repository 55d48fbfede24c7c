"""Add a kind of part to the catalogue."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from garage.records.choices import System, WearsBy
from garage.records.errors import RuleBroken
from garage.records.services.part_kinds import NewPartKind, part_kind_add


class Command(BaseCommand):
    help = "Add a kind of part to the catalogue: its lives are followed from then on."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("code", metavar="CODE", help="as jobs files name it in part_kind")
        parser.add_argument("--system", required=True, choices=System.values)
        parser.add_argument("--name", default="", help="default: the code")
        parser.add_argument(
            "--normal-life-km", type=int, metavar="N", help="median life of the part from new"
        )
        parser.add_argument(
            "--source", default="", metavar="TEXT", help="where that normal life comes from"
        )
        parser.add_argument(
            "--fitted-from-new",
            action="store_true",
            help="every vehicle leaves the factory with it",
        )
        parser.add_argument(
            "--wears-by", choices=WearsBy.values, default=WearsBy.KM.value, help="default: km"
        )
        parser.add_argument(
            "--normal-life-months", type=int, metavar="N", help="where time wears it"
        )
        parser.add_argument(
            "--position",
            action="append",
            default=[],
            metavar="TEXT",
            help="a usual position, such as 'bank 1'; once for each",
        )
        parser.add_argument(
            "--failed-means", default="", metavar="TEXT", help="what counts as failed"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        new = NewPartKind(
            code=options["code"],
            system=options["system"],
            name=options["name"],
            normal_life_km=options["normal_life_km"],
            normal_life_source=options["source"],
            fitted_from_new=options["fitted_from_new"],
            wears_by=options["wears_by"],
            normal_life_months=options["normal_life_months"],
            positions=tuple(options["position"]),
            failed_means=options["failed_means"],
        )
        try:
            part_kind = part_kind_add(new=new, at=timezone.now())
        except RuleBroken as broken:
            raise CommandError(str(broken), returncode=2) from broken
        self.stdout.write(f"Added part kind {part_kind.code} of system {part_kind.system}.")
