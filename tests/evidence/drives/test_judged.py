"""All that one log tells, and what is done next."""

from pathlib import Path

import pytest

from garage.evidence.drives.burn import BurnStatus
from garage.evidence.drives.judged import FALLS_MOST, DriveJudged, drive_judged
from garage.evidence.drives.log import Drive, drive_read
from garage.evidence.drives.next_steps import drive_next
from garage.evidence.drives.rate_band import RateBand
from garage.evidence.drives.soot_rate import RateStatus
from garage.evidence.drives.targets import FilterSaid, targets_of
from tests.evidence.drives.sequences import steady

TEXT = (Path(__file__).parent / "burn_on_the_road.csv").read_text(encoding="utf-8")
KNOWN = targets_of(FilterSaid(litres=3.0, silicon_carbide=True))


def first_words(judged: DriveJudged) -> list[str]:
    return [" ".join(each.split()[:3]) for each in drive_next(judged)]


def test_log_of_a_burn_tells_rate_reach_and_burn() -> None:
    """As invented: 0.05 g/km, 4.2 g at the end, so 12 g lies (12 - 4.2) / 0.05 = 156 km ahead."""
    judged = drive_judged(drive_read(TEXT), KNOWN)
    assert [each.burn.status for each in judged.burns] == [BurnStatus.COMPLETED]
    assert judged.soot_now_g == 4.2
    assert judged.to_burn.near_km == pytest.approx(156.0, rel=0.1)
    assert judged.band.band is RateBand.USUAL
    assert first_words(judged) == ["Read the pressure"]


def test_between_burns_counts_from_nothing() -> None:
    """12 to 24 g at 0.05 g/km without scatter: 240 to 480 km. Fails if counted from 2 g."""
    judged = drive_judged(steady(100.0, 0.05), KNOWN)
    assert judged.between_burns.near_km == pytest.approx(240.0)
    assert judged.between_burns.far_km == pytest.approx(480.0)


def test_log_without_distance_tells_its_burn_and_why_no_rate() -> None:
    drive = drive_read(TEXT)
    judged = drive_judged(Drive(95, time_s=drive.time_s, soot_g=drive.soot_g), KNOWN)
    assert judged.rate.status is RateStatus.TOO_SHORT
    assert judged.rate.reason == "the log has no distance"
    assert judged.burns[0].burn.status is BurnStatus.CANNOT_BE_TOLD
    assert judged.to_burn.near_km is None
    assert first_words(judged) == ["Log the next", "For soot per"]


def test_log_without_time_tells_its_rate_and_why_no_burn() -> None:
    judged = drive_judged(steady(100.0, 0.05), KNOWN)
    assert judged.burns == ()
    assert judged.no_burns == "no burn can be judged: the log has no time"
    assert judged.rate.status is RateStatus.TOLD


def test_rows_that_never_have_both_tell_nothing() -> None:
    judged = drive_judged(Drive(2, time_s=(0.0, 1.0), soot_g=(None, None)), KNOWN)
    assert judged.no_burns == "no burn can be judged: no row has both time and soot"
    assert judged.to_burn.reason == "no soot was read"


def test_soot_below_nothing_reaches_nothing() -> None:
    judged = drive_judged(steady(100.0, 0.05, start_g=-8.0), KNOWN)
    assert judged.to_burn.near_km is None
    assert "is no mass" in judged.to_burn.reason


def test_limit_not_known_is_asked_for() -> None:
    judged = drive_judged(steady(100.0, 0.05), targets_of(FilterSaid()))
    assert (judged.to_limit.near_km, judged.to_limit.far_km) == (None, None)
    assert first_words(judged) == ["Write down the"]


def test_soot_over_the_limit_forbids_a_burn_and_at_it_does_not() -> None:
    at, over = (drive_judged(steady(100.0, 0.05, start_g=g), KNOWN) for g in (19.0, 19.1))
    assert first_words(at) == []
    assert first_words(over) == ["No burn: 24.1"]


@pytest.mark.parametrize(
    ("rate", "said"), [(0.05, []), (0.08, ["Ask how it"]), (0.15, ["Look upstream before"])]
)
def test_soot_per_km_says_where_to_look(rate: float, said: list[str]) -> None:
    assert first_words(drive_judged(steady(100.0, rate), KNOWN)) == said


def test_short_log_says_how_far_to_drive() -> None:
    judged = drive_judged(steady(10.0, 0.05), KNOWN)
    assert judged.rate.needed_km is not None
    assert f"{judged.rate.needed_km:.0f} km without a burn" in " ".join(drive_next(judged))


def test_burn_that_began_above_the_reckoned_start_asks_for_the_vehicles_own_figures() -> None:
    """It began at 18.4 g: 3 L of an unknown substrate are reckoned to 15 g, of silicon carbide to
    24 g."""
    unknown = drive_judged(drive_read(TEXT), targets_of(FilterSaid(litres=3.0)))
    assert first_words(unknown) == ["Read the pressure", "A burn here"]
    assert "began at 18.4 g, above the 15 g" in drive_next(unknown)[1]


def test_burn_broken_off_asks_for_the_oil_level_and_what_ended_it() -> None:
    """20 to 14 g in 12 min, and cool again."""
    rows = range(41)
    soot = tuple(20.0 - 0.5 * min(row, 12) for row in rows)
    heat = tuple(610.0 if row <= 14 else 280.0 for row in rows)
    log = Drive(41, time_s=tuple(60.0 * row for row in rows), soot_g=soot, inlet_c=heat)
    assert first_words(drive_judged(log, KNOWN))[0] == "Read the oil"


@pytest.mark.parametrize(("falls", "judged"), [(FALLS_MOST, FALLS_MOST), (FALLS_MOST + 1, 0)])
def test_soot_that_falls_more_often_than_burns_come_is_not_judged(falls: int, judged: int) -> None:
    """Fails if a column that goes up and down is taken for a burn at each fall."""
    log = Drive(
        2 * falls,
        time_s=tuple(600.0 * row for row in range(2 * falls)),
        soot_g=(16.0, 10.0) * falls,
    )
    found = drive_judged(log, KNOWN)
    assert len(found.burns) == judged
    assert ("more often than burns come" in found.no_burns) is (judged == 0)
