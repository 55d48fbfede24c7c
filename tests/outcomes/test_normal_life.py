"""Normal life: the organisation's own value, else the register's law, else the catalogue's."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from garage.lifetimes.capture.share import CapturePrior, capture_share
from garage.lifetimes.laws.weibull import WeibullLaw
from garage.outcomes.capture import Captures
from garage.outcomes.choices import Ending, LifeClass
from garage.outcomes.curve_lives import GroupLives
from garage.outcomes.lives import Life, Silence
from garage.outcomes.normal_life import (
    CATALOGUE_SHAPE,
    FEWEST_WORN,
    ORIGIN_FACTORS,
    NormalLife,
    NormalLives,
    normal_lives,
)
from garage.outcomes.visits import visits_follow
from garage.records.choices import Origin
from garage.records.models import Organisation, PartKind
from tests.outcomes.customers import Customers, facts_of
from tests.outcomes.histories import filter_kind
from tests.outcomes.worlds import ALL_SEEN, life, together
from tests.records.factories import OrganisationFactory, OwnNormalLifeFactory, PartKindFactory

pytestmark = pytest.mark.django_db


def normal(
    lives: Sequence[Life] = (), part_kind: PartKind | None = None, of: Sequence[Organisation] = ()
) -> NormalLives:
    return normal_lives(part_kind or filter_kind(), [each.pk for each in of], together(list(lives)))


def known(found: NormalLives, organisation_id: int, origin: str) -> NormalLife:
    law = found.of(organisation_id, origin)
    assert law is not None
    return law


def sound(number: int, *, median_km: int = 250_000, seed: int = 1) -> list[Life]:
    """Parts of vehicles that wear out in the ordinary way."""
    rng = np.random.default_rng(seed)
    scale = median_km / np.log(2) ** (1 / 3)
    return [life(int(km) + 1, failed=True) for km in scale * rng.weibull(3, number)]


# --- the catalogue's ---


def test_a_filters_catalogue_median_is_320_000_km_with_shape_2_5() -> None:
    # Common practice, no source: the catalogue says so itself.
    law = known(normal(), 1, Origin.FACTORY)
    assert (law.median_km, law.law.shape, law.rule) == (320_000, 2.5, "catalogue")
    assert law.law.median == pytest.approx(320_000)
    assert law.source == filter_kind().normal_life_source
    assert CATALOGUE_SHAPE == 2.5


@pytest.mark.parametrize("origin", sorted(set(Origin.values) - {Origin.FACTORY}))
def test_each_origin_has_a_factor_of_its_own_that_its_source_names(origin: str) -> None:
    law = known(normal(), 1, origin)
    factor = ORIGIN_FACTORS[Origin(origin)]
    assert 0 < factor < 1
    assert law.law.median == pytest.approx(320_000 * factor)
    assert str(factor) in law.source
    assert "not measured" in law.source


def test_a_part_kind_without_a_normal_life_has_none_and_says_what_to_do() -> None:
    part_kind = PartKindFactory(normal_life_km=None)
    found = normal(part_kind=part_kind)
    assert found.of(1, Origin.FACTORY) is None
    assert "add_part_kind --normal-life-km" in found.reason
    assert normal().reason == ""


# --- the organisation's own goes first ---


def test_an_organisations_own_value_goes_before_the_catalogue_for_its_origin_alone() -> None:
    own, other = OrganisationFactory(), OrganisationFactory()
    OwnNormalLifeFactory(
        organisation=own, part_kind=filter_kind(), median_km=200_000, shape=3, source="our log"
    )
    found = normal(of=[own, other])
    mine = known(found, own.pk, Origin.FACTORY)
    assert (mine.median_km, mine.law.shape, mine.rule, mine.source) == (
        200_000,
        3,
        "own",
        "our log",
    )
    assert mine.law.median == pytest.approx(200_000)
    assert known(found, own.pk, Origin.CLEANED).rule == "catalogue"
    assert known(found, other.pk, Origin.FACTORY).rule == "catalogue"


def test_an_own_value_goes_before_the_registers_law_too() -> None:
    own = OrganisationFactory()
    OwnNormalLifeFactory(organisation=own, part_kind=filter_kind(), median_km=200_000)
    found = normal(sound(100), of=[own])
    assert known(found, own.pk, Origin.FACTORY).rule == "own"
    assert known(found, own.pk + 1, Origin.FACTORY).rule == "register"


def test_an_own_value_of_another_part_kind_or_out_of_view_does_not_hold() -> None:
    own = OrganisationFactory()
    OwnNormalLifeFactory(organisation=own, part_kind=PartKindFactory(), median_km=200_000)
    assert known(normal(of=[own]), own.pk, Origin.FACTORY).rule == "catalogue"
    OwnNormalLifeFactory(organisation=own, part_kind=filter_kind(), median_km=200_000)
    assert known(normal(of=[own]), own.pk, Origin.FACTORY).rule == "own"
    assert known(normal(), own.pk, Origin.FACTORY).rule == "catalogue"


def test_an_own_value_is_enough_where_the_catalogue_has_none() -> None:
    own, part_kind = OrganisationFactory(), PartKindFactory(normal_life_km=None)
    OwnNormalLifeFactory(organisation=own, part_kind=part_kind, median_km=90_000)
    found = normal(part_kind=part_kind, of=[own])
    assert (found.reason, known(found, own.pk, Origin.FACTORY).median_km) == ("", 90_000)


# --- the register's ---


def test_enough_worn_parts_make_the_registers_own_law() -> None:
    law = known(normal(sound(150)), 1, Origin.FACTORY)
    assert (law.rule, law.n) == ("register", 150)
    assert law.failed >= FEWEST_WORN
    assert law.median_km == pytest.approx(250_000, rel=0.08)
    assert law.median_lower_km is not None
    assert law.median_upper_km is not None
    assert law.median_lower_km < law.median_km < law.median_upper_km


def test_too_few_failures_leave_it_to_the_catalogue() -> None:
    few = sound(FEWEST_WORN - 1)
    assert known(normal(few), 1, Origin.FACTORY).rule == "catalogue"


def test_the_faulty_are_separated_and_do_not_shorten_normal_life() -> None:
    healthy = sound(150)
    rng = np.random.default_rng(2)
    ruined = [
        life(int(km) + 1, failed=True, vehicle_id=900_000 + place // 3)
        for place, km in enumerate(20_000 * rng.weibull(1.5, 24))
    ]
    with_faulty = known(normal(healthy + ruined), 1, Origin.FACTORY).median_km
    pooled = float(np.median([each.seen_km for each in healthy + ruined]))
    without = known(normal(healthy), 1, Origin.FACTORY).median_km
    assert with_faulty == pytest.approx(without, rel=0.04)
    assert pooled < 0.95 * without


def test_only_used_lives_with_watched_time_are_fitted() -> None:
    extra = [
        life(50_000, failed=True, life_class=LifeClass.ENTERED_IN_TROUBLE),
        life(0, presumed_km=40_000),
    ]
    found = normal([*sound(30), *extra])
    assert len(found.rows) == 30


# --- lives as expected ---


def world_of(count: int, shares: Captures = ALL_SEEN) -> NormalLives:
    return normal_lives(filter_kind(), [], replace(view_of(count), captures=shares))


def view_of(count: int, **customers: float) -> GroupLives:
    """Parts that last 200 000 km in the middle, on vehicles of customers who leave."""
    law = WeibullLaw(2.5, 200_000 / np.log(2) ** (1 / 2.5))
    facts, lives = Customers(**customers).with_parts(count, law=law)  # type: ignore[arg-type]
    return GroupLives(lives, ALL_SEEN, visits_follow(facts, lives))


def test_silent_lives_are_counted_as_expected_and_the_median_is_found() -> None:
    group = view_of(800, leaving_a_year=0.25)
    law = known(normal_lives(filter_kind(), [], group), 1, Origin.FACTORY)
    assert law.source.endswith("lives as expected")
    # 43 failed: a standard error of some 7 %.
    assert law.median_km == pytest.approx(200_000, rel=0.10)
    # To their last jobs, and to today, the same lives miss it on either side.
    as_seen = normal([ended(each, each.seen_km) for each in group.lives])
    as_presumed = normal([ended(each, each.presumed_km) for each in group.lives])
    assert known(as_seen, 1, Origin.FACTORY).median_km < 180_000
    assert known(as_presumed, 1, Origin.FACTORY).median_km > 300_000


def ended(running: Life, km: int) -> Life:
    """The same, known to have left there."""
    return replace(running, silence=None, seen_km=km, presumed_km=km)


def test_its_hazard_is_divided_by_the_capture_share() -> None:
    half = Captures({1: capture_share(1_000, 0, prior=CapturePrior(0, 0.5, 2_000))})
    share = half.value(1)
    whole = known(world_of(300), 1, Origin.FACTORY)
    halved = known(world_of(300, half), 1, Origin.FACTORY)
    stretch = share ** (1 / whole.law.shape)
    assert halved.law.shape == whole.law.shape
    for one, other in (
        (halved.median_km, whole.median_km),
        (halved.median_lower_km, whole.median_lower_km),
        (halved.median_upper_km, whole.median_upper_km),
    ):
        assert one is not None
        assert other is not None
        assert one == pytest.approx(other * stretch)


def test_without_a_law_of_visits_lives_count_as_seen_and_uncorrected() -> None:
    few = [replace(each, silence=Silence(each.seen_km, 900, 50.0)) for each in sound(150)]
    running_on = [replace(each, ending=Ending.STILL_IN_PLACE) for each in few[:20]]
    facts = facts_of(*Customers().vehicles(3))
    lives = [*sound(150), *running_on]
    half = Captures({1: capture_share(8, 8)})
    found = normal_lives(filter_kind(), [], GroupLives(lives, half, visits_follow(facts, [])))
    as_seen = normal([ended(each, each.seen_km) for each in lives])
    law, seen = known(found, 1, Origin.FACTORY), known(as_seen, 1, Origin.FACTORY)
    assert law.source.endswith("lives as seen")
    assert law.median_km == pytest.approx(seen.median_km)


def test_the_mixture_behind_verdicts_sees_lives_to_their_last_job() -> None:
    found = world_of(200)
    assert all(each.seen_km > each.entry_km for each in found.rows)
    failed = sum(each.failed for each in found.rows)
    assert (found.mixture.n, found.mixture.failed) == (len(found.rows), failed)
