"""The test's ends of the pipes that `tests.hold` works with; nothing waits longer than a minute."""

import os
import select
from pathlib import Path

WAIT_SECONDS = 60


class Pipes:
    """Two named pipes in a folder."""

    def __init__(self, folder: Path) -> None:
        self.trace = folder / "trace"
        self._ends = {}
        for name in ("started", "release"):
            os.mkfifo(folder / name)
            # Read and write, so that opening waits for nobody.
            self._ends[name] = os.open(folder / name, os.O_RDWR)

    def wait_started(self) -> None:
        ready, _, _ = select.select([self._ends["started"]], [], [], WAIT_SECONDS)
        assert ready, f"the work has not started in {WAIT_SECONDS} s"
        assert os.read(self._ends["started"], 1) == b"s"

    def release(self) -> None:
        os.write(self._ends["release"], b"r")

    def lines(self) -> list[str]:
        return self.trace.read_text().splitlines() if self.trace.exists() else []

    def close(self) -> None:
        for end in self._ends.values():
            os.close(end)
