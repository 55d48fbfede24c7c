"""The logs of a job judged, and a vehicle's distances between burns up to it."""

from datetime import date
from pathlib import Path

import pytest

from garage.evidence.drives.burn import BurnStatus
from garage.evidence.drives.limits import DEFAULTS
from garage.evidence.jobs.drives import IntervalFrom, drives_say, job_drives
from garage.evidence.thresholds import Override
from garage.records.models import Job
from tests.records.evidence_factories import (
    DriveLoggedFactory,
    FindingSeenFactory,
    ReadingFactory,
)
from tests.records.factories import JobFactory, VehicleFactory

pytestmark = pytest.mark.django_db

BURN = (Path(__file__).parents[1] / "drives" / "burn_on_the_road.csv").read_text(encoding="utf-8")


@pytest.fixture
def job() -> Job:
    return JobFactory(opened_on=date(2024, 5, 6))


def earlier(job: Job, month: int) -> Job:
    made: Job = JobFactory(
        vehicle=job.vehicle, organisation=job.organisation, opened_on=date(2024, month, 1)
    )
    return made


def size(job: Job, quantity: str, value: str, unit: str) -> None:
    ReadingFactory(job=job, quantity=quantity, value=value, unit=unit, condition="", layout="")


def km(job: Job, quantity: str, value: str) -> None:
    size(job, quantity, value, "km")


def two_burns() -> str:
    """Soot rises for 100 km, burns in 15 min, twice; a row a minute, a km a minute."""
    rows = ["time_s,distance_km,soot_g,inlet_c"]
    for place in range(2):
        for row in range(115):
            soot = 2 + 0.16 * row if row < 100 else 18 - 16 * (row - 99) / 15
            heat = 280 if row < 98 else 620
            rows.append(f"{60 * (115 * place + row)},{115 * place + row},{soot:.2f},{heat}")
    rows += [f"{60 * (230 + row)},{230 + row},2,250" for row in range(5)]
    return "\n".join(rows)


def test_logs_of_the_job_are_judged_with_its_sizes(job: Job) -> None:
    DriveLoggedFactory(job=job, text=BURN)
    size(job, "filter_volume", "3.0", "L")
    FindingSeenFactory(job=job, finding="substrate", state="silicon_carbide")
    drives = job_drives(job=job)
    assert drives.targets.limit is not None
    assert drives.targets.limit.most_g == 24.0
    (log,) = drives.logs
    assert log.judged is not None
    assert log.judged.burns[0].burn.status is BurnStatus.COMPLETED
    assert log.next_steps[0].startswith("Read the pressure")


def test_sizes_of_another_job_are_not_taken(job: Job) -> None:
    """As at the gates of a burn: an older size may no longer hold."""
    size(earlier(job, 3), "filter_volume", "3.0", "L")
    assert job_drives(job=job).targets.limit is None


def test_own_limits_hold(job: Job) -> None:
    size(job, "filter_volume", "3.0", "L")
    own = DEFAULTS.overridden([Override("soot_unknown_g_per_l", 6.0, "own trials")])
    found = job_drives(job=job, limits=own).targets.limit
    assert found is not None
    assert found.most_g == 18.0


def test_log_that_can_no_longer_be_read_says_why(job: Job) -> None:
    DriveLoggedFactory(job=job, text="mood,weather\ngood,fine\n")
    (log,) = job_drives(job=job).logs
    assert log.judged is None
    assert "names time or distance" in log.unread
    assert drives_say(job=job, phase="after_work").grades == ()


def test_intervals_of_the_vehicle_are_told_in_order_with_where_from(job: Job) -> None:
    march, april = earlier(job, 3), earlier(job, 4)
    km(april, "burn_interval", "410")
    km(march, "burn_interval", "430")
    km(march, "burn_interval", "450")  # read again at the same job: the last holds
    km(job, "distance_since_burn", "120")
    DriveLoggedFactory(job=march, text=two_burns())
    drives = job_drives(job=job)
    told = [(each.opened_on.month, each.where_from, each.km) for each in drives.intervals]
    assert told == [
        (3, IntervalFrom.LOGGED, 115.0),
        (3, IntervalFrom.RECKONED, 450.0),
        (4, IntervalFrom.RECKONED, 410.0),
        (5, IntervalFrom.OPEN, 120.0),
    ]
    assert drives.logs == ()
    assert drives.logged is not None
    assert drives.logged.mean_km == 115.0
    assert drives.reckoned is not None
    assert drives.reckoned.mean_km == 430.0


def test_later_jobs_and_other_vehicles_tell_nothing(job: Job) -> None:
    km(earlier(job, 6), "burn_interval", "100")
    other = JobFactory(
        vehicle=VehicleFactory(organisation=job.organisation),
        organisation=job.organisation,
        opened_on=date(2024, 3, 1),
    )
    km(other, "burn_interval", "100")
    assert job_drives(job=job).intervals == ()


def test_logs_say_findings_of_their_phase_only(job: Job) -> None:
    DriveLoggedFactory(job=job, text=BURN, phase="after_work")
    said = drives_say(job=job, phase="after_work")
    assert [(each.finding, each.state) for each in said.grades] == [
        ("soot_fall", "burned"),
        ("burn_end", "completed"),
    ]
    assert said.soot_fall_inlet_c == 619.0
    assert drives_say(job=job, phase="arrival").grades == ()


def test_shrinking_means_of_the_vehicle_are_a_finding_without_a_log(job: Job) -> None:
    for month, value in ((1, "600"), (2, "520"), (3, "460"), (4, "380")):
        km(earlier(job, month), "burn_interval", value)
    km(job, "burn_interval", "310")
    assert drives_say(job=job, phase="arrival").grades[0].state == "shrinking"
