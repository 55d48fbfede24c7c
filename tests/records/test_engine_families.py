"""The review of engine families: a family of its own, or another spelling of one."""

import logging
from datetime import UTC, datetime

import pytest
from django.core.management import CommandError, call_command
from factory.django import DjangoModelFactory

from garage.records.errors import RuleBroken
from garage.records.models import AuditEntry, EngineFamily, EngineFamilyAlias, Vehicle
from garage.records.services.engine_families import family_accept, family_join
from tests.records.evidence_factories import (
    OwnCodeWordingFactory,
    OwnThresholdFactory,
    UnitConfirmedFactory,
)
from tests.records.factories import (
    EngineFamilyAliasFactory,
    EngineFamilyFactory,
    OrganisationFactory,
    UserFactory,
    VehicleFactory,
)

pytestmark = pytest.mark.django_db

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)


@pytest.fixture
def alder() -> EngineFamily:
    return EngineFamilyFactory(name="Alder 16")


@pytest.fixture
def spelling() -> EngineFamily:
    return EngineFamilyFactory(name="ALDER-16", reviewed=False)


def test_an_accepted_family_is_reviewed_and_others_are_not(
    alder: EngineFamily, spelling: EngineFamily
) -> None:
    other = EngineFamilyFactory(name="Birch 20", reviewed=False)
    family_accept(family=spelling, at=AT)
    spelling.refresh_from_db()
    other.refresh_from_db()
    assert (spelling.reviewed, other.reviewed) == (True, False)


def test_joined_the_vehicles_move_and_the_name_becomes_an_alias(
    alder: EngineFamily, spelling: EngineFamily
) -> None:
    vehicle, other = VehicleFactory(engine_family=spelling), VehicleFactory()
    family_join(family=spelling, into=alder, at=AT)
    assert Vehicle.objects.get(pk=vehicle.pk).engine_family == alder
    assert Vehicle.objects.get(pk=other.pk).engine_family == other.engine_family
    assert not EngineFamily.objects.filter(name="ALDER-16").exists()
    alias = EngineFamilyAlias.objects.get()
    assert (alias.name, alias.family) == ("ALDER-16", alder)


def test_joined_the_aliases_move_along(alder: EngineFamily, spelling: EngineFamily) -> None:
    EngineFamilyAliasFactory(family=spelling, name="A16")
    family_join(family=spelling, into=alder, at=AT)
    assert set(alder.aliases.values_list("name", flat=True)) == {"A16", "ALDER-16"}


def test_joining_makes_reports_of_the_owners_stale_and_of_nobody_else(
    alder: EngineFamily, spelling: EngineFamily
) -> None:
    owner, other = OrganisationFactory(), OrganisationFactory()
    VehicleFactory.create_batch(2, organisation=owner, engine_family=spelling)
    VehicleFactory(organisation=other, engine_family=alder)
    family_join(family=spelling, into=alder, at=AT)
    owner.refresh_from_db()
    other.refresh_from_db()
    assert (owner.records_version, other.records_version) == (1, 0)


def test_what_workshops_say_of_it_moves_along(alder: EngineFamily, spelling: EngineFamily) -> None:
    limit = OwnThresholdFactory(engine_family=spelling)
    elsewhere = OwnThresholdFactory(engine_family=alder)
    words = OwnCodeWordingFactory(engine_family=spelling)
    unit = UnitConfirmedFactory(engine_family=spelling)
    family_join(family=spelling, into=alder, at=AT)
    for said in (limit, elsewhere, words, unit):
        said.refresh_from_db()
        assert said.engine_family == alder


@pytest.mark.parametrize(
    ("factory", "same", "told"),
    [
        (OwnThresholdFactory, ("organisation", "key"), "own threshold"),
        (OwnCodeWordingFactory, ("organisation", "code"), "own code wording"),
        (UnitConfirmedFactory, ("instrument", "quantity"), "unit confirmed"),
    ],
)
def test_families_of_which_a_workshop_says_the_same_twice_are_not_joined(
    alder: EngineFamily,
    spelling: EngineFamily,
    factory: type[DjangoModelFactory],
    same: tuple[str, str],
    told: str,
) -> None:
    one = factory(engine_family=spelling)
    other = factory(engine_family=alder, **{name: getattr(one, name) for name in same})
    with pytest.raises(RuleBroken, match=f"there is one of each; got '{told} .* of ALDER-16 and"):
        family_join(family=spelling, into=alder, at=AT)
    assert EngineFamily.objects.filter(pk=spelling.pk).exists()
    other.delete()
    family_join(family=spelling, into=alder, at=AT)
    assert not EngineFamily.objects.filter(pk=spelling.pk).exists()


