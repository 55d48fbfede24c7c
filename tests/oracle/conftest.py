"""Runs R with the survival package, the second program that the statistics are held against."""

import csv
import subprocess
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

Frame = Mapping[str, Sequence[Any] | NDArray[Any]]
Answers = dict[str, NDArray[np.float64]]
R = Callable[..., Answers]

PRELUDE = """
options(digits = 17, warn = 1)
suppressPackageStartupMessages(library(survival))
frame <- function(name) read.csv(paste0(name, ".csv"))
give <- function(name, values) {
  cat(paste(c(name, sprintf("%.17g", as.numeric(values))), collapse = ","), "\\n",
      file = "answers.txt", append = TRUE, sep = "")
}
"""
PATIENCE_S = 120


@pytest.fixture
def r(rscript: str, tmp_path: Path) -> R:
    """Run lines of R on data frames: `give(name, values)` in R is the answer under that name."""

    def run(lines: str, **frames: Frame) -> Answers:
        for name, frame in frames.items():
            with (tmp_path / f"{name}.csv").open("w", newline="") as out:
                writer = csv.writer(out)
                writer.writerow(frame)
                writer.writerows(zip(*frame.values(), strict=True))
        (tmp_path / "script.R").write_text(PRELUDE + lines)
        done = subprocess.run(
            [rscript, "--vanilla", "script.R"],
            cwd=tmp_path,
            capture_output=True,
            text=True,
            timeout=PATIENCE_S,
        )
        assert done.returncode == 0, done.stderr
        answers: Answers = {}
        for line in (tmp_path / "answers.txt").read_text().splitlines():
            name, *values = line.split(",")
            answers[name] = np.array([float("nan" if v == "NA" else v) for v in values])
        return answers

    return run
