"""Which column is which, from names and cells."""

from pathlib import Path

import pytest

from garage.records.importing.columns import FILE_KINDS
from garage.records.tabular.evidence import evidence_gather
from garage.records.tabular.header_match import header_match
from garage.records.tabular.propose import KindProposal, columns_propose, kinds_fed
from garage.records.tabular.reading import RawTable
from garage.records.tabular.values import values_propose
from garage.records.tabular.words import header_synonyms
from tests.records.tabular.tables import AS_OF, draft_of, evidence_of, table_of

JOBS = (
    "RO No.;Veh #;Date In;Mileage (km);Work done;Component;Parts net;Labor net;Curr;Remarks\n"
    "1001;V1;13.02.2024;84.512;R&R filter;DPF;1.234,56;80,00;EUR;none left\n"
    "1002;V2;28.02.2024;136.000;forced regen;DPF;0,00;60,00;EUR;\n"
)


def proposal(table: RawTable, kind: str) -> KindProposal:
    _, evidence = evidence_of(table)
    return next(each for each in columns_propose(evidence) if each.kind.name == kind)


def chosen(table: RawTable, kind: str) -> dict[str, tuple[str, ...]]:
    return {
        each.column.name: each.chosen.sources
        for each in proposal(table, kind).proposals
        if each.chosen
    }


def test_every_column_of_ours_has_names() -> None:
    ours = {column.name for kind in FILE_KINDS for column in kind.columns}
    assert set(header_synonyms()) == ours


@pytest.mark.parametrize(
    ("header", "column"),
    [
        ("VIN", "vin"),
        ("Chassis No.", "vin"),
        ("Reg. No", "registration"),
        ("Licence plate", "registration"),
        ("Odometr reading", "odometer"),
        ("Kilometerstand", "odometer"),
        ("Mileage (miles)", "odometer"),
        ("JobNumber", "job_ref"),
        ("Labor Cost", "labour_cost"),
        ("Labour cost", "labour_cost"),
        ("Fault Codes", "trouble_codes"),
        ("VAT", "tax_cost"),
        ("Part No.", "part_mark"),
        ("Diagnosis", "findings"),
        ("Währung", "currency"),
    ],
)
def test_header_is_known_by(header: str, column: str) -> None:
    found = header_match(header, column)
    assert found is not None
    assert found.score >= 0.7


@pytest.mark.parametrize(
    ("header", "column"),
    [
        ("Next service date", "opened_on"),
        ("Customer phone", "vehicle_ref"),
        ("Previous mileage", "odometer"),
        ("Vehicle make", "vehicle_ref"),
        ("Labour hours", "labour_cost"),
    ],
)
def test_header_near_to_ours_is_not_ours(header: str, column: str) -> None:
    found = header_match(header, column)
    assert found is None or found.score < 0.6


def test_job_lines_feed_jobs_and_vehicles(tmp_path: Path) -> None:
    table = table_of(tmp_path, JOBS)
    assert chosen(table, "jobs") == {
        "job_ref": ("RO No.",),
        "vehicle_ref": ("Veh #",),
        "opened_on": ("Date In",),
        "odometer": ("Mileage (km)",),
        "operation": ("Work done",),
        "part_kind": ("Component",),
        "parts_cost": ("Parts net",),
        "labour_cost": ("Labor net",),
        "currency": ("Curr",),
        "note": ("Remarks",),
    }
    _, evidence = evidence_of(table)
    fed = [each.kind.name for each in kinds_fed(columns_propose(evidence))]
    assert fed == ["vehicles", "jobs"]


SENTENCES = (
    "R&R DPF, reset ash counter, roadtest",
    "forced regen, codes cleared, advise turbo",
    "DPF cleaned",
    "renewed DPF pressure sensor",
    "regen done",
)
CODES = ("R&R filter", "DPF cleaned", "forced regen", "new sensor", "inspect")


@pytest.mark.parametrize(
    ("works", "column"), [(SENTENCES, "job_line"), (CODES, "operation"), (CODES * 30, "operation")]
)
def test_work_in_sentences_is_read_as_job_lines(
    tmp_path: Path, works: tuple[str, ...], column: str
) -> None:
    rows = "".join(f'{n},V1,2024-03-02,"{work}"\n' for n, work in enumerate(works))
    table = table_of(tmp_path, "Job no,Vehicle,Date,Work\n" + rows)
    found = chosen(table, "jobs")
    assert {name for name in ("operation", "job_line") if found.get(name) == ("Work",)} == {column}
    assert proposal(table, "jobs").lacking == ()


def test_work_of_many_different_texts_is_read_as_job_lines(tmp_path: Path) -> None:
    rows = "".join(f"{n},V1,2024-03-02,new sensor {n}\n" for n in range(101))
    table = table_of(tmp_path, "Job no,Vehicle,Date,Work\n" + rows)
    assert chosen(table, "jobs")["job_line"] == ("Work",)


@pytest.mark.parametrize(
    ("causes", "column"),
    [
        (("wear", "injector leak", "Thermostat"), "cause"),
        (("clamp left loose by the last shop", "found it full to the brim", "hose"), "cause_note"),
    ],
)
def test_causes_are_codes_or_words(tmp_path: Path, causes: tuple[str, ...], column: str) -> None:
    rows = "".join(
        f"{n},V1,2024-03-0{n},inspect,{cause}\n" for n, cause in enumerate(causes, start=1)
    )
    table = table_of(tmp_path, "Job no,Vehicle,Date,Work,Cause\n" + rows)
    found = {name for name in ("cause", "cause_note") if name in chosen(table, "jobs")}
    assert found == {column}


