"""A progress bar for imports, on standard error, once one takes over a second."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from tqdm import tqdm

#: A log that is not a terminal gets a line now and then, not ten a second.
LOG_INTERVAL_S = 10.0


@contextmanager
def bar(name: str, rows: int, delay_s: float = 1.0) -> Iterator[Callable[[int], object]]:
    """A bar over the rows of one file; it gives the function that moves it on."""
    interval_s = 0.1 if sys.stderr.isatty() else LOG_INTERVAL_S
    with tqdm(
        total=rows, desc=name, unit=" done", delay=delay_s, mininterval=interval_s, file=sys.stderr
    ) as shown:
        yield shown.update
