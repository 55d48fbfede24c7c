"""What rows written as values leave behind is what Django's own objects would have left."""

import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest
from django.db import models

from fixtures.demo import write_large
from garage.records.importing import job_chunk
from garage.records.importing import odometer as odometer_file
from garage.records.importing.summary import summary_lines
from garage.records.models import AuditEntry, Fitment, Job, OdometerReading, Operation
from garage.records.services import fitments, odometer
from tests.records.factories import OrganisationFactory
from tests.records.importing.conftest import Importer

JOB_ROWS = 400
DAY = re.compile(r"\d{4}-\d{2}-\d{2}")
#: Texts that a way of writing may take for a sign of its own, each of them wrong only there.
ODD_TEXTS = ("\\N", "\\.", "back\\slash\\t", "tab\tin it", 'a "word"', "two\nlines", "naïve ﬁlter")
#: Which row another is, said by what it is called and not by its key.
CALLED = {
    OdometerReading: ("vehicle__ref", "job__ref"),
    Job: ("vehicle__ref",),
    Operation: ("job__ref",),
    Fitment: (
        "vehicle__ref",
        "fitted_at__ref",
        "removed_at__ref",
        "last_seen_same_at__ref",
        "cleaned_from__fitted_at__ref",
        "cleaned_from__start",
    ),
}
KEYS = {"id", "organisation_id", "vehicle_id", "job_id", "cleaned_from_id"} | {
    f"{name}_id" for name in ("fitted_at", "removed_at", "last_seen_same_at")
}
OWNER = {Job: "organisation", Operation: "job__organisation"}


def models_inserted(made: Sequence[models.Model]) -> None:
    if made:
        type(made[0])._default_manager.bulk_create(made)


def models_updated(made: Sequence[models.Model], names: Sequence[str]) -> None:
    if made:
        type(made[0])._default_manager.bulk_update(made, names)


def rows_inserted(
    model: type[models.Model], names: Sequence[str], rows: Sequence[tuple[Any, ...]]
) -> None:
    attributes = [model._meta.get_field(name).attname for name in names]
    models_inserted([model(**dict(zip(attributes, row, strict=True))) for row in rows])


def write_by_objects(monkeypatch: pytest.MonkeyPatch) -> None:
    for module in (job_chunk, odometer_file, fitments):
        monkeypatch.setattr(module, "rows_insert", rows_inserted)
    for service in (fitments, odometer):
        monkeypatch.setattr(service, "models_update", models_updated)


def history(folder: Path) -> dict[str, Path]:
    """Files of a large workshop; some rows fail, some come twice, some texts are odd."""
    files = write_large(folder, job_rows=JOB_ROWS)
    header, first, *lines = files.jobs.read_text("utf-8").splitlines()
    columns = header.split(",")
    odd = []
    for number, text in enumerate(ODD_TEXTS):
        said = {"job_ref": f"ODD{number}", "vehicle_ref": first.split(",")[1], "note": text}
        said |= {"opened_on": "2020-02-29", "operation": "repair", "system": "fuel"}
        said |= {"complaint": text, "labour_cost": "10.5", "currency": "EUR"}
        said |= {"repaired_elsewhere": "fuel air", "part_kind": "unknown part"}
        cells = (said.get(column, "").replace('"', '""') for column in columns)
        odd.append(",".join(f'"{cell}"' for cell in cells))
    wrong = [DAY.sub("2020-02-30", line, count=1) for line in lines[:3]]
    files.jobs.write_text(
        "\n".join([header, first, *odd, *lines, *lines[:9], *wrong]) + "\n", "utf-8"
    )
    return {"vehicles": files.vehicles, "odometer": files.odometer, "jobs": files.jobs}


def recorded(importer: Importer) -> dict[str, Any]:
    """All that an import leaves behind of one organisation, without keys."""
    left: dict[str, Any] = {}
    for model, called in CALLED.items():
        names = [f.attname for f in model._meta.concrete_fields if f.attname not in KEYS]
        owner = OWNER.get(model, "vehicle__organisation")
        rows = model._default_manager.filter(**{owner: importer.organisation}).order_by("pk")
        left[model.__name__] = list(rows.values_list(*called, *names))
    entries = AuditEntry.objects.filter(organisation=importer.organisation).order_by("pk")
    left["audit"] = list(entries.values_list("serial", "verb", "thing", "changes"))
    return left


@pytest.mark.django_db
def test_both_ways_leave_the_same(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    files = history(tmp_path / "files")
    # Engine families are everybody's: those of the files are known before.
    Importer(OrganisationFactory(code="before"), tmp_path)(vehicles=files["vehicles"])
    found = []
    for code in ("values", "objects"):
        importer = Importer(OrganisationFactory(code=code), tmp_path)
        if code == "objects":
            write_by_objects(monkeypatch)
        told = [summary_lines(importer(**files))[1:] for _ in range(2)]
        rejected = (tmp_path / "files").rglob("*.rejected.csv")
        found.append((told, sorted(path.read_bytes() for path in rejected), recorded(importer)))
    by_values, by_objects = found
    assert by_values == by_objects
    told, rejected, left = by_values
    assert "3 rejected" in "".join(told[0])
    assert len(rejected) == 1
    assert {len(left[name]) > 20 for name in ("Job", "Operation", "Fitment")} == {True}
    notes = {row[-1] for row in left["Operation"]}
    assert set(ODD_TEXTS) - notes == set()
    assert not any("new:" in line for line in told[1])
