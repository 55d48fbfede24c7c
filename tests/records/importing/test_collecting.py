"""Garbage is looked for rarely during an import, and as before after it."""

import gc

import pytest

from garage.records.importing.collecting import RARELY, collected_rarely


def test_it_is_rare_while_it_lasts_and_as_before_afterwards() -> None:
    before = gc.get_threshold()
    with collected_rarely():
        assert gc.get_threshold() == RARELY
    assert gc.get_threshold() == before


def test_it_is_as_before_after_a_failure() -> None:
    before = gc.get_threshold()
    with pytest.raises(ZeroDivisionError), collected_rarely():
        raise ZeroDivisionError
    assert gc.get_threshold() == before
