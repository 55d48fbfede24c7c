"""Own limits as they hold: the organisation's for all, a family's own on top, the rest told."""

from typing import Any

import pytest

from garage.evidence.limits_shipped import GROUPS, IN_ORDER, SHIPPED, out_of_order
from garage.evidence.own_limits import limits_for
from garage.evidence.thresholds import Override
from garage.records.models import EngineFamily, Organisation
from tests.records.evidence_factories import OwnThresholdFactory
from tests.records.factories import EngineFamilyFactory, OrganisationFactory


@pytest.fixture
def organisation(db: None) -> Organisation:
    return OrganisationFactory()


@pytest.fixture
def family(db: None) -> EngineFamily:
    return EngineFamilyFactory(name="Alder 16")


def test_every_limit_that_a_part_asks_for_is_shipped_with_the_same_value() -> None:
    asked = {key: group.asked[key] for group in GROUPS for key in group.asked}
    assert asked == {key: SHIPPED[key] for key in SHIPPED}


def test_shipped_limits_lie_in_order_and_each_scale_is_one_of_limits() -> None:
    assert list(out_of_order(SHIPPED)) == []
    assert {key for scale in IN_ORDER for key in scale} <= set(SHIPPED)
    # Scales of one unit: to hold a pressure against a speed would part nothing.
    for scale in IN_ORDER:
        assert len({SHIPPED.told(key).unit for key in scale}) == 1


@pytest.mark.parametrize("scale", IN_ORDER)
def test_limit_past_its_neighbour_is_out_of_order(scale: tuple[str, ...]) -> None:
    lower, higher = SHIPPED.told(scale[0]), scale[1]
    value = min(SHIPPED[higher], lower.most)

    def told(next_value: float) -> bool:
        own = [Override(lower.key, value, "own"), Override(higher, next_value, "own")]
        found = out_of_order(SHIPPED.overridden(own))
        return (lower.key, higher) in {(each.lower.key, each.higher.key) for each in found}

    assert not told(value)
    assert told(value * 0.999)


def test_without_own_limits_those_shipped_hold(organisation: Organisation) -> None:
    limits = limits_for(organisation.pk, None)
    assert limits.findings["zero_good_mbar"] == SHIPPED["zero_good_mbar"]
    assert not limits.findings.is_own("zero_good_mbar")
    assert limits.ignored == ()


def test_own_limit_holds_in_every_part_that_asks_for_it(organisation: Organisation) -> None:
    OwnThresholdFactory(organisation=organisation, key="zero_good_mbar", value=1.5)
    limits = limits_for(organisation.pk, None)
    parts = (limits.findings, limits.gauges, limits.resistance)
    assert [each["zero_good_mbar"] for each in parts] == [1.5, 1.5, 1.5]
    assert limits.findings.told("zero_good_mbar").source == "invented for a test"


@pytest.mark.parametrize("family_first", [False, True])
def test_familys_own_limit_wins_over_that_for_all(
    organisation: Organisation, family: EngineFamily, family_first: bool
) -> None:
    rows = [{"engine_family": None, "value": 1.5}, {"engine_family": family, "value": 3.0}]
    for row in reversed(rows) if family_first else rows:
        OwnThresholdFactory(organisation=organisation, **row)
    assert limits_for(organisation.pk, family.pk).findings["zero_good_mbar"] == 3.0
    assert limits_for(organisation.pk, None).findings["zero_good_mbar"] == 1.5
    other = EngineFamilyFactory(name="Birch 20")
    assert limits_for(organisation.pk, other.pk).findings["zero_good_mbar"] == 1.5


def test_anothers_own_limit_holds_not_here(organisation: Organisation) -> None:
    OwnThresholdFactory(value=1.5)
    assert limits_for(organisation.pk, None).findings["zero_good_mbar"] == SHIPPED["zero_good_mbar"]


@pytest.mark.parametrize(
    ("stored", "reason"),
    [
        ({"key": "no_longer_held_mbar"}, "no such limit"),
        ({"value": 11.0}, "out of the range"),
    ],
)
def test_own_limit_that_cannot_hold_is_ignored_and_told(
    organisation: Organisation, stored: dict[str, Any], reason: str
) -> None:
    OwnThresholdFactory(organisation=organisation, **stored)
    OwnThresholdFactory(organisation=organisation, key="interval_short_km", value=150.0)
    limits = limits_for(organisation.pk, None)
    assert [reason in each.reason for each in limits.ignored] == [True]
    assert limits.findings["zero_good_mbar"] == SHIPPED["zero_good_mbar"]
    assert limits.findings["interval_short_km"] == limits.drives["interval_short_km"] == 150.0


@pytest.mark.parametrize("count", [0, 5])
def test_limits_take_one_query(
    organisation: Organisation, count: int, django_assert_num_queries: Any
) -> None:
    keys = [key for key in SHIPPED if SHIPPED.told(key).most < float("inf")][:count]
    for key in keys:
        OwnThresholdFactory(organisation=organisation, key=key, value=SHIPPED[key])
    with django_assert_num_queries(1):
        limits_for(organisation.pk, None)
