"""Kinds of work that leave a trace, fail, or hold until they are released."""

from datetime import datetime
from pathlib import Path
from typing import Any

from garage.background.registry import work_handler


@work_handler("tests.append")
def append(arguments: dict[str, Any], now: datetime) -> None:
    with Path(arguments["file"]).open("a") as file:
        file.write(arguments["line"] + "\n")


@work_handler("tests.fail")
def fail(arguments: dict[str, Any], now: datetime) -> None:
    raise ValueError("as asked")


@work_handler("tests.hold")
def hold(arguments: dict[str, Any], now: datetime) -> None:
    """Say so on the pipe `started`, wait for a byte on the pipe `release`, then append."""
    folder = Path(arguments["folder"])
    with (folder / "started").open("w") as started:
        started.write("s")
    with (folder / "release").open("rb", buffering=0) as release:
        release.read(1)
    append({"file": folder / "trace", "line": "held"}, now)
