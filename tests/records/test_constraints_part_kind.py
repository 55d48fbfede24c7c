"""What the database refuses of part kinds and of an organisation's own normal lives."""

import pytest
from django.db import IntegrityError, transaction

from garage.records.choices import Origin
from garage.records.models import PartKind
from tests.records.constraints import refused_by
from tests.records.factories import (
    OrganisationFactory,
    OwnNormalLifeFactory,
    PartKindFactory,
)

pytestmark = pytest.mark.django_db


def test_part_kind_code_is_given_once() -> None:
    PartKind.objects.create(code="carburettor", name="injector", system="fuel")
    PartKind.objects.create(code="fuel_pump", name="injector", system="fuel")
    with pytest.raises(IntegrityError, match="code"), transaction.atomic():
        PartKind.objects.create(code="carburettor", name="injector", system="fuel")


@pytest.mark.parametrize("km", [None, 1, 320_000])
def test_part_kind_normal_life_positive(km: int | None) -> None:
    PartKindFactory(normal_life_km=km, normal_life_source="invented")
    with refused_by("part_kind_normal_life_positive"):
        PartKindFactory(normal_life_km=0, normal_life_source="invented")


def test_part_kind_normal_life_has_source() -> None:
    PartKindFactory(normal_life_km=320_000, normal_life_source="invented")
    PartKindFactory(normal_life_km=None, normal_life_source="")
    with refused_by("part_kind_normal_life_has_source"):
        PartKindFactory(normal_life_km=320_000, normal_life_source="")


def test_part_kind_system_known() -> None:
    PartKindFactory(system="cooling")
    with refused_by("part_kind_system_known"):
        PartKindFactory(system="gearbox")


def test_own_normal_life_once() -> None:
    alder, injector = OrganisationFactory(), PartKindFactory()
    given = {"organisation": alder, "part_kind": injector, "origin": Origin.FACTORY}
    OwnNormalLifeFactory(**given)
    OwnNormalLifeFactory(**given | {"organisation": OrganisationFactory()})
    OwnNormalLifeFactory(**given | {"part_kind": PartKindFactory()})
    OwnNormalLifeFactory(**given | {"origin": Origin.CLEANED})
    with refused_by("own_normal_life_once"):
        OwnNormalLifeFactory(**given)


@pytest.mark.parametrize("fault", [{"median_km": 0}, {"shape": 0.0}, {"shape": -2.5}])
def test_own_normal_life_positive(fault: dict[str, float]) -> None:
    sound: dict[str, float] = {"median_km": 1, "shape": 0.1}
    OwnNormalLifeFactory(**sound)
    with refused_by("own_normal_life_positive"):
        OwnNormalLifeFactory(**sound | fault)


def test_own_normal_life_has_source() -> None:
    OwnNormalLifeFactory(source="own records")
    with refused_by("own_normal_life_has_source"):
        OwnNormalLifeFactory(source="")


def test_catalogue_holds_the_particulate_filter_from_the_start() -> None:
    # 320 000 km: common practice, no source; docs/statistics.md says so too.
    part = PartKind.objects.get(code="particulate_filter")
    assert part.system == "exhaust_aftertreatment"
    assert part.normal_life_km == 320_000
    assert part.normal_life_source == "common practice, no source"
    assert part.fitted_from_new is True


def test_part_kind_wears_by_known() -> None:
    PartKindFactory(wears_by="both")
    with refused_by("part_kind_wears_by_known"):
        PartKindFactory(wears_by="temper")


def test_part_kind_life_in_months_has_a_source_too() -> None:
    PartKindFactory(wears_by="months", normal_life_months=60, normal_life_source="handbook")
    with refused_by("part_kind_normal_life_has_source"):
        PartKindFactory(wears_by="months", normal_life_months=60)
