"""A log judged in the terminal, and what is refused."""

from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

LOG = Path(__file__).parent / "drives" / "burn_on_the_road.csv"


def lines_of(*arguments: str) -> list[str]:
    out = StringIO()
    call_command("judge_drive", *arguments, stdout=out)
    return out.getvalue().splitlines()


def test_log_is_judged_with_what_was_not_used() -> None:
    lines = lines_of(str(LOG), "--limit-g", "24")
    assert lines[0] == "Rows read: 95. Left out or in part: 1."
    assert any(line.startswith("  line 72, inlet_c") for line in lines)
    assert any(line.startswith("Soot per km: 0.048 g/km, 95 % limits") for line in lines)
    assert any(line.startswith("Limit for a burn: 24 g after") for line in lines)
    assert any(line.startswith("Burn 1: completed (after 50.0 min") for line in lines)
    assert lines[-1].startswith("Next: Read the pressure")


def test_limit_that_nobody_named_is_not_known() -> None:
    lines = lines_of(str(LOG))
    assert (
        "Limit for a burn: the filter's litres and the vehicle's own limit are not known" in lines
    )


def test_litres_give_the_limit() -> None:
    assert any("15 g after" in line for line in lines_of(str(LOG), "--litres", "3"))


def test_file_in_a_code_page_is_read(tmp_path: Path) -> None:
    copy = tmp_path / "log.csv"
    copy.write_bytes(LOG.read_text(encoding="utf-8").encode("cp1252"))
    assert lines_of(str(copy)) == lines_of(str(LOG))


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ([str(LOG), "--trigger-g", "30", "--limit-g", "24"], "no more than the limit of 24 g"),
        ([str(LOG), "--limit-g", "0"], "`limit_g` lies above 0"),
        ([str(Path(__file__).parent / "none.csv")], "the log is a file that can be read"),
        ([__file__], "names time or distance"),
    ],
)
def test_refusal_ends_with_code_2_and_says_why(arguments: list[str], said: str) -> None:
    with pytest.raises(CommandError, match=said) as refused:
        call_command("judge_drive", *arguments)
    assert refused.value.returncode == 2
