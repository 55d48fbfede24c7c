"""The resistance of the filter at one job."""

from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from garage.evidence.jobs.resistance import FIND_UNIT, JobResistance, job_resistance
from garage.evidence.resistance.model import IndexStatus
from garage.evidence.resistance.ratio import RatioStatus
from garage.evidence.resistance.states import ASH_OR_SOOT, FilterState, StatesStatus
from garage.evidence.resistance.worked_model import Deposits, worked_pressure_mbar
from garage.records.models import Job, Reading
from tests.records.evidence_factories import (
    DriveLoggedFactory,
    FindingSeenFactory,
    OwnThresholdFactory,
    ReadingFactory,
)
from tests.records.factories import JobFactory

pytestmark = pytest.mark.django_db

BURN = (Path(__file__).parents[1] / "drives" / "burn_on_the_road.csv").read_text(encoding="utf-8")
SOUND, LOADED = FilterState.SOUND, FilterState.SOOT_LOADED
ASHED, BROKEN = FilterState.ASH_LIMITED, FilterState.BROKEN_THROUGH


@pytest.fixture
def job() -> Job:
    return JobFactory()


def read(job: Job, value: float, condition: str, **more: Any) -> Reading:
    found: Reading = ReadingFactory(
        job=job, value=Decimal(str(round(value, 2))), condition=condition, **more
    )
    return found


def visit(job: Job, idle: float, raised: float, **more: Any) -> None:
    """Zero, idle and raised speed of a warm engine of 2 L, with the flow it gives."""
    read(job, 0.0, "engine_off", **more)
    read(job, idle, "idle", **more)
    read(job, raised, "raised", speed_rpm=2500, **more)
    for condition, kg_per_h, temperature in (("idle", 36.0, 150), ("raised", 172.8, 250)):
        read(job, kg_per_h, condition, quantity="exhaust_flow", unit="kg/h")
        read(job, temperature, condition, quantity="exhaust_temperature_before", unit="°C")


@pytest.mark.parametrize(("unit", "bare"), [("", True), ("mbar", False)])
def test_bare_numbers_are_not_asked_for_again(job: Job, unit: str, bare: bool) -> None:
    more = {"unit": unit} | ({"standard_value": None} if bare else {})
    read(job, 0.1, "engine_off", **more)
    read(job, 0.9, "raised", speed_rpm=2500, **more)
    found = job_resistance(job=job, phase="arrival", organisation_ids=[job.organisation_id])
    assert (found.take_next == (FIND_UNIT,)) is bare


def test_unit_comes_first_beside_what_is_known(job: Job) -> None:
    visit(job, 7.0, 47.0)
    read(job, 0.9, "load", unit="", standard_value=None)
    found = job_resistance(job=job, phase="arrival", organisation_ids=[job.organisation_id])
    assert found.take_next[0] == FIND_UNIT
    assert len(found.take_next) > 1


def held(job: Job, deposits: Deposits) -> None:
    """The pressures of the worked model, a filter of 3 L, 43 m³/h and 256 m³/h."""
    visit(
        job,
        worked_pressure_mbar(43.15, 150.0, deposits),
        worked_pressure_mbar(256.06, 250.0, deposits),
    )


def told(job: Job, **more: Any) -> JobResistance:
    return job_resistance(job=job, phase="arrival", organisation_ids=[job.organisation_id], **more)


@pytest.mark.parametrize(
    ("deposits", "index", "allowed"),
    [
        # Index of the worked model of a 3.0 L filter, right to half each way.
        (Deposits(), 0.03, {SOUND, ASHED}),
        (Deposits(soot_g=18.0), 0.18, {LOADED, ASHED}),
        (Deposits(soot_g=30.0), 0.29, {LOADED, ASHED}),
    ],
)
def test_index_of_a_known_filter_and_the_states_it_allows(
    job: Job, deposits: Deposits, index: float, allowed: set[FilterState]
) -> None:
    held(job, deposits)
    found = told(job)
    middle, low, high = (
        found.index.resistance_mbar_per_m3_per_h,
        found.index.low,
        found.index.high,
    )
    assert middle is not None
    assert low is not None
    assert high is not None
    assert low < index + 0.005
    assert high > index - 0.005
    assert middle == pytest.approx(index, rel=0.15)
    assert found.states.allowed == allowed


