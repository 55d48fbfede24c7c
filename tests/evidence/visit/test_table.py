"""A table of one visit: what it holds, and each line that goes into nothing, with why."""

from typing import Any

import pytest

from garage.evidence.visit.said_by_table import TableVisit, table_visit
from garage.evidence.visit.table import ROWS_MOST, visit_table_read
from garage.evidence.visit.weighing import visit_weigh

READING = "quantity,value,unit,condition,phase,speed_rpm,layout,finding,state\n"


def visit(*rows: str, phase: str = "arrival", codes: tuple[str, ...] = ()) -> TableVisit:
    return table_visit(visit_table_read(READING + "\n".join(rows)), phase=phase, codes=codes)


def unused(*rows: str, **more: Any) -> list[tuple[int, str]]:
    return [(each.line, each.reason) for each in visit(*rows, **more).unused]


def test_reading_is_taken_in_its_standard_unit() -> None:
    (reading,) = visit("pressure_across_filter,0.9,kPa,raised,,2700,two_hose,,").said.readings
    assert reading.standard_value == pytest.approx(9.0)
    assert (reading.condition, reading.layout, reading.speed_rpm) == ("raised", "two_hose", 2700)
    assert reading.typed == "0.9 kPa (line 2)"


def test_speed_as_high_as_the_records_keep_is_taken() -> None:
    (reading,) = visit("soot_mass,31,g,idle,,10000,,,").said.readings
    assert reading.speed_rpm == 10_000


@pytest.mark.parametrize("sign", [";", "\t"])
def test_other_signs_and_decimal_commas_are_read(sign: str) -> None:
    text = f"\ufeffValue{sign}QUANTITY{sign}unit\n4,8{sign}soot_mass{sign}g\n"
    (reading,) = visit_table_read(text).readings
    assert reading.said.standard_value == pytest.approx(4.8)


def test_findings_and_codes_are_taken() -> None:
    said = visit(",,,,,,,tailpipe,black", codes=("P2463, P244B pend.", "P2463 zzz")).said
    assert said.findings == {"tailpipe": "black"}
    assert [each.code for each in said.codes] == ["P2463", "P244B"]
    assert [each.what for each in said.unread] == ["zzz"]


def test_codes_without_any_are_not_told_as_none() -> None:
    assert visit(",,,,,,,tailpipe,black").said.codes == ()


@pytest.mark.parametrize(
    ("row", "reason"),
    [
        ("soot_mass,much,g,,,,,,", "plain number"),
        ('soot_mass,"1,800",g,,,,,,', "thousands"),
        ("soot_mass,655.35,g,,,,,,", "lies from"),
        ("soot_mas,31,g,,,,,,", "a reading is of one of"),
        ("soot_mass,31,mbar,,,,,,", "unit of mass"),
        ("soot_mass,31,g,cruise,,,,,", "condition is one of"),
        ("soot_mass,31,g,,later,,,,", "phase is one of"),
        ("soot_mass,31,g,,,,three_hose,,", "layout is one of"),
        ("soot_mass,31,g,idle,,8e2,,,", "speed_rpm is a whole number"),
        ("soot_mass,31,g,idle,,-8,,,", "speed_rpm is a whole number"),
        ("soot_mass,31,g,idle,,10001,,,", "speed_rpm is a whole number from 0 to 10000"),
        ("soot_mass,31,g,engine_off,,800,,,", "does not turn"),
        ("soot_mass,31,g,,,,,tailpipe,black", "a quantity and a finding"),
        (",31,g,,,,,,", "no quantity or finding"),
        (",,,,,,,mood,good", "finding is one of"),
        (",,,,,,,tailpipe,purple", "has the states"),
        (",,,,,,,tailpipe,", "has the states"),
        ("soot_mass,31,g,,,,,,,,", "11 cells"),
    ],
)
def test_line_that_cannot_be_is_told_and_the_next_is_taken(row: str, reason: str) -> None:
    read = visit(row, "filter_volume,3,L,,,,,,")
    assert [each.line for each in read.unused] == [2]
    assert reason in read.unused[0].reason
    assert [each.quantity for each in read.said.readings] == ["filter_volume"]


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("", "first row names"),
        ("soot_mass,31,g\n", "first row names"),
        ("quantity,unit\nsoot_mass,g\n", "first row names"),
        ("quantity,value,value\nsoot_mass,3,4\n", "twice"),
        ('quantity,value\n"soot_mass,31\n', "quotation"),
    ],
)
def test_table_that_cannot_be_read_is_refused(text: str, fault: str) -> None:
    with pytest.raises(ValueError, match=fault):
        visit_table_read(text)


def test_table_is_read_up_to_its_most_rows() -> None:
    head, row = "quantity,value,unit\n", "soot_mass,31,g\n"
    assert len(visit_table_read(head + row * ROWS_MOST).readings) == ROWS_MOST
    with pytest.raises(ValueError, match="at most"):
        visit_table_read(head + row * (ROWS_MOST + 1))


def test_unknown_column_is_told() -> None:
    table = visit_table_read("quantity,value,unit,colour\nsoot_mass,31,g,black\n")
    assert [(each.line, each.what) for each in table.unused] == [(1, "column colour")]
    assert len(table.readings) == 1


def test_blank_lines_keep_the_numbers_of_the_others() -> None:
    assert unused("", ",,,,,,,,", "soot_mass,much,g,,,,,,")[0][0] == 4


def test_later_reading_of_the_same_thing_holds_and_the_earlier_is_told() -> None:
    first, second = "soot_mass,31,g,,,,,,", "soot_mass,12,g,,,,,,"
    assert unused(first) == []
    assert unused(first, second) == [(2, "line 3 reads the same thing again, and holds")]


def test_other_condition_is_another_thing() -> None:
    rows = [
        f"pressure_across_filter,{value},mbar,{condition},,,,,"
        for value, condition in (("0.5", "engine_off"), ("6", "idle"), ("20", "raised"))
    ]
    assert unused(*rows) == []


def test_reading_that_is_not_weighed_is_told_unless_it_is_held_against_others() -> None:
    speed = "engine_speed,800,rpm,idle,,,,,"
    assert unused(speed) == [(2, "engine speed is not weighed here")]
    at_odds = visit(speed, "air_flow,0,g/s,idle,,,,,")
    assert at_odds.unused == ()
    assert len(at_odds.said.at_odds) == 1


def test_other_phase_is_told_but_sizes_hold_whenever_they_were_read() -> None:
    rows = ("filter_volume,3,L,,after_work,,,,", "soot_mass,31,g,,after_work,,,,")
    told = visit(*rows)
    assert [(each.line, each.reason) for each in told.unused] == [
        (3, "of another phase; --phase after_work weighs it")
    ]
    assert [each.quantity for each in told.said.lasting] == ["filter_volume", "soot_mass"]
    assert unused(*rows, phase="after_work") == []


def test_finding_said_anew_holds_and_the_earlier_is_told() -> None:
    rows = (",,,,,,,tailpipe,black", ",,,,,,,tailpipe,clean")
    assert visit(*rows).said.findings == {"tailpipe": "clean"}
    assert unused(*rows) == [(2, "line 3 says it anew, and holds")]


def test_reading_without_a_unit_is_told_once_by_the_weighing() -> None:
    read = visit("pressure_across_filter,7,,engine_off,,,,,")
    assert read.unused == ()
    (told,) = visit_weigh(read.said).unused
    assert (told.what, "no unit" in told.reason) == ("pressure across filter 7 (line 2)", True)
