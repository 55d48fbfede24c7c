"""From the text of an invented log to findings: 16.9 g burned over 18 min, 0.05 g/km around it."""

from pathlib import Path

import pytest

from garage.evidence.drives.burn import burn_judged
from garage.evidence.drives.findings import burn_grades
from garage.evidence.drives.log import drive_read
from garage.evidence.drives.reach import reach_of
from garage.evidence.drives.soot_rate import RateStatus, soot_rate

TEXT = (Path(__file__).parent / "burn_on_the_road.csv").read_text(encoding="utf-8")
#: As the log was invented: 0.06 g a minute at 1.2 km a minute.
WRITTEN_G_PER_KM = 0.05


def test_log_is_read_with_what_is_odd_in_it() -> None:
    """Fails if the remark's column or the temperature not shown goes unsaid."""
    drive = drive_read(TEXT)
    assert drive.row_count == 95
    assert [(fault.line, fault.column) for fault in drive.faults] == [(72, "inlet_c")]
    assert drive.remarks == ("`remark` is not used",)


def test_log_shows_a_completed_burn_and_the_same_fall_without_heat_does_not() -> None:
    """Fails if the temperatures are not looked at."""
    states = [grade.state for grade in burn_grades(burn_judged(drive_read(TEXT)))]
    assert states == ["burned", "completed"]
    cold = "\n".join(_cold(line) for line in TEXT.splitlines())
    states = [grade.state for grade in burn_grades(burn_judged(drive_read(cold)))]
    assert states == ["without_heat", None]


def test_log_tells_soot_per_km_and_the_reach() -> None:
    """Fails if the burn enters the rate."""
    drive = drive_read(TEXT)
    rate = soot_rate(drive)
    assert (rate.status, rate.burns_inside) == (RateStatus.TOLD, 1)
    assert rate.low_g_per_km is not None
    assert rate.high_g_per_km is not None
    assert rate.low_g_per_km <= WRITTEN_G_PER_KM <= rate.high_g_per_km
    assert drive.soot_g is not None
    soot = drive.soot_g[-1]
    assert soot is not None
    reach = reach_of(soot, rate, 18.0)
    assert reach.middle_km == pytest.approx((18.0 - soot) / WRITTEN_G_PER_KM, rel=0.2)


def _cold(line: str) -> str:
    cells = line.split(";")
    return ";".join([*cells[:3], "300" if cells[3].isdigit() else cells[3], *cells[4:]])
