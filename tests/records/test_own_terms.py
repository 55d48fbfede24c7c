"""An organisation's own terms: when rechecks are due, how long personal data is kept."""

import pytest
from django.core.management import CommandError, call_command

from garage.records.models import AuditEntry, Organisation
from tests.records.factories import OrganisationFactory

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def organisation() -> Organisation:
    made: Organisation = OrganisationFactory(code="alder")
    return made


def terms() -> tuple[int, int, int | None]:
    row = Organisation.objects.get(code="alder")
    return row.recheck_days, row.recheck_km, row.keep_personal_months


def test_terms_are_set_one_by_one_and_leave_a_row_in_the_trail() -> None:
    assert terms() == (7, 300, None)
    call_command("set_terms", "alder", "--recheck-days=14")
    call_command("set_terms", "alder", "--recheck-km=500", "--keep-personal-months=36")
    assert terms() == (14, 500, 36)
    assert AuditEntry.objects.filter(thing="organisation").count() == 2
    call_command("set_terms", "alder", "--recheck-days=14")
    assert AuditEntry.objects.count() == 2


def test_personal_data_is_kept_until_somebody_asks_again(capsys) -> None:
    call_command("set_terms", "alder", "--keep-personal-months=36")
    call_command("set_terms", "alder", "--keep-personal-months=0")
    assert terms()[2] is None
    assert "until somebody asks" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("option", "said"),
    [
        ("--recheck-days=0", "recheck_days is 1 to 365"),
        ("--recheck-km=50001", "recheck_km is 1 to 50000"),
        ("--keep-personal-months=-1", "keep_personal_months is 0 to 600"),
    ],
)
def test_terms_that_cannot_be_are_refused(option: str, said: str) -> None:
    with pytest.raises(CommandError, match=said):
        call_command("set_terms", "alder", option)
    assert terms() == (7, 300, None)


def test_terms_of_an_organisation_that_is_not_recorded_are_refused() -> None:
    with pytest.raises(CommandError, match="must be recorded"):
        call_command("set_terms", "birch", "--recheck-days=9")
