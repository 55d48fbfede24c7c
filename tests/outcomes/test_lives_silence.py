"""Rule 3: silence is neither survival nor failure. Where do *seen* and *presumed* let a life go?"""

import pytest

from garage.outcomes.choices import Ending, LifeClass
from tests.outcomes.histories import History, inspected, lives, replaced

pytestmark = pytest.mark.django_db


def van_since_2014() -> History:
    """20 000 km a year, watched from new, last at a job on 2018-01-01 at 80 000 km."""
    van = History(watched_from_new=True, first_used_on="2014-01-01")
    van.service("2016-01-01", 40_000)
    van.service("2018-01-01", 80_000)
    return van


def test_seen_leaves_at_the_last_job_and_presumed_drives_on_to_the_day_of_the_report() -> None:
    van_since_2014()
    (life,) = lives(as_of="2020-01-01")
    assert life.ending == Ending.STILL_IN_PLACE
    assert life.seen_km == 80_000
    # Two more years at its own 20 000 km, the only vehicle of its family.
    assert life.presumed_km == pytest.approx(120_000, abs=100)


def test_both_leave_together_where_the_last_job_is_the_last_record() -> None:
    van_since_2014()
    (life,) = lives(as_of="2018-01-01")
    assert life.seen_km == life.presumed_km == 80_000


def test_a_mere_reading_after_the_last_job_moves_presumed_alone() -> None:
    van_since_2014().reading("2019-01-01", 130_000)
    (life,) = lives(as_of="2019-01-01")
    assert (life.seen_km, life.presumed_km) == (80_000, 130_000)


@pytest.mark.parametrize("because", ["sold", "scrapped", "left"])
def test_a_vehicle_known_to_be_gone_leaves_at_that_date(because: str) -> None:
    van = van_since_2014()
    van.vehicle.ended_because = because
    van.vehicle.ended_on = van.vehicle.first_used_on.replace(year=2019)
    van.vehicle.save()
    (life,) = lives(as_of="2022-01-01")
    assert life.seen_km == 80_000
    assert life.presumed_km == pytest.approx(100_000, abs=100)


def test_an_end_after_the_day_of_the_report_is_not_known_yet() -> None:
    van = van_since_2014()
    van.vehicle.ended_on = van.vehicle.first_used_on.replace(year=2021)
    van.vehicle.save()
    (life,) = lives(as_of="2020-01-01")
    assert life.presumed_km == pytest.approx(120_000, abs=100)


def test_a_job_after_the_vehicle_was_gone_fails_nothing_of_this_watch() -> None:
    van = van_since_2014()
    van.vehicle.ended_on = van.vehicle.first_used_on.replace(year=2019)
    van.vehicle.save()
    van.job("2020-01-01", 125_000, ops=[replaced("failed")])
    life = lives(as_of="2022-01-01")[0]
    assert (life.failed, life.seen_km) == (False, 80_000)
    assert life.presumed_km <= 125_000


def test_a_removed_part_is_not_carried_on() -> None:
    van = van_since_2014()
    van.job("2018-06-01", 88_000, planned=True, ops=[replaced("planned")])
    life = lives(as_of="2020-01-01")[0]
    assert (life.ending, life.seen_km, life.presumed_km) == ("removed_unfailed", 88_000, 88_000)


def test_silence_alone_never_fails_a_part() -> None:
    van_since_2014()
    assert not lives(as_of="2040-01-01")[0].failed


# --- what *expected* is told: the silence, and the looks ---


def test_a_silence_begins_at_the_last_job_and_goes_on_at_the_vehicles_own_pace() -> None:
    van_since_2014()
    (life,) = lives(as_of="2020-01-01")
    assert life.silence is not None
    assert (life.silence.from_km, life.silence.days) == (80_000, 730)
    end_km = life.silence.from_km + life.silence.days * life.silence.km_a_day
    assert end_km == pytest.approx(life.presumed_km)


def test_a_last_job_without_an_odometer_is_placed_between_the_readings() -> None:
    van = van_since_2014()
    van.service("2019-01-01")
    van.reading("2020-01-01", 120_000)
    (life,) = lives(as_of="2020-01-01")
    assert life.silence is not None
    assert life.seen_km == 80_000
    assert life.silence.from_km == pytest.approx(100_000, abs=100)
    assert life.silence.days == 365


def test_a_silence_of_no_day_has_no_pace() -> None:
    van_since_2014()
    (life,) = lives(as_of="2018-01-01")
    assert life.silence is not None
    assert (life.silence.days, life.silence.km_a_day) == (0, 0.0)


def test_an_ended_life_and_one_on_a_vehicle_known_to_be_gone_are_not_silent() -> None:
    van = van_since_2014()
    van.job("2018-06-01", 88_000, planned=True, ops=[replaced("planned")])
    removed, later = lives(as_of="2020-01-01")
    assert removed.silence is None
    assert later.silence is not None
    van.vehicle.ended_on = van.vehicle.first_used_on.replace(year=2019)
    van.vehicle.save()
    assert [life.silence for life in lives(as_of="2020-01-01")] == [None, None]


