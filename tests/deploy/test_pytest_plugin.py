"""Which tests stay together where they run in several processes."""

from typing import cast

import pytest

from deploy.pytest_plugin import pytest_itemcollected

FILE = "tests/records/test_jobs.py"
APART = f"{FILE} with real transactions"


class Collected:
    """A test as collected: its fixtures and its `django_db` marker."""

    nodeid = f"{FILE}::test_one[a::b]"

    def __init__(self, fixtures: tuple[str, ...], marker: pytest.MarkDecorator | None) -> None:
        self.fixturenames = fixtures
        self.marker = marker
        self.added: list[pytest.MarkDecorator] = []

    def get_closest_marker(self, name: str) -> pytest.Mark | None:
        assert name == "django_db"
        return None if self.marker is None else self.marker.mark

    def add_marker(self, marker: pytest.MarkDecorator) -> None:
        self.added.append(marker)


@pytest.mark.parametrize(
    ("fixtures", "marker", "group"),
    [
        ((), None, FILE),
        (("db", "client"), None, FILE),
        ((), pytest.mark.django_db, FILE),
        ((), pytest.mark.django_db(transaction=False), FILE),
        ((), pytest.mark.django_db(transaction=True), APART),
        (("db", "transactional_db"), None, APART),
        (("live_server",), None, APART),
        (("django_db_reset_sequences",), pytest.mark.django_db, APART),
    ],
)
def test_real_transactions_are_apart_from_the_rest_of_their_file(
    fixtures: tuple[str, ...], marker: pytest.MarkDecorator | None, group: str
) -> None:
    item = Collected(fixtures, marker)
    pytest_itemcollected(cast(pytest.Item, item))
    assert [each.mark for each in item.added] == [pytest.mark.xdist_group(group).mark]