def test_ash_and_soot_are_told_apart_only_by_a_completed_burn(job: Job) -> None:
    held(job, Deposits(soot_g=18.0))
    assert ASH_OR_SOOT in told(job).states.reason
    job.technical_readings.filter(quantity="pressure_across_filter").update(km_since_burn=2)
    near = told(job)
    # Read just after a burn is not a proof that the burn completed.
    assert near.states.allowed == {LOADED, ASHED}
    assert any("Prove the burn" in each for each in near.take_next)
    seen = FindingSeenFactory(job=job, finding="soot_fall", state="burned")
    assert told(job).states.allowed == {ASHED}
    assert told(job).after_completed_burn
    FindingSeenFactory(job=job, finding="burn_end", state="broken_off")
    assert told(job).states.allowed == {LOADED, ASHED}
    seen.delete()
    assert not told(job).after_completed_burn


def test_just_after_a_burn_is_by_the_limits_that_hold(job: Job) -> None:
    held(job, Deposits(soot_g=18.0))
    job.technical_readings.filter(quantity="pressure_across_filter").update(km_since_burn=2)
    FindingSeenFactory(job=job, finding="soot_fall", state="burned")
    assert told(job).after_completed_burn
    OwnThresholdFactory(organisation=job.organisation, key="post_burn_most_km", value=1.0)
    assert not told(job).after_completed_burn


def test_a_log_proves_a_burn_unless_somebody_saw_otherwise(job: Job) -> None:
    held(job, Deposits(soot_g=18.0))
    job.technical_readings.filter(quantity="pressure_across_filter").update(km_since_burn=2)
    log = DriveLoggedFactory(job=job, phase="arrival", text=BURN)
    assert told(job).after_completed_burn
    assert told(job).states.allowed == {ASHED}
    # Seen with another's eyes than the log's: what somebody saw stands.
    FindingSeenFactory(job=job, finding="burn_end", state="broken_off")
    assert not told(job).after_completed_burn
    job.findings_seen.all().delete()
    log.delete()
    DriveLoggedFactory(job=job, phase="after_work", text=BURN)
    assert not told(job).after_completed_burn


def test_hole_grows_as_a_hole_and_asks_for_hoses_and_particles(job: Job) -> None:
    visit(job, 2.3, 2.3 * 28.0 / 20.0)
    job.technical_readings.filter(condition="idle", quantity="pressure_across_filter").delete()
    read(job, 0.1, "idle")
    found = told(job)
    assert BROKEN in found.states.allowed
    assert any("hoses" in each and "particles" in each for each in found.take_next)


def test_pressure_that_grows_as_through_an_opening_is_said_to(job: Job) -> None:
    visit(job, 4.0, 4.0 * 28.0)
    assert told(job).ratio.status is RatioStatus.AS_HOLE
    assert "28" in told(job).ratio.reason


@pytest.mark.parametrize("quantity", ["exhaust_temperature_before", "exhaust_flow"])
def test_what_one_condition_lacks_is_named_and_leaves_a_range(job: Job, quantity: str) -> None:
    held(job, Deposits())
    job.technical_readings.filter(quantity=quantity, condition="raised").delete()
    found = told(job)
    assert [each.endswith("at raised speed") for each in found.visit.missing] == [True]
    assert found.index.status is IndexStatus.ONE_FLOW
    assert found.take_next[0] == f"Read {found.visit.missing[0]}"


def test_displacement_stands_in_for_a_flow_and_the_index_is_wider(job: Job) -> None:
    held(job, Deposits(soot_g=18.0))
    read_low, read_high = told(job).index.low, told(job).index.high
    job.technical_readings.filter(quantity="exhaust_flow").delete()
    assert told(job).index.status is IndexStatus.NO_FLOW
    job.technical_readings.filter(condition="idle").update(speed_rpm=800)
    found = told(job, displacement_l=2.0).index
    assert None not in (read_low, read_high, found.low, found.high)
    assert found.high - found.low > read_high - read_low  # type: ignore[operator]


