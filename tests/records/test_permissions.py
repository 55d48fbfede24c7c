"""Whose records a person may see, and who may change them."""

import pytest
from django.contrib.auth.models import AnonymousUser
from django.http import Http404

from garage.records.choices import Role
from garage.records.errors import RuleBroken
from garage.records.permissions import (
    Scope,
    may_write,
    scope_of_installation,
    scope_of_organisations,
    scope_of_user,
)
from tests.records.cast import Cast

NOTHING = Scope(frozenset())


@pytest.mark.parametrize("who", ["owner", "technician", "viewer"])
def test_every_member_of_alder_sees_alder_alone(cast: Cast, who: str) -> None:
    assert scope_of_user(getattr(cast, who)) == cast.scope(cast.alder)


def test_a_member_of_cedar_sees_nothing_of_alder(cast: Cast) -> None:
    assert scope_of_user(cast.at_cedar) == cast.scope(cast.cedar)


def test_a_member_of_two_sees_both_or_the_one_asked_for(cast: Cast) -> None:
    assert scope_of_user(cast.at_both) == cast.scope(cast.alder, cast.birch)
    assert scope_of_user(cast.at_both, "birch") == cast.scope(cast.birch)


def test_a_foreign_organisation_answers_as_a_missing_one(cast: Cast) -> None:
    assert scope_of_user(cast.at_cedar, "cedar") == cast.scope(cast.cedar)
    said = []
    for code in ("alder", "no-such-code", ""):
        with pytest.raises(Http404) as refusal:
            scope_of_user(cast.at_cedar, code)
        said.append(str(refusal.value))
    assert len(set(said)) == 1


def test_without_membership_nothing_is_seen(cast: Cast) -> None:
    assert scope_of_user(cast.stranger) == NOTHING
    assert scope_of_user(AnonymousUser()) == NOTHING
    with pytest.raises(Http404):
        scope_of_user(AnonymousUser(), "alder")


def test_whoever_left_sees_nothing(cast: Cast) -> None:
    assert scope_of_user(cast.owner) == cast.scope(cast.alder)
    cast.owner.is_active = False
    assert scope_of_user(cast.owner) == NOTHING


def test_running_the_installation_opens_no_records_in_the_pages(cast: Cast) -> None:
    cast.stranger.is_superuser = True
    cast.stranger.save()
    assert scope_of_user(cast.stranger) == NOTHING


def test_the_terminal_sees_the_organisations_it_names(cast: Cast) -> None:
    assert scope_of_organisations(["alder", "fleet"]) == cast.scope(cast.alder, cast.fleet)
    assert scope_of_organisations([]) == NOTHING


def test_an_unknown_organisation_is_an_error_that_says_so(cast: Cast) -> None:
    with pytest.raises(RuleBroken, match="add_organisation") as refusal:
        scope_of_organisations(["alder", "oak", "elm"])
    assert refusal.value.got == "elm, oak"


def test_the_operator_of_the_installation_sees_all(cast: Cast) -> None:
    everyone = (cast.alder, cast.birch, cast.cedar, cast.fleet, cast.adviser)
    assert scope_of_installation() == cast.scope(*everyone)


@pytest.mark.parametrize(
    ("role", "allowed"),
    [(Role.OWNER, True), (Role.TECHNICIAN, True), (Role.VIEWER, False), ("", False)],
)
def test_owner_and_technician_may_write_and_a_viewer_not(role: str, allowed: bool) -> None:
    assert may_write(role) is allowed
    assert may_write(str(role)) is allowed


def test_every_role_is_decided() -> None:
    assert {role for role in Role.values if may_write(role)} == {"owner", "technician"}
