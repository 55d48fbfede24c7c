"""Resampled limits against slow resampling, simulated truth and the limits they replace."""

import numpy as np
import pytest

from garage.lifetimes.capture.share import CapturePrior, all_captured, capture_share
from garage.lifetimes.curves.cumulative_incidence import cumulative_incidence
from garage.lifetimes.curves.product_limit import product_limit
from garage.lifetimes.resampling.vehicles import (
    ALL_CAPTURED,
    CaptureDraws,
    ClusteredLives,
    ResamplingOptions,
    resample_incidence,
    resample_survival,
)
from garage.lifetimes.risk_table import LivesArrays, RiskTable
from garage.lifetimes.status import Status
from tests.lifetimes.conftest import table_of

QUICK = ResamplingOptions(repeats=60)


def fleet(
    seed: int, vehicles: int = 60, lives_each: int = 3, spread: float = 0.0
) -> ClusteredLives:
    """Lives of vehicles whose hazards differ by a log-normal factor; some enter late."""
    rng = np.random.default_rng(seed)
    vehicle = np.repeat(np.arange(vehicles), lives_each)
    factor = np.exp(spread * rng.standard_normal(vehicles))[vehicle]
    life = np.ceil(1000 * (rng.exponential(size=len(vehicle)) / factor) ** 0.5)
    entry = np.where(rng.random(len(vehicle)) < 0.2, 100, 0)
    left = rng.integers(300, 2000, len(vehicle))
    kept = np.minimum(life, left) > entry
    return ClusteredLives(
        entry[kept], np.minimum(life, left)[kept], (life <= left)[kept], vehicle[kept]
    )


def rows_of(lives: ClusteredLives) -> tuple[np.ndarray, ...]:
    return tuple(
        np.asarray(each) for each in (lives.entry, lives.exit, lives.failed, lives.cluster)
    )


def test_survival_and_its_limits_equal_slow_resampling_of_tables() -> None:
    lives = fleet(1)
    entry, exit_, failed, cluster = rows_of(lives)
    points = [200, 600, 900]
    found = resample_survival(
        lives, ALL_CAPTURED, points, rng=np.random.default_rng(7), options=QUICK
    )
    codes = np.unique(cluster)
    rng, drawn = np.random.default_rng(7), []
    for _ in range(QUICK.repeats):
        picked = codes[rng.integers(0, len(codes), len(codes))]
        ALL_CAPTURED.draw(rng)
        rows = np.concatenate([np.flatnonzero(cluster == code) for code in picked])
        curve = product_limit(
            table_of(exit_[rows], failed[rows].astype(int), entry[rows]), smallest_risk_set=0
        )
        drawn.append([curve.at(km).value for km in points])
    low, high = np.quantile(np.array(drawn, float), [0.025, 0.975], axis=0)
    whole = product_limit(table_of(exit_, failed.astype(int), entry))
    assert [p.value for p in found.points] == [whole.at(km).value for km in points]
    np.testing.assert_allclose([p.lower for p in found.points], low)
    np.testing.assert_allclose([p.upper for p in found.points], high)


def test_incidence_and_its_limits_equal_slow_resampling_of_tables() -> None:
    lives = fleet(2)
    entry, exit_, failed, cluster = rows_of(lives)
    other = ~failed & (np.arange(len(exit_)) % 3 == 0)
    cause = failed + 2 * other
    competing = ClusteredLives(entry, exit_, failed, cluster, other_end=other)
    halves = CaptureDraws([40.0], [20.0])
    found = resample_incidence(
        competing, halves, [500], rng=np.random.default_rng(3), options=QUICK
    )
    codes = np.unique(cluster)
    rng, drawn = np.random.default_rng(3), []
    for _ in range(QUICK.repeats):
        picked = codes[rng.integers(0, len(codes), len(codes))]
        share = float(halves.draw(rng)[0])
        rows = np.concatenate([np.flatnonzero(cluster == code) for code in picked])
        curves = cumulative_incidence(
            table_of(exit_[rows], cause[rows], entry[rows], causes=2), smallest_risk_set=0
        )
        value = curves.at("cause 1", 500).value
        assert value is not None
        drawn.append(value / share)
    low, high = np.quantile(drawn, [0.025, 0.975])
    whole = cumulative_incidence(table_of(exit_, cause, entry, causes=2)).at("cause 1", 500)
    assert whole.value is not None
    assert found.points[0].value == pytest.approx(whole.value / (40 / 60))
    assert found.points[0].lower == pytest.approx(low)
    assert found.points[0].upper == pytest.approx(high)


