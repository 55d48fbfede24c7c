"""One program in one race, in a process of its own: python -m tests.benchmarks.one ..."""

import json
import sys
import time
from pathlib import Path

from tests.benchmarks.lives import BenchmarkLives
from tests.benchmarks.python_programs import call_of

STATUS = Path("/proc/self/status")


def main(program: str, race: str, folder: str, runs: str, least_s: str) -> None:
    lives = BenchmarkLives.read(Path(folder))
    call = call_of(program, race, lives)
    # A few lives first, so that imports and first calls are not what is timed.
    call_of(program, race, BenchmarkLives.make(500))()
    _forget_peak()
    before = _peak_kb()
    seconds: list[float] = []
    while len(seconds) < int(runs) or sum(seconds) < float(least_s):
        started = time.perf_counter()
        figure = call()
        seconds.append(time.perf_counter() - started)
    grown = (_peak_kb() - before) / 1024
    print(json.dumps({"seconds": seconds, "figure": figure, "megabytes": grown}))


def _peak_kb() -> int:
    """Largest memory held; `getrusage` would tell the parent's, handed on at the fork."""
    for line in STATUS.read_text().splitlines():
        if line.startswith("VmHWM:"):
            return int(line.split()[1])
    raise LookupError(f"{STATUS} does not tell VmHWM")


def _forget_peak() -> None:
    """Begin the peak anew at what is held now."""
    Path("/proc/self/clear_refs").write_text("5")


if __name__ == "__main__":
    main(*sys.argv[1:])
