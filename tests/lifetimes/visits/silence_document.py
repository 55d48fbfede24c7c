"""Tries the *expected* curve on the grid of simulated workshops and writes what was measured.

Run as ``OPENBLAS_NUM_THREADS=1 python -m tests.lifetimes.visits.silence_document``: half an hour
on two cores.
"""

import textwrap
from collections.abc import Iterable, Sequence
from concurrent.futures import Executor, ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path

import numpy as np

from garage.lifetimes.wording import spoken
from tests.lifetimes.visits.silence_grid import (
    BROKEN,
    COVERAGE,
    GRID,
    REPEATS,
    SMALL_WORKSHOPS,
    STAY_AWAY,
    USUAL,
    VEHICLES,
    WORKSHOPS,
    Cell,
    cells,
    coverage,
)
from tests.lifetimes.visits.workshop_world import World

DOCUMENT = Path(__file__).resolve().parents[3] / "docs" / "measured-silence.md"
PROCESSES = 2
GOAL = 0.02
COVERAGE_GOAL = (0.90, 0.98)
WIDTH = 120

HEAD = """
Made by `OPENBLAS_NUM_THREADS=1 python -m tests.lifetimes.visits.silence_document`; do not edit.
Simulated workshops with a written truth (`tests/lifetimes/visits/workshop_world.py`): parts with
Weibull life, shape 2.5, scale 300 000 km, each replaced when it fails; vehicles of unlike pace
(log-normal, spread 0.25, about 20 000 km a year), watched for up to nine years; visit rates (gamma,
shape 2) and leaving rates (gamma, shape 1.5) that differ between vehicles; of failures repaired
elsewhere three in ten keep the vehicle away for good, the others leave a customer with another
part. A look at the part in place is taken on 30, 20 or 10 % of visits (0.5, 1 or 2 a year) and of
repairs; the capture share is estimated from the looks, unless all is captured. Survival in truth:
0.989, 0.938, 0.838, 0.696 at 50, 100, 150 and 200 thousand km; entering late: given survival to 10
thousand km.
"""
BIAS = f"""
Mean of {WORKSHOPS} workshops of {spoken(VEHICLES)} vehicles: the curve less that of one who knows
the true capture share, and when each part failed and each customer left, at 50, 100, 150 and 200
thousand km. Both meet the same chance failures, so that the difference tells more than the error
against the truth would; what chance is left lies mostly in the capture share found. *Seen* is
divided by the share, *presumed* is not.
"""
COVERED = f"""
Share of {SMALL_WORKSHOPS} workshops of 1 000 vehicles whose 95 % limits, of {REPEATS} resamples,
hold the truth; the standard error is 0.015 about 0.95. Where half of the failures go elsewhere and
ten of them are looked at again, the belief held beforehand (0.8, of the weight of ten failures)
weighs as much as what was found: the limits then miss by what the belief is off. With the right one
held they do not. Where hardly any failure is seen by 50 thousand km limits hold too often.
"""
STAYED = """
Regularity 1, one visit a year, 20 % leaving a year, 0.75 captured. Of those repaired elsewhere the
first column stays away; the second is what is held beforehand. Errors as above.
"""
BREAKS = """
The same world with an assumption broken, errors as above. A campaign brings in every vehicle that
is driven, those also that had left; the model takes them to have been customers all along.
"""


def document(pool: Executor) -> str:
    grid = cells(pool, [(each, None) for each in GRID])
    stay = cells(pool, [(replace(USUAL, stay_away=true), stated) for true, stated in STAY_AWAY])
    broken = cells(pool, [(each, None) for _, each in BROKEN])
    parts = [
        "# Silence, measured",
        prose(HEAD),
        "## Bias",
        prose(BIAS),
        prose(summary(grid)),
        bias_table(grid),
        "## Coverage",
        prose(COVERED),
        coverage_table(pool),
        "## Stay-away share, known and mis-stated",
        prose(STAYED),
        stay_away_table(stay),
        "## Where it breaks",
        prose(BREAKS),
        broken_table(broken),
    ]
    return "\n\n".join(parts) + "\n"


