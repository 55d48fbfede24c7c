"""Vehicles, replaced instruments and odometer readings as rows of the import form."""

from collections.abc import Iterator

from django.db.models import F, FilteredRelation, Q

from garage.records.choices import ReadingSource
from garage.records.exporting.cells import day_cell, number_cell, text_cell, yes_no_cell
from garage.records.models import ClusterReplacement, OdometerReading, Organisation, Vehicle

#: A row by the names of the import's columns; a cell that is not named is empty.
CellRow = dict[str, str]

#: Rows fetched at once.
FETCHED = 2_000
#: Readings that the jobs file does not hold: those of no job, and those that a merge of jobs left
#: with a job of another day.
APART = Q(job__isnull=True) | ~Q(job__opened_on=F("read_on"))


def vehicle_rows(organisation: Organisation) -> Iterator[CellRow]:
    """In the order in which they were recorded, which is the order that figures follow."""
    found = (
        Vehicle.objects.filter(organisation=organisation)
        .annotate(current=FilteredRelation("marks", condition=Q(marks__until_on__isnull=True)))
        .order_by("pk")
    )
    for row in found.values_list(
        "ref",
        "vin",
        "current__mark",
        "engine_family__name",
        "first_used_on",
        "watched_from_new",
        "duty",
        "ended_on",
        "ended_because",
    ).iterator(chunk_size=FETCHED):
        yield {
            "vehicle_ref": text_cell(row[0]),
            "vin": row[1],
            "registration": text_cell(row[2]),
            "engine_family": text_cell(row[3]),
            "first_used_on": day_cell(row[4]),
            "watched_from_new": yes_no_cell(row[5]),
            "duty": row[6],
            "ended_on": day_cell(row[7]),
            "ended_because": row[8],
        }


def cluster_rows(organisation: Organisation) -> Iterator[CellRow]:
    found = ClusterReplacement.objects.filter(vehicle__organisation=organisation)
    for ref, done_on, offset, unit, document in (
        found.order_by("done_on", "pk")
        .values_list("vehicle__ref", "done_on", "typed_offset", "unit", "document")
        .iterator(chunk_size=FETCHED)
    ):
        yield {
            "vehicle_ref": text_cell(ref),
            "done_on": day_cell(done_on),
            "offset": number_cell(offset),
            "unit": unit,
            "document": text_cell(document),
        }


def odometer_rows(organisation: Organisation) -> Iterator[CellRow]:
    """Readings as they were typed, those in doubt among them; a job's own are in its row."""
    found = OdometerReading.objects.filter(APART, vehicle__organisation=organisation)
    for ref, read_on, typed, unit, source in (
        found.order_by("read_on", "pk")
        .values_list("vehicle__ref", "read_on", "typed", "unit", "source")
        .iterator(chunk_size=FETCHED)
    ):
        yield {
            "vehicle_ref": text_cell(ref),
            "read_on": day_cell(read_on),
            "odometer": number_cell(typed),
            "unit": unit,
            "source": "" if source == ReadingSource.UNKNOWN else source,
        }
