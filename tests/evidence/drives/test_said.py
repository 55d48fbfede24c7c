"""What several logs say as findings: the last that tells something holds."""

from garage.evidence.drives.burn import BurnJudged, BurnStatus
from garage.evidence.drives.burns import BurnFound
from garage.evidence.drives.said import DrivesSay, drives_said


def burn(status: BurnStatus, inlet_c: float | None = 610.0, km: float | None = None) -> BurnFound:
    return BurnFound(
        BurnJudged(status, status.value, 1, fall_g=15.0, soot_fall_inlet_c=inlet_c), end_km=km
    )


DONE, BROKEN = burn(BurnStatus.COMPLETED), burn(BurnStatus.BROKEN_OFF, 600.0)
SET_BACK = burn(BurnStatus.RESET_WITHOUT_BURN, 250.0)
OPEN = burn(BurnStatus.CANNOT_BE_TOLD, 470.0)
SHRINKING = (600.0, 520.0, 460.0, 380.0, 310.0, 230.0)


def states(said: DrivesSay) -> dict[str, str | None]:
    return {each.finding: each.state for each in said.grades}


def test_last_burn_that_tells_holds() -> None:
    said = drives_said([[DONE], [BROKEN]])
    assert states(said) == {"soot_fall": "burned", "burn_end": "broken_off"}
    assert said.soot_fall_inlet_c == 600.0


def test_later_log_that_leaves_it_open_takes_nothing_back() -> None:
    """Fails if the last log wins though it tells nothing."""
    assert states(drives_said([[DONE], [OPEN]])) == {"soot_fall": "burned", "burn_end": "completed"}


def test_heat_of_a_fall_that_cannot_be_told_is_not_passed_on() -> None:
    """470 °C alone would be graded as "without heat", which with an additive it is not."""
    said = drives_said([[OPEN]])
    assert states(said) == {"soot_fall": None, "burn_end": None}
    assert said.soot_fall_inlet_c is None
    assert drives_said([[SET_BACK]]).soot_fall_inlet_c == 250.0


def test_intervals_seen_go_before_those_reckoned() -> None:
    seen = [burn(BurnStatus.COMPLETED, km=km) for km in (0.0, 400.0, 810.0, 1205.0)]
    assert states(drives_said([seen], SHRINKING))["burn_interval"] == "usual"
    assert states(drives_said([[DONE]], SHRINKING))["burn_interval"] == "shrinking"


def test_reckoned_intervals_that_do_not_shrink_say_nothing_here() -> None:
    """The last of them is graded as a reading."""
    assert drives_said([], (400.0, 410.0, 405.0, 400.0, 410.0)) == DrivesSay()
    assert drives_said([]) == DrivesSay()
