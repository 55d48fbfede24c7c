"""What importing the mathematics costs beyond the libraries it stands on."""

import statistics
import subprocess
import sys

LINES = """
import time
import numpy, scipy.special, scipy.optimize
started = time.perf_counter()
import importlib, pkgutil, garage.lifetimes
for each in pkgutil.walk_packages(garage.lifetimes.__path__, "garage.lifetimes."):
    importlib.import_module(each.name)
print(time.perf_counter() - started)
"""


def import_seconds(runs: int) -> float:
    """Median over fresh processes, every module imported."""
    return statistics.median(
        float(subprocess.run([sys.executable, "-c", LINES], check=True, stdout=-1).stdout)
        for _ in range(runs)
    )
