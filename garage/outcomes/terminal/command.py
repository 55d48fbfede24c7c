"""What the commands part_life, comebacks and early_failures share: their options and the report."""

import json
import sys
from argparse import ArgumentParser, ArgumentTypeError
from collections.abc import Iterable
from datetime import date
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from garage.outcomes.read_facts import newest_record_on
from garage.outcomes.report import report_make
from garage.outcomes.terminal.progress import step_bar
from garage.outcomes.wire import Wire, report_to_wire
from garage.records.choices import FILTER_PART_KIND, Origin
from garage.records.models import EngineFamily, Organisation, PartKind


class OutcomeCommand(BaseCommand):
    """Computes the report of the organisations in view and prints one section of it."""

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--as-of",
            type=_day,
            metavar="DATE",
            help="leave out later records (default: the day of the newest record)",
        )
        parser.add_argument("--json", action="store_true", help="the form of docs/json.md")
        parser.add_argument("--part-kind", default=FILTER_PART_KIND, metavar="CODE")
        parser.add_argument("--engine-family", metavar="NAME")
        parser.add_argument("--origin", choices=Origin.values, help="where the part came from")
        parser.add_argument(
            "--organisation",
            action="append",
            metavar="CODE",
            help="only this one's records; may be repeated (default: all of this installation)",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        if options["engine_family"] is not None:
            _require_family(options["engine_family"])
        report = report_of(
            organisation_codes=options["organisation"],
            part_kind_code=options["part_kind"],
            as_of=options["as_of"],
        )
        section = self.section(report, options)
        if options["json"]:
            self.stdout.write(json.dumps(section, indent=1, allow_nan=False))
        else:
            self.stdout.write("\n".join(self.lines(section)))

    def section(self, report: Wire, options: dict[str, Any]) -> Wire:
        raise CommandError("this command has no section of its own")

    def lines(self, section: Wire) -> Iterable[str]:
        raise CommandError("this command has no table of its own")


def report_of(
    *, organisation_codes: list[str] | None, part_kind_code: str, as_of: date | None
) -> Wire:
    """The report in its wire form, with a progress bar in a terminal."""
    organisations = _organisations(organisation_codes)
    try:
        part_kind = PartKind.objects.get(code=part_kind_code)
    except PartKind.DoesNotExist as error:
        known = ", ".join(PartKind.objects.values_list("code", flat=True))
        raise CommandError(
            f"a part kind must be in the catalogue; got {part_kind_code!r}. Known: {known}. "
            "Add one with manage.py add_part_kind."
        ) from error
    if as_of is None:
        as_of = newest_record_on([each.pk for each in organisations])
    if as_of is None:
        raise CommandError(
            "there are no records yet. Import some with manage.py import_history, or load the "
            "demo with manage.py load_demo."
        )
    with step_bar(sys.stderr) as progress:
        report = report_make(
            organisations=organisations, part_kind=part_kind, as_of=as_of, progress=progress
        )
    return report_to_wire(report)


def _organisations(codes: list[str] | None) -> list[Organisation]:
    if codes is None:
        return list(Organisation.objects.all())
    found = list(Organisation.objects.filter(code__in=codes))
    missing = sorted(set(codes) - {each.code for each in found})
    if missing:
        raise CommandError(
            f"an organisation must be known; got {', '.join(missing)}. "
            "Add it with manage.py add_organisation."
        )
    return found


def _require_family(name: str) -> None:
    if not EngineFamily.objects.filter(name__iexact=name).exists():
        known = ", ".join(EngineFamily.objects.values_list("name", flat=True))
        raise CommandError(f"an engine family must be known; got {name!r}. Known: {known}.")


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise ArgumentTypeError(f"must be a date such as 2025-12-31; got {text!r}") from error
