"""*Presumed*: its limits know that nobody has read where silent vehicles are today."""

from dataclasses import replace

import numpy as np
import pytest

from garage.lifetimes.resampling.limits import ResamplingOptions
from garage.outcomes.capture import capture_of_failures
from garage.outcomes.choices import Curve
from garage.outcomes.curve_lives import GroupLives
from garage.outcomes.facts import Facts
from garage.outcomes.lives import lives_follow
from garage.outcomes.usage import Odometers, watched_until
from garage.outcomes.visits import Visits
from tests.outcomes.histories import History, facts, replaced

pytestmark = pytest.mark.django_db

QUICK = ResamplingOptions(repeats=40)


def region() -> Facts:
    """Sixteen vans: one in two fails at some distance, all fall silent in 2018."""
    for number in range(16):
        van = History(watched_from_new=True, first_used_on="2014-01-01")
        van.service("2016-01-01", 30_000 + 2_000 * number)
        if number % 2:
            van.job("2017-01-01", 50_000 + 3_000 * number, ops=[replaced("failed")])
        van.service("2018-01-01", 70_000 + 4_000 * number)
    return facts(as_of="2021-01-01")


def together(read: Facts, *, drawn: bool) -> GroupLives:
    odometers = Odometers(read)
    found = lives_follow(read, odometers)
    return GroupLives(
        [each for each in found if each.used],
        capture_of_failures(read, found),
        Visits({}),
        odometers.since_read if drawn else None,
    )


def limits(group: GroupLives, curve: Curve, seed: int = 1) -> list[tuple[float | None, ...]]:
    found = group.resampled(curve, [70_000, 90_000], rng=np.random.default_rng(seed), options=QUICK)
    return [(each.value, each.lower, each.upper) for each in found.points]


def test_likeliest_distance_is_where_the_projection_puts_the_vehicle() -> None:
    read = region()
    odometers = Odometers(read)
    since = odometers.since_read
    assert len(since.row) == 16
    for vehicle in read.vehicles:
        at = since.read_km[vehicle.vehicle_id] + since.distances.km[since.row[vehicle.vehicle_id]]
        until = watched_until(read, vehicle)
        assert odometers.km_on(vehicle.vehicle_id, until) == pytest.approx(at, abs=1)


def test_vehicle_read_on_the_day_of_the_report_is_not_projected() -> None:
    van = History(watched_from_new=True, first_used_on="2014-01-01")
    van.service("2018-01-01", 80_000)
    assert Odometers(facts(as_of="2018-01-01")).since_read.row == {}
    assert list(Odometers(facts(as_of="2018-01-02")).since_read.row) == [van.vehicle.pk]


def test_vehicle_known_to_be_gone_is_projected_to_that_day() -> None:
    van = History(watched_from_new=True, first_used_on="2014-01-01")
    van.service("2018-01-01", 80_000)
    van.vehicle.ended_because = "sold"
    van.vehicle.ended_on = van.vehicle.first_used_on.replace(year=2019)
    van.vehicle.save()
    (km,) = Odometers(facts(as_of="2022-01-01")).since_read.distances.km
    assert km == pytest.approx(20_000, abs=100)


def test_vehicle_never_read_is_not_projected() -> None:
    van = History(first_used_on=None)
    van.job("2018-01-01", None)
    assert Odometers(facts(as_of="2020-01-01")).since_read.row == {}


def test_drawing_moves_the_limits_of_presumed_and_not_its_estimate() -> None:
    read = region()
    drawn, fixed = (limits(together(read, drawn=each), Curve.PRESUMED) for each in (True, False))
    assert [each[0] for each in drawn] == [each[0] for each in fixed]
    assert [each[1:] for each in drawn] != [each[1:] for each in fixed]


def test_drawing_leaves_seen_alone() -> None:
    read = region()
    assert limits(together(read, drawn=True), Curve.SEEN) == limits(
        together(read, drawn=False), Curve.SEEN
    )


def test_same_seed_gives_the_same_limits_of_presumed() -> None:
    group = together(region(), drawn=True)
    assert limits(group, Curve.PRESUMED) == limits(group, Curve.PRESUMED)
    assert limits(group, Curve.PRESUMED) != limits(group, Curve.PRESUMED, seed=2)


def test_vehicles_outside_the_group_move_no_limit() -> None:
    group = together(region(), drawn=True)
    since = group.since_read
    assert since is not None
    stranger_first = replace(
        since,
        distances=since.distances.take(np.array([0, *range(since.distances.n)])),
        row={vehicle_id: row + 1 for vehicle_id, row in since.row.items()},
    )
    with_stranger = replace(group, since_read=stranger_first)
    assert limits(with_stranger, Curve.PRESUMED) == limits(group, Curve.PRESUMED)
