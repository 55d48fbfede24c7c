"""Measure and say: python -m tests.benchmarks [--sizes 10000 1000000] [--runs 5] [--write]."""

import argparse
from pathlib import Path

from tests.benchmarks.document import document_with, table_of
from tests.benchmarks.imports import import_seconds
from tests.benchmarks.measure import races_run

PAGE = Path(__file__).resolve().parents[2] / "docs" / "benchmarks.md"


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks", description=__doc__)
    parser.add_argument("--sizes", nargs="+", type=int, default=[10_000, 100_000, 1_000_000])
    parser.add_argument("--runs", type=int, default=5, help="the median of so many is printed")
    parser.add_argument("--write", action="store_true", help=f"into docs/{PAGE.name}")
    chosen = parser.parse_args()
    timings = []
    for timing in races_run(chosen.sizes, chosen.runs):
        print(
            f"{timing.race.name:22} {timing.lives:>9} {timing.program:24} "
            f"{timing.seconds:10.4f} s {timing.megabytes:8.0f} MB",
            flush=True,
        )
        timings.append(timing)
    imports_s = import_seconds(chosen.runs)
    print(f"importing the mathematics {imports_s:.3f} s")
    if chosen.write:
        PAGE.write_text(document_with(PAGE.read_text("utf-8"), timings, imports_s), "utf-8")
    else:
        print(table_of(timings))


if __name__ == "__main__":
    main()