def test_life_entering_where_another_fails_is_not_at_risk_there() -> None:
    lives = ClusteredLives(
        [0] * 20 + [50] * 20, [50] * 10 + [90] * 30, [True] * 10 + [False] * 30, range(40)
    )
    rng = np.random.default_rng(0)
    back = resample_incidence(lives, ALL_CAPTURED, [60], rng=rng).points[0]
    assert back.value == 0.5
    stays = resample_survival(lives, ALL_CAPTURED, [60], rng=rng).points[0]
    assert stays.value == 0.5
    assert stays.lower is not None
    assert stays.upper is not None
    # 20 at risk, not 40: a binomial share of one half has an error of 0.11, not 0.08.
    assert stays.upper - stays.lower > 0.35


def test_given_survival_starts_the_resampled_curve_there() -> None:
    lives = fleet(1)
    entry, exit_, failed, _ = rows_of(lives)
    options = ResamplingOptions(repeats=60, given_survival_to=400)
    point = resample_survival(
        lives, ALL_CAPTURED, [900], rng=np.random.default_rng(1), options=options
    ).points[0]
    later = product_limit(table_of(exit_, failed.astype(int), entry), given_survival_to=400)
    assert point.value == later.at(900).value
    assert point.lower is not None
    assert point.upper is not None
    assert point.value is not None
    assert point.lower < point.value < point.upper
    with pytest.raises(ValueError, match="starts at clock 0"):
        resample_incidence(
            lives, ALL_CAPTURED, [900], rng=np.random.default_rng(1), options=options
        )


def test_limits_of_unlike_vehicles_are_wider_than_greenwoods_and_of_like_ones_are_not() -> None:
    def widths(spread: float) -> tuple[float, float]:
        lives = fleet(5, vehicles=150, lives_each=6, spread=spread)
        entry, exit_, failed, _ = rows_of(lives)
        point = resample_survival(lives, ALL_CAPTURED, [600], rng=np.random.default_rng(2)).points[
            0
        ]
        plain = product_limit(table_of(exit_, failed.astype(int), entry)).at(600)
        assert point.upper is not None
        assert point.lower is not None
        assert plain.upper is not None
        assert plain.lower is not None
        return point.upper - point.lower, plain.upper - plain.lower

    unlike, plain = widths(1.2)
    assert unlike > 1.3 * plain
    like, plain = widths(0.0)
    assert like == pytest.approx(plain, rel=0.2)


def test_doubt_about_the_capture_share_widens_the_limits() -> None:
    lives = fleet(3)

    def width(draws: CaptureDraws) -> float:
        point = resample_survival(lives, draws, [600], rng=np.random.default_rng(2)).points[0]
        assert point.upper is not None
        assert point.lower is not None
        return point.upper - point.lower

    assert width(CaptureDraws([8.0], [2.0])) > 1.2 * width(CaptureDraws([8e6], [2e6]))


def test_limits_hold_the_truth_as_often_as_they_say() -> None:
    # Vehicles unlike in hazard; truth by a long run of the same law.
    long_run = fleet(99, vehicles=20_000, lives_each=2, spread=0.8)
    entry, exit_, failed, _ = rows_of(long_run)
    truth = product_limit(table_of(exit_, failed.astype(int), entry)).at(600).value
    assert truth is not None
    hits = 0
    for world in range(100):
        point = resample_survival(
            fleet(1000 + world, vehicles=60, lives_each=4, spread=0.8),
            ALL_CAPTURED,
            [600],
            rng=np.random.default_rng(world),
            options=ResamplingOptions(repeats=150, level=0.9),
        ).points[0]
        assert point.lower is not None
        assert point.upper is not None
        hits += point.lower <= truth <= point.upper
    # 90 expected; the binomial standard deviation is 3.
    assert 81 <= hits <= 98


def test_capture_groups_use_their_own_share() -> None:
    lives = ClusteredLives(
        [0] * 40, [50] * 10 + [90] * 30, [True] * 10 + [False] * 30, range(40), [0, 1] * 20
    )
    draws = CaptureDraws.from_shares([all_captured(), capture_share(90, 63)])
    share = draws.means()
    assert share[0] == 1.0
    point = resample_survival(lives, draws, [60], rng=np.random.default_rng(0)).points[0]
    assert point.value == pytest.approx(1 - (5 + 5 / share[1]) / 40)
    came_back = resample_incidence(lives, draws, [60], rng=np.random.default_rng(0)).points[0]
    assert came_back.value == pytest.approx((5 + 5 / share[1]) / 40)


def test_median_limits_that_are_not_reached_are_none() -> None:
    lives = fleet(4)
    median = resample_survival(lives, ALL_CAPTURED, [], rng=np.random.default_rng(0)).median
    assert median is not None
    assert median.value is not None
    assert median.lower is not None
    assert median.upper is not None
    assert median.lower < median.value < median.upper
    entry, exit_, failed, cluster = rows_of(lives)
    short = ClusteredLives(
        entry, np.minimum(exit_, median.value), failed & (exit_ <= median.value), cluster
    )
    cut = resample_survival(short, ALL_CAPTURED, [], rng=np.random.default_rng(0)).median
    assert cut is not None
    assert cut.upper is None


