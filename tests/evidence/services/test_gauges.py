"""Pairs of a known gauge and a display as they are written."""

from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal
from math import hypot, sqrt
from typing import Any

import pytest

from garage.evidence.services.gauges import NewPair, gauge_pair_add, gauge_pair_remove
from garage.records.errors import RuleBroken
from garage.records.models import AuditEntry, GaugePair, Instrument, Job
from tests.records.evidence_factories import InstrumentFactory
from tests.records.factories import JobFactory, UserFactory

pytestmark = pytest.mark.django_db

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)


@pytest.fixture
def job() -> Job:
    return JobFactory()


@pytest.fixture
def pair(job: Job) -> NewPair:
    display = InstrumentFactory(organisation=job.organisation)
    return NewPair(display, "50", "mbar", "5.0", largest_error="1")


def gauge_of(job: Job, **known: Any) -> Instrument:
    return InstrumentFactory(organisation=job.organisation, **known)


def test_pair_is_kept_as_typed_with_steps_and_uncertainty(job: Job, pair: NewPair) -> None:
    """A largest error a leaves a / root 3, a step d leaves d / root 12: JCGM 100:2008, 4.3.7."""
    member = UserFactory()
    kept = gauge_pair_add(job=job, new=pair, at=AT, by=member)
    kept.refresh_from_db()
    assert (kept.applied_pa, kept.applied_typed) == (5_000.0, "50 mbar")
    assert (kept.shown, kept.shown_resolution) == (Decimal("5.0"), Decimal("0.1"))
    assert kept.applied_error_pa == pytest.approx(hypot(100 / sqrt(3), 100 / sqrt(12)))
    assert (kept.falling, kept.taken_at, kept.taken_by) == (False, AT, member)
    assert AuditEntry.objects.get().thing == "gaugepair"


def test_error_comes_from_the_gauge_where_none_is_typed(job: Job, pair: NewPair) -> None:
    gauge = gauge_of(job, unit="kPa", resolution=Decimal("0.05"), accuracy_share=0.02)
    kept = gauge_pair_add(job=job, new=replace(pair, largest_error="", gauge=gauge), at=AT)
    assert kept.applied_error_pa == pytest.approx(hypot(100 / sqrt(3), 50 / sqrt(12)))
    typed = gauge_pair_add(job=job, new=replace(pair, largest_error="2", gauge=gauge), at=AT)
    assert typed.applied_error_pa == pytest.approx(hypot(200 / sqrt(3), 50 / sqrt(12)))


def test_gauge_at_nothing_applied_still_has_its_step(job: Job, pair: NewPair) -> None:
    gauge = gauge_of(job, accuracy_share=0.02)
    nothing = replace(pair, applied="0", shown="0.0", largest_error="", gauge=gauge)
    kept = gauge_pair_add(job=job, new=nothing, at=AT)
    assert kept.applied_error_pa == pytest.approx(100 / sqrt(12))


def test_display_that_counts_in_larger_steps_keeps_them(job: Job, pair: NewPair) -> None:
    display = gauge_of(job, resolution=Decimal(5))
    kept = gauge_pair_add(job=job, new=replace(pair, display=display, shown="50"), at=AT)
    assert kept.shown_resolution == 5


def test_pressure_let_down_and_below_zero_are_kept(job: Job, pair: NewPair) -> None:
    drawn = replace(pair, applied="-12,5", shown="\N{MINUS SIGN}1.3", falling=True)
    kept = gauge_pair_add(job=job, new=drawn, at=AT)
    assert (kept.applied_pa, kept.shown, kept.falling) == (-1_250.0, Decimal("-1.3"), True)


@pytest.mark.parametrize(
    ("changed", "column"),
    [
        ({"applied": "fifty"}, "applied"),
        ({"applied": "1,500"}, "applied"),
        ({"applied": "5; 6"}, "applied"),
        ({"applied": "10001"}, "applied"),
        ({"applied_unit": ""}, "applied_unit"),
        ({"applied_unit": "stone"}, "applied_unit"),
        ({"shown": "5 kPa"}, "shown"),
        ({"shown": "123456789"}, "shown"),
        ({"shown": "0.1234567"}, "shown"),
        ({"largest_error": ""}, "largest_error"),
        ({"largest_error": "-1"}, "largest_error"),
        ({"largest_error": "1000001", "applied_unit": "Pa"}, "largest_error"),
        ({"largest_error": "little"}, "largest_error"),
    ],
)
def test_pair_that_cannot_be_is_refused(
    job: Job, pair: NewPair, changed: dict[str, Any], column: str
) -> None:
    with pytest.raises(RuleBroken) as refused:
        gauge_pair_add(job=job, new=replace(pair, **changed), at=AT)
    assert column in [each.column for each in refused.value.broken]
    assert not GaugePair.objects.exists()


def test_gauge_whose_error_is_not_kept_is_refused(job: Job, pair: NewPair) -> None:
    gauge = gauge_of(job, unit="mbar", resolution=Decimal(1))
    with pytest.raises(RuleBroken) as refused:
        gauge_pair_add(job=job, new=replace(pair, largest_error="", gauge=gauge), at=AT)
    assert refused.value.column == "largest_error"


def test_all_faults_are_told_at_once(job: Job, pair: NewPair) -> None:
    wrong = replace(pair, applied="x", applied_unit="x", shown="x", largest_error="x")
    with pytest.raises(RuleBroken) as refused:
        gauge_pair_add(job=job, new=wrong, at=AT)
    assert [each.column for each in refused.value.broken] == [
        "applied",
        "shown",
        "largest_error",
        "applied_unit",
    ]


@pytest.mark.parametrize("column", ["display", "gauge"])
def test_instrument_of_another_workshop_is_refused(job: Job, pair: NewPair, column: str) -> None:
    with pytest.raises(RuleBroken) as refused:
        gauge_pair_add(job=job, new=replace(pair, **{column: InstrumentFactory()}), at=AT)
    assert refused.value.column == column


def test_display_is_not_its_own_gauge(job: Job, pair: NewPair) -> None:
    with pytest.raises(RuleBroken, match="another instrument"):
        gauge_pair_add(job=job, new=replace(pair, gauge=pair.display), at=AT)


def test_pair_typed_wrongly_is_removed_and_the_trail_says_so(job: Job, pair: NewPair) -> None:
    kept = gauge_pair_add(job=job, new=pair, at=AT)
    gauge_pair_remove(pair=kept, at=AT)
    assert not GaugePair.objects.exists()
    entry = AuditEntry.objects.order_by("serial")[1]
    assert (entry.verb, entry.thing_id, entry.changes) == (
        "remove",
        kept.pk,
        {"pair": ["50 mbar: 5", None]},
    )
