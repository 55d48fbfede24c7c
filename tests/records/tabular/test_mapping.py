"""A mapping is kept, checked when it comes back, and compared with a new file."""

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from garage.records.tabular.errors import MappingInvalid
from garage.records.tabular.fits import mapping_fits, mapping_renamed
from garage.records.tabular.landing import rows_mapped
from garage.records.tabular.mapping import Mapping, mapping_json, mapping_load
from garage.records.tabular.settle import Rule, Setting
from tests.records.tabular.tables import AS_OF, draft_of, table_of

TEXT = "Job no;Vehicle;Date;Mileage (km);Work;Site\n1;V1;13.02.2024;5;inspect;North\n"
VALUES = {"Work": {"look": {"operation": "inspect"}}}
RULES = (Rule("Date", Setting.DATE_ORDER, "day_first", "Site", "North"),)


@pytest.fixture
def mapping(tmp_path: Path) -> Mapping:
    return draft_of(table_of(tmp_path, TEXT), values=VALUES, rules=RULES)


@pytest.fixture
def stored(mapping: Mapping) -> dict[str, Any]:
    loaded: dict[str, Any] = json.loads(mapping_json(mapping))
    return loaded


def faults(stored: dict[str, Any]) -> tuple[str, ...]:
    with pytest.raises(MappingInvalid) as told:
        mapping_load(json.dumps(stored))
    return told.value.faults


def jobs(stored: dict[str, Any]) -> list[dict[str, Any]]:
    columns: list[dict[str, Any]] = next(
        kind["columns"] for kind in stored["kinds"] if kind["kind"] == "jobs"
    )
    return columns


def test_mapping_kept_as_json_comes_back_equal(mapping: Mapping) -> None:
    assert mapping_load(mapping_json(mapping)) == mapping


def test_all_faults_come_at_once(stored: dict[str, Any]) -> None:
    stored["kinds"].append({"kind": "ships", "columns": []})
    jobs(stored)[0]["sources"] = ["Nowhere"]
    stored["rules"][0]["value"] = "week_first"
    stored["values"]["Work"]["look"]["operation"] = "stare"
    assert len(faults(stored)) == 4


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (lambda m: m.update(version=99), "has version 1; got 99"),
        (lambda m: m.update(headers="x"), "headers is missing or of another form"),
        (lambda m: m.update(kinds=[]), "fills one kind of file at least"),
        (lambda m: m["headers"].append("Date"), "named once; got 'Date' 2 times"),
        (lambda m: m["kinds"].append(m["kinds"][0]), "a kind is filled once"),
        (lambda m: jobs(m).append({"column": "wheel", "constant": "x"}), "no column 'wheel'"),
        (lambda m: jobs(m).append(jobs(m)[0]), "jobs.job_ref is filled once"),
        (lambda m: jobs(m).pop(0), "a jobs file needs job_ref"),
        (lambda m: jobs(m)[0].update(constant="x"), "not by both or none"),
        (lambda m: jobs(m)[0].update(sources=[]), "not by both or none"),
        (lambda m: jobs(m)[2].update(sources=["Date", "Work"]), "only text is joined"),
        (lambda m: jobs(m)[2].update(sources=[], constant="soon"), "as a constant: dates"),
        (lambda m: m["dialect"].update(delimiter="x"), "cells are separated by"),
        (lambda m: m["rules"][0].update(setting="colour"), "a rule sets one of"),
        (lambda m: m["rules"][0].update(source="Nowhere"), "a rule is about a column"),
        (lambda m: m["rules"][0].update(when_equals=None), "names a column and its value"),
        (lambda m: m["values"].update({"Nowhere": {}}), "values are those of a column"),
        (lambda m: m["values"]["Work"].update(x={"note": "y"}), "a value means codes of"),
        (lambda m: m["kinds"].append("jobs"), "has another form"),
    ],
)
def test_fault_of_a_mapping_is_told(stored: dict[str, Any], change: Any, told: str) -> None:
    mapping_load(json.dumps(stored))
    change(stored)
    (fault,) = faults(stored)
    assert told in fault


@pytest.mark.parametrize("text", ["", "[]", "{}", "null"])
def test_text_that_is_no_mapping_is_told(text: str) -> None:
    with pytest.raises(MappingInvalid, match="Make "):
        mapping_load(text)


def test_same_columns_fit(tmp_path: Path, mapping: Mapping) -> None:
    fit = mapping_fits(mapping, table_of(tmp_path, TEXT))
    assert (fit.fits, fit.moved, fit.missing, fit.added, fit.remarks) == (True, (), (), (), ())


def test_moved_columns_fit_and_land_the_same(tmp_path: Path, mapping: Mapping) -> None:
    before = [row.values for row in rows_mapped(mapping, table_of(tmp_path, TEXT), as_of=AS_OF)]
    moved = "Extra;Vehicle;Job no;Date;Mileage (km);Work;Site\nx;V1;1;13.02.2024;5;inspect;North\n"
    table = table_of(tmp_path, moved)
    fit = mapping_fits(mapping, table)
    assert fit.fits
    assert fit.added == ("Extra",)
    assert ("Job no", 1, 3) in [(each.header, each.was, each.now) for each in fit.moved]
    assert [row.values for row in rows_mapped(mapping, table, as_of=AS_OF)] == before


def test_renamed_column_is_offered_and_lands_once_confirmed(
    tmp_path: Path, mapping: Mapping
) -> None:
    table = table_of(tmp_path, TEXT.replace("Job no", "Job number").replace("Date", "Date in"))
    fit = mapping_fits(mapping, table)
    assert not fit.fits
    assert {each.was: each.now for each in fit.renamed} == {
        "Job no": "Job number",
        "Date": "Date in",
    }
    assert fit.layout is not None
    confirmed = mapping_renamed(mapping, {each.was: each.now for each in fit.renamed}, fit.layout)
    assert mapping_fits(confirmed, table).fits
    assert all(row.lands for row in rows_mapped(confirmed, table, as_of=AS_OF))


def test_lost_column_is_named(tmp_path: Path, mapping: Mapping) -> None:
    fit = mapping_fits(mapping, table_of(tmp_path, "Job no;Vehicle;Date;Work\n1;V1;1.2.24;look\n"))
    assert not fit.fits
    assert fit.missing == ("Mileage (km)", "Site")


def test_other_dialect_is_remarked_and_fits(tmp_path: Path, mapping: Mapping) -> None:
    fit = mapping_fits(mapping, table_of(tmp_path, TEXT.replace(";", "\t")))
    assert fit.fits
    assert any("tabs" in remark for remark in fit.remarks)


def test_lost_sheet_is_named(tmp_path: Path, mapping: Mapping) -> None:
    table = table_of(tmp_path, TEXT)
    two = replace(table, sheets=(table.sheets[0],) * 2)
    fit = mapping_fits(replace(mapping, sheet="March"), two)
    assert fit.layout is None
    assert "no sheet 'March'" in fit.remarks[0]