def test_unit_of_a_header_is_a_constant_with_reason(tmp_path: Path) -> None:
    unit = proposal(table_of(tmp_path, JOBS), "jobs").of("unit")
    assert unit.constant == "km"
    assert "name of the column" in unit.reason


def test_unit_of_a_bare_column_is_not_guessed(tmp_path: Path) -> None:
    table = table_of(tmp_path, JOBS.replace("Mileage (km)", "Mileage"))
    assert proposal(table, "jobs").of("unit").constant is None


def test_vins_are_known_without_a_name(tmp_path: Path) -> None:
    rows = "".join(f"V{n},ZZZAA{n:012},x\n" for n in range(10, 20))
    table = table_of(tmp_path, "Vehicle,Field 7,Colour\n" + rows)
    assert chosen(table, "vehicles")["vin"] == ("Field 7",)


def test_name_over_cells_that_do_not_fit_is_not_proposed(tmp_path: Path) -> None:
    rows = "".join(f"V{n},red,2024-01-0{n}\n" for n in range(1, 9))
    table = table_of(tmp_path, "Vehicle,Odometer,Date\n" + rows)
    assert "odometer" not in chosen(table, "odometer")
    listed = proposal(table, "odometer").of("odometer").candidates
    assert listed[0].sources == ("Odometer",)
    assert "0% of its cells are numbers" in listed[0].reasons


def test_growing_numbers_speak_for_an_odometer(tmp_path: Path) -> None:
    rows = "".join(f"V{n % 2},2024-01-{n:02},{1000 * n}\n" for n in range(1, 20))
    table = table_of(tmp_path, "Vehicle,Date,Mileage\n" + rows)
    (best, *_) = proposal(table, "odometer").of("odometer").candidates
    assert "they rise from row to row of one vehicle" in best.reasons[1]


def test_mark_names_the_vehicle_where_there_is_no_number(tmp_path: Path) -> None:
    rows = "".join(f"AB{n} CDE,2024-01-{n},{n}000 km\n" for n in range(10, 20))
    table = table_of(tmp_path, "Registration,Date,Mileage\n" + rows)
    found = proposal(table, "odometer").of("vehicle_ref")
    assert found.chosen is not None
    assert found.chosen.sources == ("Registration",)
    assert "names the vehicle" in found.reason


def test_visit_is_named_by_vehicle_and_day_where_jobs_have_no_number(tmp_path: Path) -> None:
    text = "Vehicle,Date,Work\nV1,2024-01-05,inspect\nV2,2024-01-06,replace\n"
    assert chosen(table_of(tmp_path, text), "jobs")["job_ref"] == ("Vehicle", "Date")


def test_months_are_no_days(tmp_path: Path) -> None:
    rows = "".join(f"V{n},2024-0{n},{n}000\n" for n in range(1, 9))
    table = table_of(tmp_path, "Vehicle,Month,Odometer miles\n" + rows)
    assert proposal(table, "odometer").lacking == ("read_on",)


@pytest.mark.parametrize(
    ("value", "column", "code"),
    [
        ("R&R filter", "operation", "replace"),
        ("R&R filter", "part_kind", "particulate_filter"),
        ("Forced Regen.", "operation", "regenerate_stationary"),
        ("cleared DTCs", "operation", "clear_codes"),
        ("DPF dp sensor renewed", "part_kind", "pressure_sensor"),
        ("genuine", "part_origin", "new_original"),
        ("reman", "part_origin", "reconditioned"),
        ("Taxi", "duty", "taxi"),
        ("Replacd", "operation", "replace"),
    ],
)
def test_value_is_proposed_to_mean(tmp_path: Path, value: str, column: str, code: str) -> None:
    table = table_of(tmp_path, f"Job no,Work\n1,{value}\n2,{value}\n")
    _, evidence = evidence_of(table)
    source = evidence.column("Work")
    assert source is not None
    (found,) = values_propose(source, [column])
    assert (found.value, found.count) == (value, 2)
    assert found.matches[column].code == code


def test_unknown_value_is_proposed_to_mean_nothing(tmp_path: Path) -> None:
    table = table_of(tmp_path, "Job no,Work\n1,wash\n")
    _, evidence = evidence_of(table)
    source = evidence.column("Work")
    assert source is not None
    assert values_propose(source, ["operation"])[0].matches == {}


def test_evidence_counts_do_not_depend_on_chunks(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    table = table_of(tmp_path, JOBS)
    layout, whole = evidence_of(table)
    monkeypatch.setattr("garage.records.tabular.evidence.CHUNK_ROWS", 1)
    parts = evidence_gather(table.sheets[0], layout, as_of=AS_OF)
    assert parts.columns == whole.columns


def test_draft_holds_what_was_proposed(tmp_path: Path) -> None:
    draft = draft_of(table_of(tmp_path, JOBS))
    assert [kind.kind for kind in draft.kinds] == ["vehicles", "jobs"]
    assert draft.dialect is not None
    assert draft.dialect.delimiter == ";"
