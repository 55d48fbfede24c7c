"""Any dialect and encoding, and spreadsheets with their types."""

from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl.utils.datetime import CALENDAR_MAC_1904

from garage.records.tabular.dialect import DELIMITERS, Dialect
from garage.records.tabular.encoding import encoding_find
from garage.records.tabular.errors import TableUnreadable
from garage.records.tabular.reading import table_read, text_of
from tests.records.tabular.tables import cells_of, table_of, workbook_of


@pytest.mark.parametrize("delimiter", DELIMITERS)
@pytest.mark.parametrize("quote", ['"', "'", ""])
def test_dialect_is_found(tmp_path: Path, delimiter: str, quote: str) -> None:
    rows = [["Job no", "Date", "Work"], ["1", "2024-03-01", "filter"], ["2", "2024-03-02", "hose"]]
    lines = (delimiter.join(f"{quote}{cell}{quote}" for cell in row) for row in rows)
    table = table_of(tmp_path, "\r\n".join(lines) + "\r\n")
    assert table.dialect is not None
    assert table.dialect.delimiter == delimiter
    assert cells_of(table) == rows


def test_semicolons_win_over_decimal_commas(tmp_path: Path) -> None:
    table = table_of(tmp_path, "a;b;c\n1,5;2,5;3,5\n1,5;2,5;3,5\n1,0;2,5;4,5\n")
    assert cells_of(table)[1] == ["1,5", "2,5", "3,5"]


def test_commas_win_over_semicolons_in_text(tmp_path: Path) -> None:
    table = table_of(tmp_path, "job,work\n1,check; clear\n2,check\n3,renew; test; drive\n")
    assert cells_of(table)[3] == ["3", "renew; test; drive"]


def test_quotes_escaped_two_ways_in_one_field(tmp_path: Path) -> None:
    text = 'job,work,cost\n1,"renew \\"O\\" ring, ""rear"" one",5\n2,test,0\n3,"a, \\"b\\"",1\n'
    table = table_of(tmp_path, text)
    assert table.dialect == Dialect(",", '"', True)
    assert cells_of(table)[1] == ["1", 'renew "O" ring, "rear" one', "5"]
    assert cells_of(table)[3] == ["3", 'a, "b"', "1"]


def test_backslash_before_doubled_quote_is_text(tmp_path: Path) -> None:
    text = 'job,work,cost\n1,"lube \\A\\"" line ""low""",5\n2,test,0\n3,x,0\n'
    assert cells_of(table_of(tmp_path, text))[1] == ["1", 'lube \\A\\" line "low"', "5"]


def test_apostrophe_in_text_is_no_quote(tmp_path: Path) -> None:
    text = "job,work\n1,won't start\n2,driver's window\n3,'73 model\n"
    table = table_of(tmp_path, text)
    assert cells_of(table)[1:] == [
        ["1", "won't start"],
        ["2", "driver's window"],
        ["3", "'73 model"],
    ]


def test_line_end_in_a_quoted_cell_keeps_the_line_numbers(tmp_path: Path) -> None:
    table = table_of(tmp_path, 'job,note\n1,"two\nlines"\n2,one\n')
    assert [row.number for row in table.sheets[0].rows()] == [1, 2, 4]


def test_stated_separator_line_is_obeyed(tmp_path: Path) -> None:
    table = table_of(tmp_path, "sep=;\njob;work\n1;a,b\n2;c,d\n")
    assert cells_of(table) == [["job", "work"], ["1", "a,b"], ["2", "c,d"]]


GERMAN = "Auftrag;Straße;Größe\n1;Müllerweg;groß\n2;Am Hügel;klein\n" * 3
FRENCH = "véhicule;état;frais\n1;dégradé à côté;élevés\n2;forêt;où ça\n" * 3
CZECH = "vozidlo;jméno;stav\n1;Žluťoučký kůň;převodovka\n2;řidič;špatný čas\n" * 3
RUSSIAN = "машина;дата;работа\n1;март;замена фильтра сажевого\n2;май;проверка датчика\n" * 3


