"""What a script sees of a refused command: its exit code.

No database: a program closes its connections at the end, which a test's transaction would not
survive, and these refusals come before any is opened.
"""

import pytest
from django.core.management import execute_from_command_line


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["add_organisation", "Not A Code", "--kind", "workshop"], "a code has 1 to 40"),
        (["add_part_kind", "Not A Code", "--system", "fuel"], "a code has 1 to 40"),
        (["add_organisation", "birch", "--kind", "shop"], "--kind"),
        (["import_history", "--vehicles", "vehicles.csv"], "--organisation"),
        (["import_history", "--organisation", "birch", "--as-of", "1.2.2020"], "--as-of"),
        (["weigh_evidence", "no-such-file.csv"], "can be read"),
    ],
)
def test_refused_command_ends_with_code_2(
    arguments: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as end:
        execute_from_command_line(["manage.py", *arguments])
    assert end.value.code == 2
    assert said in capsys.readouterr().err
