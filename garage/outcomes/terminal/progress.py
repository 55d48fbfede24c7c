"""A progress bar for the report, shown once it takes over a second."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TextIO

from tqdm import tqdm

from garage.outcomes.report import Progress


@contextmanager
def step_bar(stream: TextIO) -> Iterator[Progress]:
    """A bar on a terminal, nothing elsewhere; gone when the work is done."""
    with tqdm(
        total=1, unit="step", file=stream, disable=None, leave=False, delay=1.0, mininterval=0.1
    ) as bar:

        def show(what: str, done: int, of: int) -> None:
            bar.total = of
            bar.n = done
            bar.set_description(what, refresh=True)

        yield show
