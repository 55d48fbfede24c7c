"""Ends of lives that nobody read: drawn with their vehicles, and worth drawing."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import pytest

from garage.lifetimes.curves.product_limit import product_limit
from garage.lifetimes.resampling.limits import ResampledCurve
from garage.lifetimes.resampling.projected_exits import ProjectedExits
from garage.lifetimes.resampling.vehicles import (
    ALL_CAPTURED,
    ClusteredLives,
    ResamplingOptions,
    resample_incidence,
    resample_survival,
)
from garage.lifetimes.risk_table import LivesArrays, RiskTable
from garage.lifetimes.usage.annual_distance import annual_distance
from garage.lifetimes.usage.projection import ProjectedDistances, project_distance
from garage.lifetimes.usage.yearly_change import judged_change
from tests.lifetimes.conftest import table_of

QUICK = ResamplingOptions(repeats=60)


def gone(years: list[float]) -> ProjectedDistances:
    """Vehicles read once, silent for so long."""
    n = len(years)
    annual = annual_distance([0.0] * n, [0.0] * n, [0] * n)
    return project_distance(annual, years, [0.0] * n, judged_change())


def exits(since_read: ProjectedDistances, *, read_at: int = 30_000) -> ProjectedExits:
    """One life a vehicle, read at this clock and known to have gone no further."""
    rows = np.arange(since_read.n)
    at = np.full(since_read.n, read_at)
    return ProjectedExits(rows, rows, at, at, since_read)


def test_each_end_lies_beyond_the_reading_by_what_the_projection_draws() -> None:
    since = gone([2.0, 5.0])
    drawn = exits(since).draw(np.random.default_rng(4))
    assert drawn.tolist() == (30_000 + np.rint(since.draw(np.random.default_rng(4)))).tolist()


def test_lives_of_one_vehicle_end_together() -> None:
    rows = np.array([0, 1])
    two = ProjectedExits(rows, np.zeros(2, int), np.array([0, 50_000]), rows, gone([3.0]))
    for seed in range(5):
        first, second = two.draw(np.random.default_rng(seed)).tolist()
        assert second - first == 50_000


def test_no_life_ends_before_where_its_part_was_seen() -> None:
    known = replace(exits(gone([1.0])), least=np.array([10**9]))
    assert known.draw(np.random.default_rng(0)).tolist() == [10**9]


def test_vehicle_read_today_is_where_it_was_read() -> None:
    assert exits(gone([0.0])).draw(np.random.default_rng(0)).tolist() == [30_000]


def test_rows_of_unequal_number_are_refused() -> None:
    whole = exits(gone([1.0, 2.0]))
    with pytest.raises(ValueError, match="one row, vehicle, reading and least clock"):
        replace(whole, least=whole.least[:1])


@dataclass(frozen=True)
class Silent:
    """Forty vehicles of two lives: one that failed or was removed, one that goes on unread."""

    entry: np.ndarray
    exit: np.ndarray
    failed: np.ndarray
    vehicle: np.ndarray
    projected: ProjectedExits

    def lives(self) -> ClusteredLives:
        return ClusteredLives(
            self.entry, self.exit, self.failed, self.vehicle, projected=self.projected
        )


def silent_lives(seed: int = 5, vehicles: int = 40) -> Silent:
    rng = np.random.default_rng(seed)
    each = np.arange(vehicles)
    since = gone(rng.integers(1, 6, vehicles).tolist())
    read_at = rng.integers(1_000, 40_000, vehicles)
    ended = rng.integers(5_000, 120_000, vehicles)
    return Silent(
        entry=np.zeros(2 * vehicles, np.int64),
        exit=np.concatenate([ended, read_at + np.rint(since.km).astype(np.int64)]),
        failed=np.concatenate([rng.random(vehicles) < 0.7, np.zeros(vehicles, bool)]),
        vehicle=np.tile(each, 2),
        projected=ProjectedExits(each + vehicles, each, read_at, read_at, since),
    )


def test_limits_equal_slow_resampling_of_tables_with_ends_drawn() -> None:
    silent, points = silent_lives(), [20_000, 60_000, 90_000]
    found = resample_survival(
        silent.lives(), ALL_CAPTURED, points, rng=np.random.default_rng(7), options=QUICK
    )
    rng, drawn = np.random.default_rng(7), []
    for _ in range(QUICK.repeats):
        picked = rng.integers(0, 40, 40)
        ALL_CAPTURED.draw(rng)
        end = silent.exit.copy()
        end[40:] = silent.projected.draw(rng)
        rows = np.concatenate([np.flatnonzero(silent.vehicle == code) for code in picked])
        curve = product_limit(
            table_of(end[rows], silent.failed[rows].astype(int), silent.entry[rows]),
            smallest_risk_set=0,
        )
        drawn.append([curve.at(at).value for at in points])
    low, high = np.quantile(np.array(drawn, float), [0.025, 0.975], axis=0)
    for number, point in enumerate(found.points):
        assert point.lower == pytest.approx(low[number])
        assert point.upper == pytest.approx(high[number])


def test_estimate_is_that_of_the_likeliest_ends() -> None:
    lives = silent_lives().lives()
    known = replace(lives, projected=None)
    drawn, fixed = (
        resample_survival(
            each, ALL_CAPTURED, [60_000], rng=np.random.default_rng(1), options=QUICK
        ).points[0]
        for each in (lives, known)
    )
    assert drawn.value == fixed.value
    assert (drawn.lower, drawn.upper) != (fixed.lower, fixed.upper)


def test_same_seed_gives_the_same_limits() -> None:
    def limits(seed: int) -> ResampledCurve:
        rng = np.random.default_rng(seed)
        return resample_survival(
            silent_lives().lives(), ALL_CAPTURED, [60_000], rng=rng, options=QUICK
        )

    assert limits(3) == limits(3)
    assert limits(3) != limits(4)


def test_life_that_failed_is_not_projected() -> None:
    silent = silent_lives()
    rng = np.random.default_rng(0)
    resample_survival(silent.lives(), ALL_CAPTURED, [60_000], rng=rng, options=QUICK)
    failed = replace(silent.lives(), failed=np.ones(80, bool))
    with pytest.raises(ValueError, match="where a life failed is known"):
        resample_survival(failed, ALL_CAPTURED, [60_000], rng=rng, options=QUICK)


def test_incidence_takes_no_projected_ends() -> None:
    lives = silent_lives().lives()
    rng = np.random.default_rng(0)
    resample_incidence(replace(lives, projected=None), ALL_CAPTURED, [60_000], rng=rng)
    with pytest.raises(ValueError, match="leave `projected` out"):
        resample_incidence(lives, ALL_CAPTURED, [60_000], rng=rng)


# --- what drawing is worth: simulated vehicles whose true distances are kept aside ---

YEARS = 14
POINTS = (100_000, 200_000, 300_000)


@dataclass(frozen=True)
class World:
    """Vehicles one part each; one in five read every year, the others last in their first."""

    read: np.ndarray
    true_km: np.ndarray
    lasts_km: np.ndarray
    since_read: ProjectedDistances

    @property
    def failed(self) -> np.ndarray:
        return self.lasts_km <= self.read

    def ends(self, unfailed_km: np.ndarray) -> np.ndarray:
        return np.where(self.failed, self.lasts_km, unfailed_km).astype(np.int64)

    def knowing(self) -> list[float]:
        """The curve of these lives, were the true distances known."""
        lives = LivesArrays(
            np.zeros(len(self.read), np.int64),
            self.ends(self.true_km),
            self.failed.astype(np.int64),
        )
        curve = product_limit(RiskTable.from_lives(lives, unit="km"), smallest_risk_set=0)
        found = [curve.at(km).value for km in POINTS]
        assert None not in found
        return [float(each) for each in found if each is not None]

    def limits(self, *, drawn: bool) -> np.ndarray:
        """Lower and upper limits at the points."""
        rows = np.flatnonzero(~self.failed)
        at = self.read[rows]
        lives = ClusteredLives(
            np.zeros(len(self.read), np.int64),
            self.ends(self.read + np.rint(self.since_read.km)),
            self.failed,
            np.arange(len(self.read)),
            projected=ProjectedExits(rows, rows, at, at, self.since_read) if drawn else None,
        )
        found = resample_survival(
            lives,
            ALL_CAPTURED,
            POINTS,
            rng=np.random.default_rng(11),
            options=ResamplingOptions(repeats=200),
        )
        return np.array([(each.lower, each.upper) for each in found.points], np.float64)


def by_the_law(rng: np.random.Generator, rate: np.ndarray, until: np.ndarray) -> np.ndarray:
    """Distances by the very law of the projection: one scatter of 0.35 a root of years."""
    years = np.diff(until, axis=0, prepend=np.zeros_like(until[:1]))
    scatter = 0.35 / np.sqrt(np.maximum(years, 1)) * rng.standard_normal(until.shape)
    return np.asarray(np.cumsum(years * np.exp(rate + scatter), axis=0))


def year_by_year(rng: np.random.Generator, rate: np.ndarray, until: np.ndarray) -> np.ndarray:
    """Each year scatters by itself: bad years and good ones do not make up for one another."""
    yearly = np.exp(rate[:, None] + 0.35 * rng.standard_normal((len(rate), YEARS)))
    km = np.hstack([np.zeros((len(rate), 1)), np.cumsum(yearly, axis=1)])
    return np.asarray(km[np.arange(len(rate)), until])


Driving = Callable[[np.random.Generator, np.ndarray, np.ndarray], np.ndarray]


def world(seed: int, n: int, driving: Driving) -> World:
    """Vehicles of 4 to 14 years that differ by 0.5 about 20 000 km a year."""
    rng = np.random.default_rng(seed)
    rate = np.log(20_000) + 0.5 * rng.standard_normal(n)
    age = rng.integers(4, YEARS + 1, n)
    watched = np.where(rng.random(n) < 0.2, age, rng.integers(0, 2, n))
    read, true_km = np.rint(driving(rng, rate, np.array([watched, age]))).astype(np.int64)
    annual = annual_distance(read, watched, np.zeros(n, np.int64))
    return World(
        read,
        true_km,
        np.ceil(220_000 * rng.weibull(3, n)),
        project_distance(annual, age - watched, watched, judged_change()),
    )


@pytest.mark.slow
@pytest.mark.parametrize(
    ("driving", "drawn_least", "fixed_most"),
    [
        # 95 % less three standard errors of 50 worlds is 86 %.
        pytest.param(by_the_law, 0.86, 0.85, id="by the law"),
        # The law is off by some per cent of the distance here, and so is the far end of the curve.
        pytest.param(year_by_year, 0.70, 0.65, id="year by year"),
    ],
)
def test_limits_hold_the_curve_that_knows_the_distances_only_if_they_are_drawn(
    driving: Driving, drawn_least: float, fixed_most: float
) -> None:
    truth = np.array(world(0, 400_000, driving).knowing())
    worlds = [world(seed, 3_000, driving) for seed in range(1, 51)]

    def held(*, drawn: bool) -> np.ndarray:
        limits = np.array([each.limits(drawn=drawn) for each in worlds])
        return np.mean((limits[:, :, 0] <= truth) & (truth <= limits[:, :, 1]), axis=0)

    near, middle, far = held(drawn=True)
    far_fixed = held(drawn=False)[2]
    assert min(near, middle) >= 0.86
    assert far >= drawn_least
    assert far_fixed <= fixed_most
    assert far - far_fixed >= 0.1
