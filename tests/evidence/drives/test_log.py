"""Tables of a drive: heads, delimiters, numbers, times, and what cannot be read."""

import pytest

from garage.evidence.drives import log
from garage.evidence.drives.columns import Convert, Quantity, head_read, unit_known
from garage.evidence.drives.log import drive_read

PLAIN = "time_s,distance_km,soot_g,inlet_c\n0,10.0,18.25,600\n60,11.0,17.5,610\n"


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_drive_is_the_same_with_each_delimiter(delimiter: str) -> None:
    """Fails if a delimiter is not known from the head."""
    assert drive_read(PLAIN.replace(",", delimiter)) == drive_read(PLAIN)
    assert drive_read(PLAIN).soot_g == (18.25, 17.5)


def test_decimal_comma_is_read_as_a_point() -> None:
    """Fails if the comma is dropped or parts a cell."""
    assert drive_read(PLAIN.replace(",", ";").replace(".", ",")) == drive_read(PLAIN)


def test_decimal_comma_that_parts_a_cell_is_a_fault_with_its_line() -> None:
    """Fails if 10,0 is taken for 10 km and 0 g."""
    drive = drive_read("distance_km,soot_g\n10,18\n11,5,17\n")
    assert [(fault.line, fault.column) for fault in drive.faults] == [(3, None)]
    assert drive.row_count == 1


def test_two_decimal_signs_in_one_table_are_a_fault() -> None:
    """Fails if 1,234 among points is read as 1.234."""
    drive = drive_read("distance_km;soot_g\n10.5;18\n1,234;17\n")
    assert drive.distance_km == (10.5, None)
    assert [(fault.line, fault.column) for fault in drive.faults] == [(3, "distance_km")]


@pytest.mark.parametrize(
    ("head", "key"),
    [
        ("time_s", "time_s"),
        ("Distance (km)", "distance_km"),
        ("odometer_km", "distance_km"),
        ("SOOT [g]", "soot_g"),
        ("inlet temperature (°C)", "inlet_c"),
        ("inlet_temperature_c", "inlet_c"),
        ("pressure across the filter [mbar]", "pressure_mbar"),
        ("speed_rpm", "speed_rpm"),
        ("exhaust_flow_kg_h", "exhaust_flow_kg_h"),
    ],
)
def test_head_names_its_quantity(head: str, key: str) -> None:
    """Fails if a spelling of the form is not known."""
    read = head_read(head)
    assert read is not None
    assert (read.quantity.key, read.convert is None) == (key, False)


@pytest.mark.parametrize("head", ["distance_since_burn_km", "soot limit (g)", "colour", ""])
def test_head_of_something_else_is_passed_over(head: str) -> None:
    """Fails if a head that begins alike is taken."""
    assert head_read(head) is None


@pytest.mark.parametrize(
    ("head", "typed", "mbar"),
    [
        ("pressure [kPa]", "2", 20.0),
        ("pressure [psi]", "1", 68.94757),
        ("pressure [Pa]", "50", 0.5),
    ],
)
def test_pressure_is_kept_in_mbar(head: str, typed: str, mbar: float) -> None:
    """A psi is 6894.757 Pa: NIST SP 811, appendix B.8."""
    assert drive_read(f"time_s,{head}\n0,{typed}\n").pressure_mbar == (pytest.approx(mbar),)


@pytest.mark.parametrize("head", ["pressure", "pressure [stone]"])
def test_pressure_without_a_known_unit_is_not_read_and_told(head: str) -> None:
    """Fails if a unit is guessed."""
    drive = drive_read(f"time_s,{head}\n0,2\n")
    assert drive.pressure_mbar is None
    assert any("pressure" in remark for remark in drive.remarks)


def test_distance_without_a_unit_is_taken_in_km_and_told() -> None:
    """Fails if the assumption is silent."""
    drive = drive_read("distance,soot_g\n10,18\n")
    assert (drive.distance_km, drive.remarks) == ((10.0,), ("`distance` is taken in km",))


def test_miles_become_kilometres() -> None:
    """A mile is 1.609344 km, exactly: NIST SP 811, appendix B.8."""
    assert drive_read("distance (mi)\n10\n").distance_km == (pytest.approx(16.09344),)


def test_units_of_the_caller_are_used() -> None:
    """Fails if the conversion handed in is not asked."""

    def tens(quantity: Quantity, unit: str) -> Convert | None:
        return (lambda f: f * 10) if unit == "tens" else unit_known(quantity, unit)

    drive = drive_read("time_s,inlet (tens)\n0,10\n", tens)
    assert drive.inlet_c == (pytest.approx(100.0),)
    assert drive_read("time_s,inlet (tens)\n0,10\n").inlet_c is None


