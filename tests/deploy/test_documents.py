"""What the documents tell a reader to type exists, with the options they name."""

import os
import re
import shlex
from pathlib import Path

import pytest
from django.core.management import get_commands, load_command_class

REPO = Path(__file__).resolve().parents[2]
DOCUMENTS = sorted([*REPO.glob("*.md"), *REPO.glob("docs/**/*.md")])
# The placeholders of a synopsis: [--option VALUE], a|b.
SYNOPSIS = re.compile(r"[\[\]]")


def commands_in(document: Path) -> list[list[str]]:
    """The words of each command in the code blocks, comments and continuations resolved."""
    lines: list[str] = []
    language: str | None = None  # of the block that the line is in
    for line in document.read_text().replace("\\\n", " ").splitlines():
        if line.startswith("```"):
            language = line.removeprefix("```").strip() if language is None else None
        elif language in ("", "sh", "bash", "console"):
            lines.append(SYNOPSIS.sub("", line).removeprefix("$ "))
    return [words for line in lines if (words := _words(line))]


def _words(line: str) -> list[str]:
    try:
        return shlex.split(line, comments=True)
    except ValueError:
        return []  # not a command: an apostrophe in sample output


def names(paths: list[Path]) -> list[str]:
    return [str(path.relative_to(REPO)) for path in paths]


def test_readme_opens_with_the_two_commands() -> None:
    commands = [words[0] for words in commands_in(REPO / "README.md")]
    assert commands[:2] == ["deploy/run", "deploy/test"]


@pytest.mark.parametrize("document", DOCUMENTS, ids=names(DOCUMENTS))
def test_programs_named_exist_and_can_be_run(document: Path) -> None:
    named = set(re.findall(r"(?<![\w/.-])(?:deploy|\.ci)/[a-z_]+(?![\w./])", document.read_text()))
    missing = [name for name in sorted(named) if not (REPO / name).exists()]
    assert missing == []
    scripts = [name for name in sorted(named) if (REPO / name).is_file()]
    assert [name for name in scripts if not os.access(REPO / name, os.X_OK)] == []


@pytest.mark.parametrize("document", DOCUMENTS, ids=names(DOCUMENTS))
def test_management_commands_named_exist_with_their_options(document: Path) -> None:
    named = set(re.findall(r"manage\.py ([a-z][a-z_]+)", document.read_text()))
    apps = get_commands()
    assert named - set(apps) == set()
    for words in commands_in(document):
        if "manage.py" not in words or len(words) <= words.index("manage.py") + 1:
            continue
        name, *arguments = words[words.index("manage.py") + 1 :]
        app = apps[name]
        command = load_command_class(app, name) if isinstance(app, str) else app
        options = command.create_parser("manage.py", name)._option_string_actions
        used = {word.split("=")[0] for word in arguments if word.startswith("--")}
        assert used - set(options) == set(), f"manage.py {name}"


@pytest.mark.parametrize("document", DOCUMENTS, ids=names(DOCUMENTS))
def test_options_of_run_named_exist(document: Path) -> None:
    help_text = (REPO / "deploy" / "launch.py").read_text()
    for words in commands_in(document):
        if words[0] == "deploy/run":
            used = {word.split("=")[0] for word in words[1:] if word.startswith("--")}
            assert [option for option in used if f'"{option}"' not in help_text] == []
