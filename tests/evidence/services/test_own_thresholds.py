"""Own limits as they are written: each refusal differs from a success in one thing."""

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest

from garage.evidence.services.own_thresholds import (
    OwnLimit,
    own_threshold_remove,
    own_threshold_set,
)
from garage.records.errors import RuleBroken
from garage.records.models import AuditEntry, EngineFamily, Organisation, OwnThreshold
from tests.records.evidence_factories import OwnThresholdFactory
from tests.records.factories import EngineFamilyFactory, OrganisationFactory

pytestmark = pytest.mark.django_db

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
ZERO = OwnLimit("zero_good_mbar", 1.5, "own gauge, checked in March")


@pytest.fixture
def organisation() -> Organisation:
    return OrganisationFactory()


@pytest.fixture
def family() -> EngineFamily:
    return EngineFamilyFactory(name="Alder 16")


def test_own_limit_is_kept_with_an_audit_row(organisation: Organisation) -> None:
    kept = own_threshold_set(organisation=organisation, limit=ZERO, at=AT)
    assert OwnThreshold.objects.get() == kept
    assert (kept.value, kept.source, kept.engine_family) == (1.5, ZERO.source, None)
    audit = AuditEntry.objects.get()
    assert (audit.verb, audit.changes["value"]) == ("add", [None, 1.5])
    assert audit.changes["limit"] == ["zero_good_mbar", "zero_good_mbar"]


def test_second_value_takes_the_place_of_the_first(organisation: Organisation) -> None:
    own_threshold_set(organisation=organisation, limit=ZERO, at=AT)
    own_threshold_set(organisation=organisation, limit=replace(ZERO, value=1.8), at=AT)
    assert OwnThreshold.objects.get().value == 1.8
    assert [each.verb for each in AuditEntry.objects.order_by("serial")] == ["add", "change"]
    assert AuditEntry.objects.get(serial=2).changes["value"] == [1.5, 1.8]


def test_same_value_again_changes_nothing(organisation: Organisation) -> None:
    own_threshold_set(organisation=organisation, limit=ZERO, at=AT)
    own_threshold_set(organisation=organisation, limit=ZERO, at=AT)
    assert AuditEntry.objects.count() == 1


def test_familys_own_limit_stands_beside_that_for_all(
    organisation: Organisation, family: EngineFamily
) -> None:
    own_threshold_set(organisation=organisation, limit=ZERO, at=AT)
    own_threshold_set(organisation=organisation, limit=replace(ZERO, engine_family=family), at=AT)
    assert OwnThreshold.objects.count() == 2


@pytest.mark.parametrize(
    ("changed", "column"),
    [
        ({"key": "zero_fine_mbar"}, "key"),
        ({"value": 0.05}, "value"),
        ({"value": 10.5}, "value"),
        ({"value": float("nan")}, "value"),
        ({"value": float("inf")}, "value"),
        ({"key": "recent_clear_km", "value": float("inf")}, "value"),
        ({"source": "  "}, "source"),
        ({"source": "x" * 201}, "source"),
    ],
)
def test_own_limit_that_cannot_be_is_refused(
    organisation: Organisation, changed: dict[str, Any], column: str
) -> None:
    with pytest.raises(RuleBroken) as refused:
        own_threshold_set(organisation=organisation, limit=replace(ZERO, **changed), at=AT)
    assert [each.column for each in refused.value.broken] == [column]
    assert not OwnThreshold.objects.exists()
    assert not AuditEntry.objects.exists()


def test_all_faults_are_told_at_once(organisation: Organisation) -> None:
    with pytest.raises(RuleBroken) as refused:
        own_threshold_set(
            organisation=organisation, limit=OwnLimit("zero_good_mbar", 11.0, ""), at=AT
        )
    assert [each.column for each in refused.value.broken] == ["value", "source"]


def test_limit_past_its_neighbour_is_refused_until_that_is_set(organisation: Organisation) -> None:
    past = replace(ZERO, value=6.0)
    with pytest.raises(RuleBroken, match=r"is not above .* got .6 and 5 mbar for all"):
        own_threshold_set(organisation=organisation, limit=past, at=AT)
    most = OwnLimit("zero_most_mbar", 8.0, "own gauge")
    own_threshold_set(organisation=organisation, limit=most, at=AT)
    assert own_threshold_set(organisation=organisation, limit=past, at=AT).value == 6.0


def test_limit_for_all_past_a_familys_own_is_refused(
    organisation: Organisation, family: EngineFamily
) -> None:
    own = OwnLimit("zero_most_mbar", 1.9, "its sensor", family)
    own_threshold_set(organisation=organisation, limit=replace(ZERO, value=1.9), at=AT)
    own_threshold_set(organisation=organisation, limit=own, at=AT)
    with pytest.raises(RuleBroken, match="for Alder 16"):
        own_threshold_set(organisation=organisation, limit=replace(ZERO, value=1.95), at=AT)
    assert OwnThreshold.objects.get(key="zero_good_mbar").value == 1.9


def test_limit_out_of_order_elsewhere_does_not_stop_this_one(organisation: Organisation) -> None:
    OwnThresholdFactory(organisation=organisation, key="raised_most_rpm", value=1800.0)
    assert own_threshold_set(organisation=organisation, limit=ZERO, at=AT).value == 1.5


def test_removed_limit_is_gone_with_an_audit_row(organisation: Organisation) -> None:
    kept = own_threshold_set(organisation=organisation, limit=ZERO, at=AT)
    own_threshold_remove(own=kept, at=AT)
    own_threshold_remove(own=OwnThreshold(pk=kept.pk, organisation=organisation), at=AT)
    assert not OwnThreshold.objects.exists()
    audit = AuditEntry.objects.order_by("serial")
    assert [each.verb for each in audit] == ["add", "remove"]
    assert audit[1].changes["value"] == [1.5, None]


def test_limit_whose_neighbour_would_be_passed_is_not_removed(organisation: Organisation) -> None:
    most = OwnLimit("zero_most_mbar", 8.0, "own gauge")
    kept = own_threshold_set(organisation=organisation, limit=most, at=AT)
    good = own_threshold_set(organisation=organisation, limit=replace(ZERO, value=6.0), at=AT)
    with pytest.raises(RuleBroken, match="is not above"):
        own_threshold_remove(own=kept, at=AT)
    own_threshold_remove(own=good, at=AT)
    own_threshold_remove(own=kept, at=AT)
    assert not OwnThreshold.objects.exists()