def test_a_family_is_not_joined_to_itself(alder: EngineFamily) -> None:
    VehicleFactory(engine_family=alder)
    with pytest.raises(RuleBroken, match="joined to another one"):
        family_join(family=alder, into=alder, at=AT)
    assert EngineFamily.objects.filter(pk=alder.pk).exists()
    assert not EngineFamilyAlias.objects.exists()


def test_what_changed_is_in_the_trail_of_those_with_such_vehicles(
    alder: EngineFamily, spelling: EngineFamily
) -> None:
    owner, other = OrganisationFactory(), OrganisationFactory()
    VehicleFactory(organisation=owner, engine_family=spelling)
    VehicleFactory(organisation=other, engine_family=alder)
    by = UserFactory()
    for _ in range(2):
        family_accept(family=spelling, at=AT, by=by)
        spelling.refresh_from_db()
    family_join(family=spelling, into=alder, at=AT, by=by)
    told = [(each.verb, each.changes, each.by) for each in AuditEntry.objects.order_by("serial")]
    assert told == [
        ("change", {"reviewed": [False, True]}, by),
        ("merge", {"joined": ["ALDER-16", "Alder 16"]}, by),
    ]
    assert set(AuditEntry.objects.values_list("organisation", flat=True)) == {owner.pk}


def test_the_log_names_ids(
    alder: EngineFamily, spelling: EngineFamily, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.INFO, "garage.records")
    by = UserFactory()
    family_join(family=spelling, into=alder, by=by, at=AT)
    family_accept(family=alder, by=by, at=AT)
    assert caplog.messages == [
        f"engine family joined family={alder.pk} by={by.pk}",
        f"engine family accepted family={alder.pk} by={by.pk}",
    ]


# --- the command ---


def listed(capsys: pytest.CaptureFixture[str], *words: str) -> list[str]:
    call_command("engine_families", *words)
    return capsys.readouterr().out.splitlines()


def test_command_lists_families_with_their_vehicles_spellings_and_review(
    alder: EngineFamily, spelling: EngineFamily, capsys: pytest.CaptureFixture[str]
) -> None:
    VehicleFactory.create_batch(2, engine_family=alder)
    EngineFamilyAliasFactory(family=alder, name="A16")
    EngineFamilyAliasFactory(family=alder, name="A16-TD")
    assert set(listed(capsys)) == {
        "Alder 16: 2 vehicles; also written A16, A16-TD",
        "ALDER-16: 0 vehicles; to review",
    }


def test_command_accepts_a_family(
    spelling: EngineFamily, capsys: pytest.CaptureFixture[str]
) -> None:
    assert listed(capsys, "--accept", "alder-16") == ["ALDER-16: 0 vehicles"]


def test_command_joins_one_to_another(
    alder: EngineFamily, spelling: EngineFamily, capsys: pytest.CaptureFixture[str]
) -> None:
    assert listed(capsys, "--join", "ALDER-16", "Alder 16") == [
        "Alder 16: 0 vehicles; also written ALDER-16"
    ]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--accept", "Cedar 9"), "got 'Cedar 9', recorded: Alder 16"),
        (("--join", "Cedar 9", "Alder 16"), "got 'Cedar 9'"),
        (("--join", "Alder 16", "Cedar 9"), "got 'Cedar 9'"),
        (("--join", "Alder 16", "Alder 16"), "joined to another one"),
        (("--join", "Alder 16"), "expected 2 arguments"),
        (("--accept", "Alder 16", "--join", "Alder 16", "Alder 16"), "not allowed with"),
    ],
)
def test_command_refuses_what_is_not_recorded_or_makes_no_sense(
    alder: EngineFamily, words: tuple[str, ...], said: str
) -> None:
    with pytest.raises(CommandError, match=said):
        call_command("engine_families", *words)
    assert EngineFamily.objects.get() == alder


def test_command_lists_nothing_where_nothing_is_recorded(
    db: None, capsys: pytest.CaptureFixture[str]
) -> None:
    assert listed(capsys) == []