@pytest.mark.parametrize(
    "times",
    [
        ("5", "65.5"),
        ("08:00:00", "08:01:00.5"),
        ("23:59:30", "00:00:30.5"),
        ("2026-03-01T08:00:00", "2026-03-01 08:01:00.500"),
        ("2026-03-01T08:00:00Z", "2026-03-01T09:01:00.5+01:00"),
    ],
)
def test_time_counts_from_the_first_row(times: tuple[str, str]) -> None:
    """Fails if a form, midnight or a zone is misread."""
    first, second = times
    assert drive_read(f"time\n{first}\n{second}\n").time_s == (0.0, 60.5)


@pytest.mark.parametrize("second", ["9", "08:00:00", "noon", ""])
def test_row_with_a_wrong_time_is_left_out_and_told(second: str) -> None:
    """Fails if time goes back, changes its form, or a row is lost silently."""
    drive = drive_read(f"time_s;soot_g\n10;18\n{second};17\n11;16\n")
    assert drive.soot_g == (18.0, 16.0)
    assert [(fault.line, fault.column) for fault in drive.faults] == [(3, "time_s")]


def test_row_of_the_same_time_is_taken() -> None:
    """Fails if "does not go back" became "goes on"."""
    assert drive_read("time_s;soot_g\n10;18\n10;17\n").soot_g == (18.0, 17.0)


def test_row_whose_distance_goes_back_is_left_out_and_told() -> None:
    """Fails if a trip counter set to zero passes for driving."""
    drive = drive_read("distance_km;soot_g\n10;18\n0;17\n11;16\n")
    assert drive.soot_g == (18.0, 16.0)
    assert [(fault.line, fault.column) for fault in drive.faults] == [(3, "distance_km")]


def test_temperature_that_no_exhaust_has_is_a_fault() -> None:
    """6513.5 °C is what the standard item gives for all bits set; it must not prove a burn."""
    drive = drive_read("time_s;inlet_c\n0;6513.5\n1;600\n")
    assert drive.inlet_c == (None, 600.0)
    assert drive.faults[0].column == "inlet_c"


def test_empty_cell_is_not_read_and_no_fault() -> None:
    """Fails if an empty cell becomes 0."""
    drive = drive_read("time_s;soot_g\n0;\n1;17\n")
    assert (drive.soot_g, drive.faults) == ((None, 17.0), ())
    assert drive.together("time_s", "soot_g").tolist() == [[1.0], [17.0]]


def test_column_not_in_the_table_is_none_and_asking_for_it_is_refused() -> None:
    """Fails if a missing column becomes an empty one."""
    drive = drive_read("time_s\n0\n")
    assert drive.soot_g is None
    with pytest.raises(ValueError, match="lacks soot_g"):
        drive.together("time_s", "soot_g")


def test_second_column_of_a_quantity_is_told() -> None:
    """Fails if the later one overwrites the first."""
    drive = drive_read("time_s;soot_g;soot (g)\n0;18;3\n")
    assert drive.soot_g == (18.0,)
    assert any("already" in remark for remark in drive.remarks)


@pytest.mark.parametrize("text", ["", "colour;place\n1;2\n", "soot_g\n18\n"])
def test_table_without_time_and_distance_is_refused(text: str) -> None:
    """Fails if a table that cannot be placed passes."""
    with pytest.raises(ValueError, match="time or distance"):
        drive_read(text)


def test_quotation_mark_never_closed_is_refused_with_its_line() -> None:
    """Fails if the rest of the table is swallowed."""
    with pytest.raises(ValueError, match="from line 3"):
        drive_read('time_s;soot_g\n0;18\n1;"17\n2;16\n')


def test_table_with_more_rows_than_the_most_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """Fails if the limit is off by one."""
    monkeypatch.setattr(log, "ROWS_MOST", 2)
    assert drive_read("time_s\n0\n1\n").row_count == 2
    with pytest.raises(ValueError, match="at most 2 rows"):
        drive_read("time_s\n0\n1\n2\n")


def test_temperature_is_kept_in_celsius() -> None:
    """Fails if the offset of a scale is lost: water boils at 212 °F."""
    assert drive_read("time_s,inlet (°F)\n0,212\n").inlet_c == (pytest.approx(100.0),)


@pytest.mark.parametrize("text", ["time_s,soot_g,{}\n0,1,2\n", "time_s,soot_g\n0,{}\n"])
def test_cell_longer_than_any_is_refused_in_words(text: str) -> None:
    """Fails if the reader's own error comes through, which is none of a value."""
    with pytest.raises(ValueError, match="a cell is short; got from line"):
        drive_read(text.format("x" * 140_000))
