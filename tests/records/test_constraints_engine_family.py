"""What the database refuses of engine families and their aliases."""

import pytest

from tests.records.constraints import refused_by
from tests.records.factories import EngineFamilyAliasFactory, EngineFamilyFactory

pytestmark = pytest.mark.django_db


def test_engine_family_name_once_whatever_the_case() -> None:
    EngineFamilyFactory(name="Alder 16")
    EngineFamilyFactory(name="Alder 20")
    with refused_by("engine_family_name_once"):
        EngineFamilyFactory(name="ALDER 16")


def test_engine_family_named() -> None:
    EngineFamilyFactory(name="A")
    with refused_by("engine_family_named"):
        EngineFamilyFactory(name="")


def test_engine_family_alias_once_whatever_the_case_or_family() -> None:
    EngineFamilyAliasFactory(name="A16TD")
    EngineFamilyAliasFactory(name="A20TD")
    with refused_by("engine_family_alias_once"):
        EngineFamilyAliasFactory(name="a16td")


def test_engine_family_alias_named() -> None:
    EngineFamilyAliasFactory(name="a")
    with refused_by("engine_family_alias_named"):
        EngineFamilyAliasFactory(name="")
