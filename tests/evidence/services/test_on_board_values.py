"""What a vehicle answered, kept as readings: all that is chosen, or nothing."""

from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any

import pytest

from garage.evidence.services.on_board_values import OnBoardChosen, on_board_keep
from garage.records.errors import RuleBroken
from garage.records.models import AuditEntry, FindingSeen, Job, Reading
from tests.records.factories import JobFactory

pytestmark = pytest.mark.django_db

AT = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
TEXT = "41 31 01 2C\n41 7A 01 00 30 00 00 00 00\n41 01 82 08 40 40\n41 0C FF FF"
SAID = OnBoardChosen(TEXT, (0, 1), condition="idle")


@pytest.fixture
def job() -> Job:
    return JobFactory()


def test_chosen_values_are_kept_in_their_unit_with_where_they_are_from(job: Job) -> None:
    on_board_keep(job=job, said=SAID, at=AT)
    distance, pressure = Reading.objects.order_by("pk")
    assert (distance.quantity, distance.value, distance.unit) == (
        "distance_since_clear",
        Decimal(300),
        "km",
    )
    # 0x0030 is 48, and one bit is 0.01 kPa: 0.48 kPa are 4.8 mbar.
    assert pressure.standard_value == pytest.approx(4.8)
    assert (pressure.condition, pressure.phase) == ("idle", "arrival")
    assert pressure.note == "answered by the vehicle, PID 7A"
    assert not FindingSeen.objects.exists()
    assert AuditEntry.objects.count() == 2


def test_counter_at_its_end_is_kept_where_it_holds(job: Job) -> None:
    on_board_keep(job=job, said=OnBoardChosen("41 31 FF FF", (0,)), at=AT)
    assert Reading.objects.get().standard_value == 65_535


def test_state_of_the_tests_is_kept_as_a_finding_of_the_phase(job: Job) -> None:
    said = OnBoardChosen(TEXT, (), tests=True, phase="recheck")
    on_board_keep(job=job, said=said, at=AT)
    kept = FindingSeen.objects.get()
    assert (kept.finding, kept.state, kept.phase) == ("self_tests", "not_finished", "recheck")


@pytest.mark.parametrize(
    ("changed", "column"),
    [
        ({"chosen": (0, 9)}, "chosen"),
        ({"chosen": (4,)}, "chosen"),
        ({"chosen": ()}, "chosen"),
        ({"text": "41 31 01 2C; 41 30 05", "tests": True}, "tests"),
        ({"phase": "later"}, "phase"),
        ({"condition": "asleep"}, "condition"),
    ],
)
def test_what_cannot_be_kept_is_refused_and_nothing_is(
    job: Job, changed: dict[str, Any], column: str
) -> None:
    with pytest.raises(RuleBroken) as refused:
        on_board_keep(job=job, said=replace(SAID, **changed), at=AT)
    assert refused.value.column == column
    assert not Reading.objects.exists()
    on_board_keep(job=job, said=SAID, at=AT)
    assert Reading.objects.count() == 2


def test_refusal_of_one_value_keeps_none(job: Job) -> None:
    # Air of 5 kPa is nowhere on a road; 0x64 is 100 kPa.
    said = OnBoardChosen("41 31 01 2C\n41 33 05", (0, 1))
    with pytest.raises(RuleBroken) as refused:
        on_board_keep(job=job, said=said, at=AT)
    assert refused.value.column == "value"
    assert not Reading.objects.exists()
    on_board_keep(job=job, said=replace(said, text="41 31 01 2C\n41 33 64"), at=AT)
    assert Reading.objects.count() == 2
