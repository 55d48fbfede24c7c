"""Every burn of one log, each by itself, and the distances between them."""

from garage.evidence.drives.burn import BurnJudged, BurnStatus
from garage.evidence.drives.burns import BurnFound, burns_found
from garage.evidence.drives.interval_series import intervals_seen, series_followed
from garage.evidence.drives.log import Drive


def log_of(*burns: tuple[float, float]) -> Drive:
    """Two hours of rise, then 20 min of fall from 20 g to each floor at each heat; a row a minute,
    a km a minute."""
    soot: list[float] = []
    inlet: list[float] = []
    start_g = 8.0
    for floor_g, heat_c in burns:
        soot += [start_g + (20.0 - start_g) * row / 120 for row in range(120)]
        inlet += [280.0] * 118 + [heat_c] * 2  # hot before soot begins to fall
        soot += [20.0 + (floor_g - 20.0) * row / 20 for row in range(21)]
        inlet += [heat_c] * 21
        start_g = floor_g
    soot += [start_g] * 30
    inlet += [280.0] * 30
    rows = len(soot)
    return Drive(
        rows,
        time_s=tuple(60.0 * row for row in range(rows)),
        distance_km=tuple(1000.0 + row for row in range(rows)),
        soot_g=tuple(soot),
        inlet_c=tuple(inlet),
    )


def statuses(drive: Drive) -> list[BurnStatus]:
    return [each.burn.status for each in burns_found(drive)]


def test_each_fall_is_judged_by_its_own_heat() -> None:
    """Fails if the greatest fall alone is judged, or heat of one burn serves the next."""
    assert statuses(log_of((3.0, 610.0), (1.0, 240.0))) == [
        BurnStatus.COMPLETED,
        BurnStatus.RESET_WITHOUT_BURN,
    ]
    assert statuses(log_of((3.0, 240.0), (1.0, 610.0))) == [
        BurnStatus.RESET_WITHOUT_BURN,
        BurnStatus.COMPLETED,
    ]


def test_burn_broken_off_before_another_is_not_taken_for_the_end_of_the_log() -> None:
    """It is hot again when the next fall begins. Fails if the parts end there."""
    assert statuses(log_of((12.0, 610.0), (1.0, 610.0))) == [
        BurnStatus.BROKEN_OFF,
        BurnStatus.COMPLETED,
    ]


def test_burn_says_where_it_ended_and_intervals_follow() -> None:
    """Floors at rows 140 and 281, a km apart each."""
    found = burns_found(log_of((3.0, 610.0), (1.0, 610.0)))
    assert [each.end_km for each in found] == [1140.0, 1281.0]
    assert [each.start_s for each in found] == [7200.0, 15660.0]
    assert intervals_seen(found) == (141.0,)


def test_fall_that_did_not_burn_parts_no_interval() -> None:
    """Fails if the distance across it is told as one between burns."""
    burned, unsure = (
        BurnFound(BurnJudged(status, "", 1), end_km=km)
        for status, km in ((BurnStatus.COMPLETED, 100.0), (BurnStatus.CANNOT_BE_TOLD, 300.0))
    )
    later = BurnFound(BurnJudged(BurnStatus.BROKEN_OFF, "", 1), end_km=600.0)
    assert intervals_seen([burned, later]) == (500.0,)
    assert intervals_seen([burned, unsure, later]) == ()


def test_log_without_a_fall_gives_one_answer_that_says_so() -> None:
    found = burns_found(Drive(2, time_s=(0.0, 60.0), soot_g=(5.0, 5.1)))
    assert [(each.burn.falls, each.end_s) for each in found] == [(0, None)]


def test_log_without_distance_has_burns_without_a_place() -> None:
    drive = log_of((3.0, 610.0))
    bare = Drive(drive.row_count, drive.time_s, None, drive.soot_g, drive.inlet_c)
    assert [each.end_km for each in burns_found(bare)] == [None]


def test_series_is_followed_without_a_common_start() -> None:
    found = series_followed([600.0, 520.0, 460.0, 380.0, 310.0, 230.0])
    assert found is not None
    assert (found.trend.value, round(found.mean_km)) == ("falling", 417)
    assert series_followed([]) is None
