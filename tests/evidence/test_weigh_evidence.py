"""The command that weighs a table: what it prints, and how it ends."""

from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

HEAD = "quantity,value,unit,condition,finding,state\n"
ZERO = "pressure_across_filter,7,mbar,engine_off,,\n"


def run(tmp_path: Path, rows: str, *more: str) -> tuple[str, int]:
    """What is printed, blanks run together, and the exit code."""
    file, out = tmp_path / "visit.csv", StringIO()
    file.write_text(HEAD + rows, encoding="utf-8")
    code: int | str | None = 0
    try:
        call_command("weigh_evidence", str(file), *more, stdout=out)
    except SystemExit as end:
        code = end.code
    assert isinstance(code, int)
    return " ".join(out.getvalue().split()), code


def test_three_lists_next_checks_and_gates_are_printed(tmp_path: Path) -> None:
    told, code = run(tmp_path, ZERO)
    assert code == 0
    for words in (
        "The sensing: cannot be told yet",
        "The filter: cannot be told yet",
        "Upstream of the filter: cannot be told yet",
        "What to check next 1. ",
        "What may be done, in order 1. Safety and law: unknown until checked.",
        "What this evidence cannot tell",
        "far off zero",
    ):
        assert words in told
    # What opens the first gate opens those behind it: said once.
    assert told.count("Opens by: look underneath") == 1
    assert "Not used" not in told
    assert "None" not in told


def test_cautions_come_before_checks_that_can_hurt(tmp_path: Path) -> None:
    told, _ = run(tmp_path, ZERO)
    assert "Before the step: work on the pressure hoses" in told
    assert "never blow into the sensor" in told
    assert "Local codes, the vehicle maker's instructions" in told


def test_contradiction_is_printed_with_what_to_do_first(tmp_path: Path) -> None:
    rows = ",,,,tailpipe,clean\n,,,,particle_count,very_high\n"
    told, code = run(tmp_path, rows)
    assert code == 0
    assert "What contradicts itself" in told
    assert "Most likely:" in told


def test_codes_are_weighed(tmp_path: Path) -> None:
    without, _ = run(tmp_path, ZERO)
    told, code = run(tmp_path, ZERO, "--code", "P2463", "--code", "P0401")
    assert code == 0
    assert "codes of loading: present" in told
    assert "codes of loading: present" not in without
    assert "What to put right first" in told


def test_line_not_used_ends_with_code_3_and_is_told(tmp_path: Path) -> None:
    told, code = run(tmp_path, ZERO + "soot_mass,much,g,,,\n")
    assert code == 3
    assert "Not used - line 3: soot_mass much g" in told


def test_reading_that_the_weighing_cannot_use_ends_with_code_3(tmp_path: Path) -> None:
    told, code = run(tmp_path, "pressure_across_filter,7,,engine_off,,\n")
    assert code == 3
    assert "(line 2): the display shows no unit" in told


def test_code_that_is_none_ends_with_code_3(tmp_path: Path) -> None:
    told, code = run(tmp_path, ZERO, "--code", "P2O63")
    assert code == 3
    assert "P2O63" in told


def test_table_without_rows_says_that_nothing_went_in(tmp_path: Path) -> None:
    told, code = run(tmp_path, "")
    assert code == 0
    assert "nothing: the chances above are those before anything is found" in told


@pytest.mark.parametrize(
    ("content", "said"),
    [(b"quantity,unit\n", "first row names"), (b"\xff\xfeq\x00", "UTF-8"), (None, "can be read")],
)
def test_file_that_cannot_be_read_is_refused_with_code_2(
    tmp_path: Path, content: bytes | None, said: str
) -> None:
    file = tmp_path / "visit.csv"
    if content is not None:
        file.write_bytes(content)
    with pytest.raises(CommandError, match=said) as refused:
        call_command("weigh_evidence", str(file))
    assert refused.value.returncode == 2
