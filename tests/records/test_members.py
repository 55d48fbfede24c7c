"""Members: who gets a part in an organisation, and in which role."""

import io
import logging
from datetime import UTC, datetime

import pytest
from django.contrib.auth import get_user_model
from django.core.management import CommandError, call_command

from garage.records.choices import Role
from garage.records.errors import RuleBroken
from garage.records.models import AuditEntry, Membership, Organisation
from garage.records.services.members import NewMember, member_add
from tests.records.cast import Cast
from tests.records.factories import OrganisationFactory, UserFactory

pytestmark = pytest.mark.django_db

STRONG = "harrow-lantern-42"
AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)


@pytest.fixture
def workshop() -> Organisation:
    return OrganisationFactory(code="alder")


# --- the service ---


@pytest.mark.parametrize("role", Role.values)
def test_a_new_person_is_made_with_the_password_and_role_given(
    workshop: Organisation, role: str
) -> None:
    membership = member_add(organisation=workshop, new=NewMember("mallow", role, STRONG), at=AT)
    assert (membership.organisation, membership.role) == (workshop, role)
    assert membership.user.check_password(STRONG)
    assert not membership.user.is_superuser


def test_a_known_person_joins_without_a_password_and_keeps_their_own(
    workshop: Organisation,
) -> None:
    user = UserFactory(username="mallow")
    user.set_password(STRONG)
    user.save()
    member_add(organisation=workshop, new=NewMember("mallow", "viewer"), at=AT)
    user.refresh_from_db()
    assert user.check_password(STRONG)
    assert Membership.objects.get().user == user


def test_a_password_given_for_a_known_person_is_not_set(workshop: Organisation) -> None:
    user = UserFactory(username="mallow")
    user.set_password(STRONG)
    user.save()
    member_add(organisation=workshop, new=NewMember("mallow", "viewer", "another-harrow-7"), at=AT)
    user.refresh_from_db()
    assert user.check_password(STRONG)


def test_a_member_added_again_changes_role(workshop: Organisation) -> None:
    UserFactory(username="mallow")
    for role in ("viewer", "owner"):
        member_add(organisation=workshop, new=NewMember("mallow", role), at=AT)
    assert [each.role for each in Membership.objects.all()] == ["owner"]


def test_who_became_a_member_and_in_which_role_is_in_the_trail(workshop: Organisation) -> None:
    user, by = UserFactory(username="mallow"), UserFactory()
    for role in ("viewer", "viewer", "owner"):
        member_add(organisation=workshop, new=NewMember("mallow", role), at=AT, by=by)
    told = [(each.verb, each.changes, each.by) for each in AuditEntry.objects.order_by("serial")]
    member = {"user": [user.pk, user.pk]}
    assert told == [
        ("add", member | {"role": [None, "viewer"]}, by),
        ("change", member | {"role": ["viewer", "owner"]}, by),
    ]


def test_a_role_in_one_organisation_is_none_in_another(cast: Cast) -> None:
    member_add(organisation=cast.alder, new=NewMember(cast.at_birch.username, "viewer"), at=AT)
    roles = dict(
        Membership.objects.filter(user=cast.at_birch).values_list("organisation__code", "role")
    )
    assert roles == {"alder": "viewer", "birch": "owner"}


@pytest.mark.parametrize(
    ("said", "column"),
    [
        ({"role": "boss"}, "role"),
        ({"password": None}, "password"),
        ({"password": ""}, "password"),
        ({"password": "password"}, "password"),
        ({"password": "a1b2"}, "password"),
    ],
)
def test_what_breaks_a_rule_adds_nobody(
    workshop: Organisation, said: dict[str, str | None], column: str
) -> None:
    new = {"username": "mallow", "role": "viewer", "password": STRONG, **said}
    with pytest.raises(RuleBroken) as refusal:
        member_add(organisation=workshop, new=NewMember(**new), at=AT)  # type: ignore[arg-type]
    assert refusal.value.column == column
    assert not get_user_model().objects.exists()
    assert not Membership.objects.exists()


def test_a_refused_password_is_not_repeated(workshop: Organisation) -> None:
    with pytest.raises(RuleBroken) as refusal:
        member_add(organisation=workshop, new=NewMember("mallow", "viewer", "a1b2"), at=AT)
    assert "a1b2" not in str(refusal.value)


def test_the_log_names_ids_not_people(
    workshop: Organisation, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.INFO, "garage.records")
    by = UserFactory()
    membership = member_add(
        organisation=workshop, new=NewMember("mallow", "viewer", STRONG), at=AT, by=by
    )
    (message,) = caplog.messages
    assert f"user={membership.user_id} role=viewer by={by.pk}" in message
    assert "mallow" not in message


# --- the command ---


def add(monkeypatch: pytest.MonkeyPatch, *words: str, typed: str = f"{STRONG}\n") -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO(typed))
    call_command("add_member", *words)


def test_command_reads_a_new_persons_password_from_standard_input(
    workshop: Organisation, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    add(monkeypatch, "alder", "mallow", "--role", "technician")
    assert Membership.objects.get().user.check_password(STRONG)
    out = capsys.readouterr().out
    assert out == "mallow is technician of alder.\n"
    assert STRONG not in out


def test_command_asks_a_known_person_for_none(
    workshop: Organisation, monkeypatch: pytest.MonkeyPatch
) -> None:
    UserFactory(username="mallow")
    add(monkeypatch, "alder", "mallow", "--role", "owner", typed="")
    assert Membership.objects.get().role == "owner"


def test_command_without_a_password_refuses(
    workshop: Organisation, monkeypatch: pytest.MonkeyPatch
) -> None:
    with pytest.raises(CommandError, match="a new person needs a password") as refusal:
        add(monkeypatch, "alder", "mallow", "--role", "owner", typed="")
    assert refusal.value.returncode == 2


def test_command_refuses_an_unknown_organisation(
    workshop: Organisation, monkeypatch: pytest.MonkeyPatch
) -> None:
    with pytest.raises(CommandError, match=r"got 'cedar'.*add_organisation") as refusal:
        add(monkeypatch, "cedar", "mallow", "--role", "owner")
    assert refusal.value.returncode == 2


@pytest.mark.parametrize("words", [("--role", "boss"), ()])
def test_command_refuses_another_role_and_none(
    workshop: Organisation, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...]
) -> None:
    with pytest.raises(CommandError, match="--role"):
        add(monkeypatch, "alder", "mallow", *words)
    assert not Membership.objects.exists()
