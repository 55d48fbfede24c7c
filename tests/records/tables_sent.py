"""A messy table that somebody sends in, and the mapping that a person confirms of it."""

import io
from dataclasses import replace
from datetime import UTC, datetime

from garage.records.models import Organisation, TableUpload
from garage.records.services.table_uploads import NewTable, table_upload, upload_mapping
from garage.records.tabular.mapping import ColumnUse, KindUse, Mapping
from garage.records.tabular.settle import Rule, Setting

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
TODAY = AT.date()
MESSY = """Vehicle;Date;Mileage (km);Work
V1;13.02.2024;84.512;R&R filter
V2;14.02.2024;91.003;R&R filter
V1;20.08.2024;99.870;oil and filter
"""
COMMA = Rule("Mileage (km)", Setting.DECIMAL_SIGN, "comma")
WORK = {
    "R&R filter": {"operation": "replace", "part_kind": "particulate_filter"},
    "oil and filter": {"operation": "other"},
}


def new_table(text: str = MESSY, **changed) -> NewTable:
    content = text.encode()
    said = {"source_name": "till", "file_name": "out.csv", "size_bytes": len(content)}
    return NewTable(content=io.BytesIO(content), **said | changed)


def sent(organisation: Organisation, new: NewTable | None = None) -> TableUpload:
    return table_upload(organisation=organisation, new=new or new_table(), as_of=TODAY, at=AT)


def confirmed(upload: TableUpload) -> Mapping:
    """What a person says: jobs of exhaust aftertreatment, commas, and what the words mean."""
    mapping = upload_mapping(upload)
    (jobs,) = [each for each in mapping.kinds if each.kind == "jobs"]
    uses = [each for each in jobs.columns if each.column not in ("system", "operation", "note")]
    uses += [ColumnUse("system", (), "exhaust_aftertreatment"), ColumnUse("operation", ("Work",))]
    vehicles = KindUse("vehicles", (ColumnUse("vehicle_ref", ("Vehicle",)),))
    return replace(
        mapping,
        kinds=(vehicles, KindUse("jobs", tuple(uses))),
        values={"Work": WORK},
        rules=(COMMA,),
    )
