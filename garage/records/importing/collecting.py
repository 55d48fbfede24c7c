"""Look for garbage in cycles rarely while many rows are held that have none."""

import gc
from collections.abc import Iterator
from contextlib import contextmanager

#: New objects between two looks, and looks between those at older objects. Python's own 700 have
#: it walk through every row held again and again: an eighth of an import's time. Measured.
RARELY = (200_000, 20, 20)


@contextmanager
def collected_rarely() -> Iterator[None]:
    """Of the whole process, while it lasts."""
    before = gc.get_threshold()
    gc.set_threshold(*RARELY)
    try:
        yield
    finally:
        gc.set_threshold(*before)
