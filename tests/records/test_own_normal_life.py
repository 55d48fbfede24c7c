"""An organisation's own value for the normal life of a part."""

import logging
import math
from datetime import UTC, datetime
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from garage.records.errors import RuleBroken
from garage.records.models import AuditEntry, Organisation, OwnNormalLife, PartKind
from garage.records.services.normal_life import (
    USUAL_SHAPE,
    NormalLifeValue,
    own_normal_life_set,
)
from tests.records.factories import OrganisationFactory, UserFactory

pytestmark = pytest.mark.django_db

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)


@pytest.fixture
def workshop() -> Organisation:
    return OrganisationFactory(code="alder")


def particulate_filter() -> PartKind:
    return PartKind.objects.get(code="particulate_filter")


def put(workshop: Organisation, **said: Any) -> OwnNormalLife:
    value = {"origin": "factory", "median_km": 280_000, "source": "our log", **said}
    return own_normal_life_set(
        organisation=workshop,
        part_kind=particulate_filter(),
        value=NormalLifeValue(**value),
        at=AT,
    )


def test_a_value_is_recorded_with_its_source_and_the_usual_shape(workshop: Organisation) -> None:
    own = put(workshop, source="  our log ")
    assert (own.median_km, own.shape, own.source) == (280_000, USUAL_SHAPE, "our log")
    assert USUAL_SHAPE == 2.5


def test_each_value_is_in_the_trail_once(workshop: Organisation) -> None:
    put(workshop)
    put(workshop)
    put(workshop, median_km=200_000)
    told = [(each.verb, each.changes) for each in AuditEntry.objects.order_by("serial")]
    said = {"median_km": [None, 280_000], "shape": [None, 2.5], "source": [None, "our log"]}
    assert told == [("add", said), ("change", {"median_km": [280_000, 200_000]})]


def test_a_value_of_the_same_origin_takes_the_place_of_the_earlier(workshop: Organisation) -> None:
    put(workshop)
    put(workshop, median_km=200_000, shape=3.0, source="measured")
    own = OwnNormalLife.objects.get()
    assert (own.median_km, own.shape, own.source) == (200_000, 3.0, "measured")


def test_each_origin_and_organisation_has_its_own(workshop: Organisation) -> None:
    put(workshop)
    put(workshop, origin="cleaned", median_km=90_000)
    put(OrganisationFactory(), median_km=300_000)
    assert OwnNormalLife.objects.count() == 3


def test_kept_reports_of_this_organisation_become_stale_others_stay(
    workshop: Organisation,
) -> None:
    other = OrganisationFactory()
    put(workshop)
    workshop.refresh_from_db()
    other.refresh_from_db()
    assert (workshop.records_version, other.records_version) == (1, 0)


@pytest.mark.parametrize(
    ("said", "column"),
    [
        ({"origin": "homemade"}, "origin"),
        ({"median_km": 0}, "median_km"),
        ({"median_km": -1}, "median_km"),
        ({"shape": 0.0}, "shape"),
        ({"shape": math.nan}, "shape"),
        ({"shape": math.inf}, "shape"),
        ({"source": " "}, "source"),
        ({"source": "x" * 201}, "source"),
        ({"median_km": 10_000_001}, "median_km"),
    ],
)
def test_a_value_that_breaks_a_rule_is_refused_by_its_column(
    workshop: Organisation, said: dict[str, Any], column: str
) -> None:
    with pytest.raises(RuleBroken) as refusal:
        put(workshop, **said)
    assert refusal.value.column == column
    assert not OwnNormalLife.objects.exists()
    workshop.refresh_from_db()
    assert workshop.records_version == 0


@pytest.mark.parametrize("said", [{"median_km": 1}, {"shape": 0.5}, {"source": "x" * 200}])
def test_a_value_at_the_edge_of_a_rule_is_kept(
    workshop: Organisation, said: dict[str, Any]
) -> None:
    put(workshop, **said)
    assert OwnNormalLife.objects.filter(**said).exists()


def test_the_log_names_who_did_it_by_id(
    workshop: Organisation, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.INFO, "garage.records")
    by = UserFactory()
    own_normal_life_set(
        organisation=workshop,
        part_kind=particulate_filter(),
        value=NormalLifeValue("factory", 280_000, "our log"),
        at=AT,
        by=by,
    )
    assert f"organisation={workshop.pk}" in caplog.text
    assert f"by={by.pk}" in caplog.text
    assert "our log" not in caplog.text


# --- the command ---

GIVEN = ("--origin", "cleaned", "--median-km", "90000", "--source", "our log")


def test_command_sets_the_value_and_says_so(
    workshop: Organisation, capsys: pytest.CaptureFixture[str]
) -> None:
    call_command("set_normal_life", "alder", "particulate_filter", *GIVEN, "--shape", "2")
    own = OwnNormalLife.objects.get()
    assert (own.origin, own.median_km, own.shape, own.source) == ("cleaned", 90_000, 2, "our log")
    assert "fail by 90000 km" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("organisation", "part_kind", "said"),
    [
        ("cedar", "particulate_filter", r"organisation must be recorded; got 'cedar'.*add_organi"),
        ("alder", "alternator", r"part kind must be recorded; got 'alternator'.*add_part_kind"),
    ],
)
def test_command_refuses_what_is_not_recorded(
    workshop: Organisation, organisation: str, part_kind: str, said: str
) -> None:
    with pytest.raises(CommandError, match=said) as refusal:
        call_command("set_normal_life", organisation, part_kind, *GIVEN)
    assert refusal.value.returncode == 2


@pytest.mark.parametrize(
    ("word", "value", "said"),
    [
        ("--median-km", "0", "median_km"),
        ("--median-km", "many", "invalid int value"),
        ("--origin", "homemade", "invalid choice"),
        ("--source", " ", "source"),
    ],
)
def test_command_refuses_a_value_that_breaks_a_rule(
    workshop: Organisation, word: str, value: str, said: str
) -> None:
    given = list(GIVEN)
    given[given.index(word) + 1] = value
    with pytest.raises(CommandError, match=said):
        call_command("set_normal_life", "alder", "particulate_filter", *given)
    assert not OwnNormalLife.objects.exists()