def test_same_seed_gives_the_same_limits() -> None:
    points = [
        resample_survival(fleet(6), ALL_CAPTURED, [600], rng=np.random.default_rng(seed)).points[0]
        for seed in (1, 1, 2)
    ]
    assert points[0] == points[1]
    assert points[0] != points[2]


def test_nothing_failed_keeps_the_exact_limit_divided_by_the_share() -> None:
    lives = ClusteredLives([0] * 30, [100] * 30, [False] * 30, range(30))
    rng = np.random.default_rng(0)
    seen = resample_survival(lives, ALL_CAPTURED, [100], rng=rng).points[0]
    assert (seen.value, seen.upper) == (1.0, 1.0)
    assert seen.lower == pytest.approx(0.025 ** (1 / 30))
    halves = CaptureDraws([50.0], [50.0])
    half_seen = resample_survival(lives, halves, [100], rng=rng).points[0]
    assert half_seen.lower == pytest.approx(1 - 2 * (1 - 0.025 ** (1 / 30)))
    back = resample_incidence(lives, halves, [100], rng=rng).points[0]
    assert back.value == 0.0
    assert back.upper == pytest.approx(2 * (1 - 0.025 ** (1 / 30)))


def test_few_vehicles_keep_the_limits_of_independent_lives_and_say_so() -> None:
    lives = fleet(8, vehicles=9, lives_each=4)
    entry, exit_, failed, _ = rows_of(lives)
    point = resample_survival(lives, ALL_CAPTURED, [400], rng=np.random.default_rng(0)).points[0]
    assert point.status is Status.FEW_CLUSTERS
    assert "9 vehicles" in point.reason
    assert point.lower == product_limit(table_of(exit_, failed.astype(int), entry)).at(400).lower
    enough = fleet(8, vehicles=10, lives_each=4)
    again = resample_survival(enough, ALL_CAPTURED, [400], rng=np.random.default_rng(0)).points[0]
    assert again.status is Status.OK


def test_no_lives_has_no_figure() -> None:
    none = ClusteredLives([], [], [], [])
    rng = np.random.default_rng(0)
    for resample in (resample_survival, resample_incidence):
        found = resample(none, ALL_CAPTURED, [100], rng=rng, options=QUICK)
        assert (found.n, found.clusters) == (0, 0)
        assert (found.points[0].value, found.points[0].status) == (None, Status.NO_LIVES)


def test_point_beyond_watch_has_no_figure() -> None:
    found = resample_survival(
        ClusteredLives([0] * 20, [50] * 20, [True] * 5 + [False] * 15, range(20)),
        ALL_CAPTURED,
        [51],
        rng=np.random.default_rng(0),
    )
    assert (found.points[0].value, found.points[0].lower) == (None, None)
    assert found.points[0].status is Status.BEYOND_WATCH


@pytest.mark.parametrize(
    ("change", "rule"),
    [
        ({"capture_group": [0, 1]}, "numbered 0 to 0; got 0 to 1"),
        ({"cluster": [1]}, "`cluster` must hold 2 values; got 1"),
        ({"failed": [True]}, "`failed` must hold 2 values; got 1"),
    ],
)
def test_lives_that_do_not_fit_together_are_refused(
    change: dict[str, list[int]], rule: str
) -> None:
    given = {"entry": [0, 0], "exit": [5, 9], "failed": [True, False], "cluster": [0, 1]}
    with pytest.raises(ValueError, match=rule):
        resample_survival(
            ClusteredLives(**(given | change)),  # type: ignore[arg-type]
            ALL_CAPTURED,
            [5],
            rng=np.random.default_rng(0),
        )


@pytest.mark.parametrize("law", [([0.0], [1.0]), ([1.0], [-1.0]), ([1.0, 2.0], [1.0])])
def test_beta_laws_that_cannot_be_are_refused(law: tuple[list[float], list[float]]) -> None:
    with pytest.raises(ValueError, match="Beta laws have one alpha above 0"):
        CaptureDraws(*law).means()


def test_share_never_found_cannot_be_drawn_from() -> None:
    nothing_held = CapturePrior(stay_away=0, mean=0.8, weight=0)
    with pytest.raises(ValueError, match="alpha above 0"):
        CaptureDraws.from_shares([capture_share(0, 4, prior=nothing_held)]).means()


def test_table_and_lives_agree_on_what_is_counted() -> None:
    lives = fleet(1)
    entry, exit_, failed, cluster = rows_of(lives)
    table = RiskTable.from_lives(LivesArrays(entry, exit_, failed), unit="km")
    found = resample_survival(lives, ALL_CAPTURED, [600], rng=np.random.default_rng(0))
    assert (found.n, found.failed) == (table.n, table.failed_total)
    assert found.clusters == len(np.unique(cluster))