@pytest.mark.parametrize(
    ("encoding", "text"),
    [
        ("utf-8", GERMAN),
        ("utf-8-sig", FRENCH),
        ("utf-16", CZECH),
        ("utf-16-le", RUSSIAN.replace("1", "11111111111111111111")),
        ("utf-16-be", GERMAN),
        ("cp1252", GERMAN),
        ("latin-1", FRENCH),
        ("cp1250", CZECH),
        ("iso8859-2", "vozidlo;jméno\n1;řidič Novák\n2;přední světlo\n" * 3),
        ("cp1251", RUSSIAN),
    ],
)
def test_encoding_is_found(tmp_path: Path, encoding: str, text: str) -> None:
    table = table_of(tmp_path, text, encoding=encoding)
    first, second = text.split("\n")[:2]
    assert cells_of(table)[:2] == [first.split(";"), second.split(";")]


def test_letters_late_in_a_long_file_still_decide(tmp_path: Path) -> None:
    text = "job;work\n" + "1;plain\n" * 400_000 + "2;Müller größer\n"
    path = tmp_path / "t.csv"
    path.write_bytes(text.encode("cp1252"))
    assert encoding_find(path).name == "cp1252"


def test_other_code_pages_are_named(tmp_path: Path) -> None:
    table = table_of(tmp_path, FRENCH, encoding="cp1252")
    assert table.encoding is not None
    assert "cp1251" in table.encoding.others


def test_chosen_encoding_takes_the_place_of_the_found(tmp_path: Path) -> None:
    table = table_of(tmp_path, GERMAN, encoding="cp1252")
    assert table.encoding is not None
    chosen = type(table.encoding)("cp1251", "a person said so")
    assert cells_of(table_read(table.path, encoding=chosen))[0] != cells_of(table)[0]


def test_workbook_keeps_types_and_row_numbers(tmp_path: Path) -> None:
    day = date(2024, 3, 1)
    table = workbook_of(tmp_path, [[], ["Job", "Date", "km"], ["1", day, 84512.5], [], [2, day, 3]])
    rows = [row for row in table.sheets[0].rows() if any(row.cells)]
    assert [row.number for row in rows] == [2, 3, 5]
    assert rows[1].cells == ["1", date(2024, 3, 1), 84512.5]
    assert text_of(rows[2].cells[0]) == "2"


@pytest.mark.parametrize("epoch", [None, CALENDAR_MAC_1904])
def test_workbook_dates_hold_in_both_epochs(tmp_path: Path, epoch: object) -> None:
    table = workbook_of(tmp_path, [["Date"], [date(2024, 3, 1)]], epoch=epoch)
    assert cells_of(table)[1] == [date(2024, 3, 1)]


@pytest.mark.parametrize("start", [b"PK\x03\x04 no archive", b"\xd0\xcf\x11\xe0 old form"])
def test_file_that_is_no_table_says_what_to_do(tmp_path: Path, start: bytes) -> None:
    path = tmp_path / "t.xlsx"
    path.write_bytes(start + b"\0" * 100)
    with pytest.raises(TableUnreadable, match="Save it"):
        table_read(path)


def test_missing_file_is_told(tmp_path: Path) -> None:
    with pytest.raises(TableUnreadable, match="must be readable"):
        table_read(tmp_path / "none.csv")


def test_empty_file_has_no_rows(tmp_path: Path) -> None:
    assert cells_of(table_of(tmp_path, "")) == []


def test_quote_never_closed_is_told(tmp_path: Path) -> None:
    table = table_of(tmp_path, "a,b\n" + "1,2\n" * 400 + '1,"' + "x,y\n" * 60_000)
    dialect = Dialect(",", '"')
    with pytest.raises(TableUnreadable, match="never closed"):
        cells_of(table_read(table.path, dialect=dialect))


WORD = st.text(st.characters(codec="utf-8", exclude_categories=["C", "Z"]), min_size=1, max_size=8)


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    rows=st.lists(st.lists(WORD, min_size=3, max_size=3), min_size=3, max_size=6),
    delimiter=st.sampled_from(DELIMITERS),
    encoding=st.sampled_from(["utf-8", "utf-8-sig", "utf-16"]),
)
def test_table_written_in_a_dialect_is_read_back(
    tmp_path: Path, rows: list[list[str]], delimiter: str, encoding: str
) -> None:
    def quoted(cell: str) -> str:
        return '"' + cell.replace('"', '""') + '"'

    text = "".join(delimiter.join(map(quoted, row)) + "\n" for row in rows)
    path = tmp_path / "t.csv"
    path.write_bytes(text.encode(encoding))
    dialect = Dialect(delimiter)
    assert cells_of(table_read(path, dialect=dialect)) == rows