def prose(text: str) -> str:
    return textwrap.fill(" ".join(text.split()), WIDTH, break_long_words=False)


def figures(values: Iterable[float]) -> str:
    """Figures in a row, with a real minus."""
    return ", ".join(f"{each:+.3f}".replace("-", "−") for each in values)


def rows(head: Sequence[str], body: Iterable[Sequence[str]]) -> str:
    lines = [head, ["---"] * len(head), *body]
    return "\n".join("| " + " | ".join(each) + " |" for each in lines)


def of_world(each: World) -> list[str]:
    law = each.law
    return [
        str(each.capture),
        str(law.leaving_rate),
        str(law.visit_rate),
        f"{law.regularity:.0f}",
        "late" if each.late else "new",
    ]


WORLD_HEAD = ["captured", "leave a year", "visits a year", "regularity", "entering"]


def other_curves(cell: Cell) -> list[str]:
    return [figures(np.nanmean(each, axis=0)) for each in (cell.seen, cell.presumed)]


def bias_table(found: Sequence[Cell]) -> str:
    head = ["share found", "failed", "*expected*", "its standard error", "*seen*", "*presumed*"]
    body = []
    for each, cell in zip(GRID, found, strict=True):
        missed = " **misses**" if np.any(np.abs(cell.bias) > GOAL) else ""
        error = ", ".join(f"{one:.3f}" for one in cell.error)
        found_here = [f"{cell.shares.mean():.2f}", f"{cell.failed:.0f}"]
        body.append(
            [
                *of_world(each),
                *found_here,
                figures(cell.bias) + missed,
                error,
                *other_curves(cell),
            ]
        )
    return rows([*WORLD_HEAD, *head], body)


def coverage_table(pool: Executor) -> str:
    low, high = COVERAGE_GOAL
    body = []
    for known, beforehand in COVERAGE:
        found = coverage(pool, known, beforehand)
        share = found.truth.mean(axis=0)
        missed = " **misses**" if np.any((share < low) | (share > high)) else ""
        told = ", ".join(f"{one:.3f}" for one in share) + missed
        held = "all" if known.capture == 1 else str(beforehand)
        body.append(
            [*of_world(known), held, f"{found.shares.mean():.2f}", told, str(found.without_law)]
        )
    head = ["held beforehand", "share found", "truth held at 50, 100, 150, 200 thousand km"]
    return rows([*WORLD_HEAD, *head, "without a law"], body)


def stay_away_table(found: Sequence[Cell]) -> str:
    return rows(
        ["true", "stated", "share found", "*expected*", "its standard error"],
        [
            [
                str(true),
                str(stated),
                f"{cell.shares.mean():.2f}",
                figures(cell.bias),
                ", ".join(f"{one:.3f}" for one in cell.error),
            ]
            for (true, stated), cell in zip(STAY_AWAY, found, strict=True)
        ],
    )


def broken_table(found: Sequence[Cell]) -> str:
    return rows(
        ["world", "share found", "*expected*", "*seen*", "*presumed*"],
        [
            [name, f"{cell.shares.mean():.2f}", figures(cell.bias), *other_curves(cell)]
            for (name, _), cell in zip(BROKEN, found, strict=True)
        ],
    )


def summary(found: Sequence[Cell]) -> str:
    bias = np.abs(np.stack([cell.bias for cell in found]))
    missing = int(np.any(bias > GOAL, axis=1).sum())
    largest, usual = (
        ", ".join(f"{one:.3f}" for one in each)
        for each in (bias.max(axis=0), np.median(bias, axis=0))
    )
    return (
        f"Of {len(found)} cells, {len(found) - missing} keep within {GOAL} at all four distances "
        f"and {missing} do not. The largest biases are {largest}; half of the cells lie within "
        f"{usual}."
    )


def main() -> None:
    with ProcessPoolExecutor(PROCESSES) as pool:
        DOCUMENT.write_text(document(pool), "utf-8")


if __name__ == "__main__":
    main()
