"""One program in one race, in a process of its own: python -m tests.benchmarks.one ..."""

import json
import resource
import sys
import time
from pathlib import Path

from tests.benchmarks.lives import BenchmarkLives
from tests.benchmarks.python_programs import call_of


def main(program: str, race: str, folder: str, runs: str) -> None:
    lives = BenchmarkLives.read(Path(folder))
    call = call_of(program, race, lives)
    # A few lives first, so that imports and first calls are not what is timed.
    call_of(program, race, BenchmarkLives.make(500))()
    before = _peak_kb()
    seconds, figure = [], 0.0
    for _ in range(int(runs)):
        started = time.perf_counter()
        figure = call()
        seconds.append(time.perf_counter() - started)
    grown = (_peak_kb() - before) / 1024
    print(json.dumps({"seconds": seconds, "figure": figure, "megabytes": grown}))


def _peak_kb() -> int:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss


if __name__ == "__main__":
    main(*sys.argv[1:])