@pytest.mark.parametrize(
    ("zero", "status", "words"),
    [
        (None, IndexStatus.NO_ZERO, "no zero was read"),
        (9.0, IndexStatus.NO_ZERO, "more than 5 mbar off zero"),
        (0.0, IndexStatus.OK, "zero and 2 points"),
    ],
)
def test_zero_comes_first(job: Job, zero: float | None, status: IndexStatus, words: str) -> None:
    held(job, Deposits())
    off = job.technical_readings.filter(condition="engine_off")
    off.delete() if zero is None else off.update(standard_value=zero, value=zero)
    found = told(job)
    assert found.index.status is status
    assert words in found.index.reason
    if zero == 9.0:
        assert found.take_next[0].startswith("Check the pressure sensor and its hoses")
        assert "the pressure with key on, engine off" not in found.visit.missing


def test_one_hose_is_not_compared(job: Job) -> None:
    held(job, Deposits())
    job.technical_readings.filter(quantity="pressure_across_filter").update(layout="one_hose")
    assert told(job).states.status is StatesStatus.NOT_COMPARABLE


@pytest.mark.parametrize(
    ("changed", "reason"),
    [
        ({"standard_value": None, "unit": ""}, "no unit"),
        ({"standard_value": 5000.0}, "beyond what it can be"),
        ({"kind": "modelled"}, "not read"),
    ],
)
def test_reading_that_cannot_be_reckoned_with_is_told(
    job: Job, changed: dict[str, Any], reason: str
) -> None:
    held(job, Deposits())
    job.technical_readings.filter(condition="raised", quantity="pressure_across_filter").update(
        **changed
    )
    found = told(job)
    assert [reason in each.reason for each in found.left_out] == [True]
    assert [each.condition for each in found.visit.points] == ["idle"]


def test_commanded_temperature_is_none(job: Job) -> None:
    held(job, Deposits())
    job.technical_readings.filter(quantity="exhaust_temperature_before", condition="raised").update(
        kind="commanded"
    )
    assert told(job).visit.missing == ("the exhaust temperature before the filter at raised speed",)


def test_volume_moves_the_states(job: Job) -> None:
    # The same index in a filter of 1.5 L is what a sound one of that size shows.
    visit(job, 6.0, 42.0)
    assert SOUND not in told(job).states.allowed
    read(job, 1.5, "", quantity="filter_volume", unit="L")
    found = told(job)
    assert found.volume_l == 1.5
    assert SOUND in found.states.allowed


def test_five_at_idle_says_nothing_and_thirty_at_3000_rpm_is_at_an_edge(job: Job) -> None:
    # 4.8 mbar at idle is unremarkable; 30 mbar at 3000 rpm is at the edge: low or usual depends on
    # the family (common practice, no source). 3000 rpm give a fifth more flow than 2500.
    read(job, 0.0, "engine_off")
    read(job, 4.8, "idle")
    read(job, 30.0, "raised", speed_rpm=3000)
    for condition, kg_per_h, temperature in (("idle", 36.0, 150), ("raised", 207.4, 250)):
        read(job, kg_per_h, condition, quantity="exhaust_flow", unit="kg/h")
        read(job, temperature, condition, quantity="exhaust_temperature_before", unit="°C")
    found = told(job)
    assert found.states.status is StatesStatus.AT_AN_EDGE
    assert SOUND in found.states.allowed
    assert "depends on the engine family" in found.states.reason


def test_nothing_read_says_what_to_read(job: Job) -> None:
    found = told(job)
    assert found.index.resistance_mbar_per_m3_per_h is None
    assert found.take_next[0] == "Read the pressure with key on, engine off"
    assert found.take_next[1] == "Note how the sensor is connected, two hoses or one"
