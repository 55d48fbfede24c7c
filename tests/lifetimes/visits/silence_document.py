"""Tries the *expected* curve on the grid of simulated workshops and writes what was measured.

Run as ``OPENBLAS_NUM_THREADS=1 python -m tests.lifetimes.visits.silence_document``: half an hour
on two cores. With ``coverage`` as argument only what is said of the limits is measured anew, in
ten minutes, and the rest of the document is left as it is.
"""

import argparse
import re
import textwrap
from collections.abc import Iterable, Sequence
from concurrent.futures import Executor, ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path

import numpy as np

from garage.lifetimes.capture.share import PART_PRIOR
from garage.lifetimes.wording import spoken
from tests.lifetimes.visits.few_looks import few_looks
from tests.lifetimes.visits.silence_coverage import (
    COVERAGE,
    FEW_SEEN,
    REPEATS,
    SMALL_WORKSHOPS,
    Held,
    coverage,
)
from tests.lifetimes.visits.silence_grid import (
    BROKEN,
    GRID,
    STAY_AWAY,
    USUAL,
    VEHICLES,
    WORKSHOPS,
    Cell,
    cells,
)
from tests.lifetimes.visits.workshop_world import World

DOCUMENT = Path(__file__).resolve().parents[3] / "docs" / "measured-silence.md"
PROCESSES = 2
GOAL = 0.02
COVERAGE_GOAL = (0.90, 0.98)
WIDTH = 120
HEAVY = 10
"""Weight of a belief that does not yield, to be compared with."""

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
FEW_LOOKS = f"""
The share found from so many failures looked at again, with {PART_PRIOR.mean} held beforehand and
of the weight of {spoken(PART_PRIOR.weight)} failures, and with {HEAVY} ([decision
0009](decisions/0009-a-prior-that-yields.md)): mean less the truth, how often limits of 95 %, as
printed, hold the truth, and how far apart they are. Exact. With none looked at the share is what
is held, and the limits say that hardly anything is known. With one to three, where half go
elsewhere, it is still 0.1 to 0.2 too high. Looks are whole numbers: even from ten on limits hold
the truth in 87 % in places, and in 99 % in others.
"""
COVERED = f"""
Share of {SMALL_WORKSHOPS} workshops of 1 000 vehicles whose 95 % limits, of {REPEATS} resamples,
hold the truth; the standard error is 0.011 about 0.95 and 0.015 about 0.9. The last column but one
has the first distance by which {FEW_SEEN} failures are expected to have been seen, and how often
the truth is held there. From there on the goal is {COVERAGE_GOAL[0]:.2f} to
{COVERAGE_GOAL[1]:.2f}; what misses it is marked. Before, one to three failures decide, and limits
hold too often. Where half are captured and many of them looked at again limits come near the upper
end: the share's doubt is drawn apart from that of the lives, though the same failures are in both,
and so limits are a tenth too wide there (decision 0009).
"""
APART = """
This section and the one before were measured apart from the others.
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
        *limits(pool),
        "## Stay-away share, known and mis-stated",
        prose(STAYED),
        stay_away_table(stay),
        "## Where it breaks",
        prose(BREAKS),
        broken_table(broken),
    ]
    return "\n\n".join(parts) + "\n"


def limits(pool: Executor) -> list[str]:
    """The sections on limits: of the share, and of the curve."""
    measured = [(held, coverage(pool, known, held)) for known, held in COVERAGE]
    return [
        "## Capture share from few looks",
        prose(FEW_LOOKS),
        few_looks_table(),
        "## Coverage",
        prose(COVERED),
        prose(coverage_summary([found for _, found in measured])),
        coverage_table(measured),
    ]


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


def few_looks_table() -> str:
    heavy_prior = few_looks(replace(PART_PRIOR, weight=HEAVY))
    body = [
        [
            f"{light.true}",
            str(light.looked_at),
            *(
                cell
                for each in (light, heavy)
                for cell in (figures([each.bias]), f"{each.held:.2f}", f"{each.width:.2f}")
            ),
        ]
        for light, heavy in zip(few_looks(PART_PRIOR), heavy_prior, strict=True)
    ]
    head = [
        title
        for weight in (PART_PRIOR.weight, HEAVY)
        for title in (f"weight {spoken(weight)}: bias", "held", "width")
    ]
    return rows(["true share", "looked at", *head], body)


def off_goal(found: Held) -> list[bool]:
    """At each distance: whether enough have failed by it, and the goal is missed."""
    low, high = COVERAGE_GOAL
    missed = (found.share < low) | (found.share > high)
    return [bool(each) for each in missed & (np.array(found.ages_km) >= found.ages_km[-1])]


def coverage_summary(measured: Sequence[Held]) -> str:
    judged = [
        (share, off)
        for found in measured
        for share, off, km in zip(found.share, off_goal(found), found.ages_km, strict=True)
        if km >= found.ages_km[-1]
    ]
    missing = sum(off for _, off in judged)
    least, most = min(share for share, _ in judged), max(share for share, _ in judged)
    return (
        f"Where {FEW_SEEN} failures or more are expected, {len(judged) - missing} of "
        f"{len(judged)} figures keep to the goal and {missing} do not; they lie from {least:.3f} "
        f"to {most:.3f}."
    )


def coverage_table(measured: Sequence[tuple[float | None, Held]]) -> str:
    body = []
    for (known, _), (held, found) in zip(COVERAGE, measured, strict=True):
        told = [
            f"{share:.3f}{' **misses**' if off else ''}"
            for share, off in zip(found.share, off_goal(found), strict=True)
        ]
        here, elsewhere = found.looked_at
        body.append(
            [
                *of_world(known),
                "all" if held is None else str(held),
                f"{found.shares.mean():.2f}",
                f"{here:.0f}, {elsewhere:.0f}",
                ", ".join(f"{one:.0f}" for one in found.seen[:-1]),
                ", ".join(told[:-1]),
                f"{found.ages_km[-1] / 1000:.0f}: {told[-1]}",
                str(found.without_law),
            ]
        )
    head = [
        "held beforehand",
        "share found",
        "looked at: here, elsewhere",
        "failures seen",
        "truth held at 50, 100, 150, 200 thousand km",
        f"at {FEW_SEEN} failures",
        "without a law",
    ]
    return rows([*WORLD_HEAD, *head], body)


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


LIMITS = re.compile(
    r"(?:## Capture share from few looks\n.*?)?## Coverage\n.*?\n\n(?=## )", re.DOTALL
)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("part", nargs="?", choices=["coverage"])
    only_limits = parser.parse_args().part is not None
    with ProcessPoolExecutor(PROCESSES) as pool:
        if only_limits:
            again = "\n\n".join([*limits(pool), prose(APART)]) + "\n\n"
            text, places = LIMITS.subn(lambda _: again, DOCUMENT.read_text("utf-8"))
            assert places == 1, "the document has no section on coverage to put the new one in"
        else:
            text = document(pool)
    DOCUMENT.write_text(text, "utf-8")


if __name__ == "__main__":
    main()
