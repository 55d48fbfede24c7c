"""The demo, imported once a session by the register's own services."""

from collections.abc import Iterator

import pytest
from pytest_django.plugin import DjangoDbBlocker

from tests.demo.world import Found, region_imported


@pytest.fixture(scope="session")
def found(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[Found]:
    """What the register makes of the demo; its rows are gone again before any test runs."""
    with django_db_blocker.unblock():
        with region_imported() as demo:
            pass
        yield demo