def test_a_part_in_place_was_last_looked_at_when_it_was_found_the_same() -> None:
    van = van_since_2014()
    van.service("2018-06-01", 90_000, ops=[inspected(found="same")])
    van.service("2019-01-01", 100_000)
    (life,) = lives(as_of="2020-01-01")
    assert (life.looked_km, life.seen_km, life.gone_by_km) == (90_000, 100_000, None)


def test_without_a_look_the_last_one_is_where_its_watch_began() -> None:
    van_since_2014()
    (life,) = lives(as_of="2020-01-01")
    assert life.looked_km == 0


def test_a_part_found_gone_tells_how_far_it_would_have_come() -> None:
    van = van_since_2014()
    van.service("2018-06-01", 90_000, ops=[inspected(found="same")])
    van.service("2020-01-01", 120_000, ops=[inspected(found="another")])
    life = lives(as_of="2021-01-01")[0]
    assert (life.seen_km, life.gone_by_km, life.looked_km) == (90_000, 120_000, None)


def test_found_gone_without_an_odometer_it_tells_nothing_of_that() -> None:
    van = van_since_2014()
    van.service("2018-06-01", 90_000, ops=[inspected(found="same")])
    van.service("2020-01-01", ops=[inspected(found="another")])
    life = lives(as_of="2021-01-01")[0]
    assert (life.seen_km, life.gone_by_km) == (90_000, None)


# --- found another: the life leaves at the last look that found it the same ---


def test_found_another_leaves_at_the_last_look_that_found_the_same() -> None:
    van = van_since_2014()
    van.service("2018-06-01", 90_000, ops=[inspected(found="same")])
    van.service("2019-01-01", 100_000)
    van.service("2020-01-01", 120_000, ops=[inspected(found="another")])
    life, other = lives(as_of="2021-01-01")
    assert life.ending == Ending.REPLACED_ELSEWHERE
    assert (life.seen_km, life.presumed_km, life.failed) == (90_000, 90_000, False)
    assert other.life_class == LifeClass.START_UNKNOWN


def test_found_the_same_it_stays_under_watch() -> None:
    van = van_since_2014()
    van.service("2018-06-01", 90_000, ops=[inspected(found="same")])
    van.service("2019-01-01", 100_000)
    van.service("2020-01-01", 120_000, ops=[inspected(found="same")])
    (life,) = lives(as_of="2020-01-01")
    assert (life.ending, life.seen_km) == (Ending.STILL_IN_PLACE, 120_000)


def test_found_another_and_never_looked_at_before_leaves_without_watched_time() -> None:
    van = van_since_2014()
    van.service("2020-01-01", 120_000, ops=[inspected(found="another")])
    life = lives(as_of="2021-01-01")[0]
    assert (life.life_class, life.ending) == (LifeClass.NO_WATCHED_TIME, Ending.REPLACED_ELSEWHERE)


def test_a_later_look_that_finds_the_other_part_again_is_no_look_at_this_one() -> None:
    van = van_since_2014()
    van.service("2018-06-01", 90_000, ops=[inspected(found="same")])
    van.service("2020-01-01", 120_000, ops=[inspected(found="another")])
    van.service("2021-01-01", 140_000, ops=[inspected(found="same")])
    life = lives(as_of="2021-01-01")[0]
    assert (life.ending, life.seen_km) == (Ending.REPLACED_ELSEWHERE, 90_000)


def test_a_look_at_another_position_is_no_look_at_this_one() -> None:
    van = History()
    van.service("2015-01-01", 50_000)
    van.job(
        "2016-01-01",
        70_000,
        ops=[replaced(position="bank 1"), replaced(position="bank 2")],
    )
    van.service("2017-01-01", 90_000, ops=[inspected(found="same", position="bank 1")])
    van.service("2018-01-01", 110_000, ops=[inspected(found="same", position="bank 2")])
    van.service(
        "2019-01-01",
        130_000,
        ops=[
            inspected(found="another", position="bank 1"),
            inspected(found="another", position="bank 2"),
        ],
    )
    seen = {
        life.position: life.seen_km
        for life in lives(as_of="2020-01-01")
        if life.ending == Ending.REPLACED_ELSEWHERE
    }
    assert seen == {"bank 1": 20_000, "bank 2": 40_000}


def test_a_look_of_a_life_before_is_no_look_at_this_one() -> None:
    van = van_since_2014()
    van.service("2018-06-01", 90_000, ops=[inspected(found="same")])
    van.job("2019-01-01", 100_000, ops=[replaced("failed")])
    van.service("2020-01-01", 120_000, ops=[inspected(found="another")])
    life = lives(as_of="2021-01-01")[1]
    assert (life.life_class, life.seen_km) == (LifeClass.NO_WATCHED_TIME, 0)
