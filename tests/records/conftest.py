"""Fixtures of the records' tests."""

import pytest

from tests.records.cast import Cast, cast_make


@pytest.fixture
def cast(db: None) -> Cast:
    return cast_make()
