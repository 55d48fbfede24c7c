"""Whose records a person may see."""

import pytest
from django.contrib.auth.models import AnonymousUser
from django.http import Http404

from garage.records.permissions import Scope, scope_of_user
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
