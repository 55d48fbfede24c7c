from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.work_app.pipes import Pipes


@pytest.fixture
def pipes(tmp_path: Path) -> Iterator[Pipes]:
    ends = Pipes(tmp_path)
    yield ends
    ends.close()
