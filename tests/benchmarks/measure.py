"""Runs the races: every program on the same lives, each in a process of its own."""

import json
import statistics
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from tests.benchmarks.lives import BenchmarkLives
from tests.benchmarks.races import RACES, R, Race

R_SCRIPT = Path(__file__).with_name("programs.R")
LONGEST_S = 60.0
"""A program that would take longer a run, by how long it took on fewer lives, does not run."""

LEAST_S = 0.5
"""A program is run again until so much time is spent, so that the quick ones are not judged by
their first calls alone, which ask the system for memory that later ones have."""


@dataclass(frozen=True)
class Timing:
    """Median seconds of a run, and what it needed above the lives themselves."""

    race: Race
    program: str
    lives: int
    seconds: float
    megabytes: float
    figure: float


@dataclass(frozen=True)
class Runs:
    """How often a program runs: so many times, and until so many seconds are spent."""

    least: int
    least_s: float


class FiguresDiffer(Exception):
    """Programs that find different figures are not doing the same thing."""


def races_run(
    sizes: Sequence[int], runs: int, races: Sequence[Race] = RACES, least_s: float = LEAST_S
) -> Iterator[Timing]:
    """Every race at every size, from few lives to many."""
    fewer: dict[tuple[str, str], Timing] = {}
    for size in sorted(sizes):
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            BenchmarkLives.make(size).write(folder)
            for race in races:
                timings = [
                    _timed(race, program, folder, size, Runs(runs, least_s))
                    for program in race.programs
                    if not _takes_too_long(fewer.get((race.name, program)), size)
                ]
                _refuse_difference(race, timings)
                fewer |= {(race.name, timing.program): timing for timing in timings}
                yield from timings


def _takes_too_long(fewer: Timing | None, lives: int) -> bool:
    return fewer is not None and fewer.seconds * lives / fewer.lives > LONGEST_S


def _timed(race: Race, program: str, folder: Path, lives: int, runs: Runs) -> Timing:
    if program == R:
        command = ["Rscript", "--vanilla", str(R_SCRIPT), race.name]
    else:
        command = [sys.executable, "-m", "tests.benchmarks.one", program, race.name]
    command += [str(folder), str(runs.least), str(runs.least_s)]
    one_core = {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1", "MKL_NUM_THREADS": "1"}
    done = subprocess.run(
        ["env", *(f"{name}={value}" for name, value in one_core.items()), *command],
        check=True,
        stdout=subprocess.PIPE,
        text=True,
    )
    answer = json.loads(done.stdout)
    return Timing(
        race=race,
        program=program,
        lives=lives,
        seconds=statistics.median(answer["seconds"]),
        megabytes=max(answer["megabytes"], 0.0),
        figure=answer["figure"],
    )


def _refuse_difference(race: Race, timings: Sequence[Timing]) -> None:
    for each in timings[1:]:
        if abs(each.figure - timings[0].figure) > race.tolerance * max(abs(each.figure), 1.0):
            raise FiguresDiffer(
                f"{race.name}, {each.lives} lives: {timings[0].program} finds "
                f"{timings[0].figure!r}, {each.program} {each.figure!r}"
            )
