"""The *expected* table and its resampled limits, against what they must equal."""

from dataclasses import replace

import numpy as np
import pytest

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.capture.draws import ALL_CAPTURED, CaptureDraws
from garage.lifetimes.capture.share import capture_share
from garage.lifetimes.curves.product_limit import product_limit
from garage.lifetimes.resampling import expected_steps
from garage.lifetimes.resampling.expected_lives import (
    ExpectedLives,
    VisitGroup,
    expected_table,
    resample_expected,
)
from garage.lifetimes.resampling.limits import ResampledCurve, ResamplingOptions
from garage.lifetimes.resampling.vehicles import ClusteredLives, resample_survival
from garage.lifetimes.risk_table import LivesArrays, RiskTable
from garage.lifetimes.status import Status
from garage.lifetimes.visits.law import VisitLaw
from garage.lifetimes.visits.model import visit_fit
from garage.lifetimes.visits.silence import expected_withdrawals
from tests.lifetimes.resampling.silent_lives import YEARLY, group_with, lives_of, once_seen
from tests.lifetimes.visits.workshop_estimate import Judged
from tests.lifetimes.visits.workshop_world import World

POINTS = [50_000, 100_000, 150_000, 200_000]
WORLD = World(VisitLaw(3.0, 1.0, 2.0, 0.2, 1.5), capture=0.7)


@pytest.fixture(scope="module")
def judged() -> Judged:
    """A workshop whose capture share is known as from twenty looks: here lives are drawn."""
    made = Judged.of(WORLD, 600, 3)
    assert made is not None
    return replace(made, share=capture_share(made.share.here + 8, made.share.elsewhere + 2))


def draws_of(judged: Judged) -> CaptureDraws:
    return CaptureDraws.from_shares([judged.share])


def drawn(judged: Judged, seed: int = 1, repeats: int = 400) -> ResampledCurve:
    return resample_expected(
        judged.workshop.lives,
        [judged.visits],
        draws_of(judged),
        POINTS,
        rng=np.random.default_rng(seed),
        options=ResamplingOptions(repeats=repeats),
    )


def widths(curve: ResampledCurve) -> FloatArray:
    return np.array([point.upper - point.lower for point in curve.points])  # type: ignore[operator]


def ended_lives(seed: int = 5, n: int = 90) -> tuple[ExpectedLives, ClusteredLives]:
    """Lives of which none is silent, in both forms."""
    rng = np.random.default_rng(seed)
    entry = np.where(rng.random(n) < 0.3, 20_000, 0)
    exit_, failed = entry + rng.integers(1, 200_000, n), rng.random(n) < 0.5
    cluster, group = np.arange(n) // 3, (np.arange(n) // 3) % 2
    nowhere = np.full(n, -1)
    silent = np.zeros(n, bool)
    lives = ExpectedLives(entry, exit_, failed, cluster, group, silent, nowhere, np.zeros(n))
    return lives, ClusteredLives(entry, exit_, failed, cluster, group)


TWO_SHARES = CaptureDraws([8.0, 3.0], [2.0, 0.0])


def test_without_silence_the_table_is_that_of_the_lives() -> None:
    lives, _ = ended_lives()
    groups = [group_with(YEARLY, once_seen(1, 1.0))] * 2
    shares = np.array([0.8, 1.0])
    found = expected_table(lives, groups, shares)
    capture = np.where(lives.failed, shares[lives.group], 1.0)
    plain = LivesArrays(lives.entry, lives.exit, lives.failed.astype(int), capture=capture)
    table = RiskTable.from_lives(plain, unit="km")
    assert found.clock.tolist() == table.clock.tolist()
    np.testing.assert_allclose(found.withdrawn, table.withdrawn, atol=1e-12)
    np.testing.assert_allclose(found.corrected, table.corrected)
    assert found.failed.tolist() == table.failed.tolist()


def test_without_silence_the_curve_is_that_of_resampled_lives(judged: Judged) -> None:
    lives, clustered = ended_lives()
    groups = [VisitGroup(judged.visits.fit, once_seen(1, 1.0))] * 2
    options = ResamplingOptions(repeats=2_000)
    found, plain = (
        resample_expected(
            lives, groups, TWO_SHARES, POINTS, rng=np.random.default_rng(1), options=options
        ),
        resample_survival(
            clustered, TWO_SHARES, POINTS, rng=np.random.default_rng(2), options=options
        ),
    )
    for ours, other in zip(found.points, plain.points, strict=True):
        assert ours.value == pytest.approx(other.value)
        assert (ours.n, ours.failed, ours.status) == (other.n, other.failed, other.status)
        assert ours.lower == pytest.approx(other.lower, abs=0.03)
        assert ours.upper == pytest.approx(other.upper, abs=0.03)
    assert found.median is not None
    assert plain.median is not None
    assert found.median.value == plain.median.value
    assert found.median.lower == pytest.approx(plain.median.lower, rel=0.1)


def test_silent_lives_stay_by_their_chance_to_be_customers() -> None:
    n = 50
    table = expected_table(lives_of(n), [group_with(YEARLY, once_seen(n, 3.0))], [1.0])
    left = expected_withdrawals(YEARLY, once_seen(1, 3.0))
    after = 100_001 + 20_000 * left.elapsed[0]
    staying = n * (1 - left.share_each[0] * np.arange(1, 9))
    np.testing.assert_allclose(table.at_risk_at(np.ceil(after)), staying, atol=1e-9)
    assert table.at_risk_at(160_000) == pytest.approx(n * left.remaining[0])
    assert table.watched_to == 160_000
    assert (table.n, table.failed_total) == (n, 0)


def test_parts_that_ought_to_have_failed_are_withdrawn_sooner() -> None:
    n = 400
    silent = np.arange(n) >= 100
    lives = lives_of(
        n,
        silent=silent,
        failed=~silent,
        exit=np.where(silent, 100_000, np.linspace(100_001, 160_000, n).astype(int)),
        history=np.where(silent, np.arange(n), -1),
    )
    known = once_seen(n, 3.0)
    group = group_with(YEARLY, known)
    with_failures = expected_table(lives, [group], [1.0])
    # As many silent ones, and nothing to be known of how such parts last.
    alone = lives_of(300)
    without = expected_table(alone, [group], [1.0])
    still_sound = with_failures.at_risk_at(150_000) - np.sum(lives.exit[~silent] >= 150_000)
    assert still_sound < 0.9 * without.at_risk_at(150_000)


def test_unnoticed_repairs_elsewhere_lower_the_numbers_at_risk(judged: Judged) -> None:
    visits = judged.visits
    stay_none, stay_most = (
        expected_table(judged.workshop.lives, [replace(visits, stay_away=away)], [0.6])
        for away in (0.0, 0.9)
    )
    far = np.array([100_000, 150_000])
    assert np.all(stay_none.at_risk_at(far) < stay_most.at_risk_at(far))


def test_failures_count_by_the_share_of_their_group(judged: Judged) -> None:
    lives = replace(judged.workshop.lives, group=judged.workshop.lives.cluster % 2)
    table = expected_table(lives, [judged.visits] * 2, [0.5, 1.0])
    odd = lives.failed & (lives.group == 1)
    expected = 2 * float(lives.failed.sum() - odd.sum()) + float(odd.sum())
    assert table.corrected.sum() == pytest.approx(expected)
    with pytest.raises(ValueError, match="groups are numbered 0 to 0"):
        expected_table(lives, [judged.visits] * 2, [0.5])


def test_estimate_is_that_of_the_table(judged: Judged) -> None:
    curve = product_limit(judged.expected())
    found = drawn(judged, repeats=20)
    assert [point.value for point in found.points] == [curve.at(at).value for at in POINTS]
    assert found.median is not None
    assert found.median.value == curve.median.value
    assert found.clusters == 600


def test_same_seed_gives_the_same_limits(judged: Judged) -> None:
    one, again, other = (drawn(judged, seed, repeats=40).points[1] for seed in (1, 1, 2))
    assert one == again
    assert one != other


def test_given_survival_starts_the_curve_there(judged: Judged) -> None:
    found = resample_expected(
        judged.workshop.lives,
        [judged.visits],
        draws_of(judged),
        [60_000, 100_000, 150_000],
        rng=np.random.default_rng(1),
        options=ResamplingOptions(repeats=40, given_survival_to=100_000),
    )
    before, start, later = found.points
    assert before.status is Status.BEYOND_WATCH
    assert start.value == 1
    whole = [point.value for point in drawn(judged, repeats=4).points]
    assert whole[1] is not None
    assert whole[2] is not None
    assert later.value == pytest.approx(whole[2] / whole[1])
    assert later.lower is not None
    assert later.upper is not None
    assert later.value is not None
    assert later.lower < later.value < later.upper


def test_early_thin_place_does_not_end_the_later_limits(judged: Judged) -> None:
    # One life alone at risk fails at 5 000 km, before the others come under watch.
    lives, _ = ended_lives()
    entry = np.concatenate([[0], lives.entry + 10_000])
    exit_ = np.concatenate([[5_000], lives.exit + 10_000])
    failed = np.concatenate([[True], lives.failed])
    cluster = np.concatenate([[999], lives.cluster])
    nowhere, zero = np.full(entry.size, -1), np.zeros(entry.size, int)
    silent = np.zeros(entry.size, bool)
    made = ExpectedLives(entry, exit_, failed, cluster, zero, silent, nowhere, zero)
    group = VisitGroup(judged.visits.fit, once_seen(1, 1.0))

    def found(start: int | None) -> ResampledCurve:
        return resample_expected(
            made,
            [group],
            ALL_CAPTURED,
            [100_000],
            rng=np.random.default_rng(1),
            options=ResamplingOptions(repeats=200, given_survival_to=start),
        )

    whole, later = found(None).points[0], found(5_000).points[0]
    assert (whole.value, whole.status) == (None, Status.SMALL_RISK_SET)
    assert later.lower is not None
    assert later.value is not None
    assert later.upper is not None
    assert 0 < later.lower < later.value < later.upper < 1


def test_no_lives_has_no_figure() -> None:
    none = ExpectedLives([], [], [], [], [], [], [], [])
    assert expected_table(none, [], []).n == 0
    found = resample_expected(none, [], ALL_CAPTURED, [100], rng=np.random.default_rng(1))
    assert (found.n, found.clusters) == (0, 0)
    assert (found.points[0].value, found.points[0].status) == (None, Status.NO_LIVES)


def test_few_vehicles_keep_the_limits_of_independent_lives(judged: Judged) -> None:
    n = 9
    failed = np.arange(n) < 3
    lives = lives_of(n, silent=~failed, failed=failed, history=np.where(failed, -1, np.arange(n)))
    group = VisitGroup(judged.visits.fit, once_seen(n, 3.0))
    found = resample_expected(
        lives, [group], ALL_CAPTURED, [100_000], rng=np.random.default_rng(1)
    ).points[0]
    assert found.status is Status.FEW_CLUSTERS
    plain = product_limit(expected_table(lives, [group], [1.0])).at(100_000)
    assert (found.lower, found.upper) == (plain.lower, plain.upper)


def test_nothing_failed_keeps_the_exact_limit(judged: Judged) -> None:
    n = 50
    group = VisitGroup(judged.visits.fit, once_seen(n, 3.0))
    found = resample_expected(
        lives_of(n), [group], ALL_CAPTURED, [90_000], rng=np.random.default_rng(1)
    ).points[0]
    assert (found.value, found.upper) == (1.0, 1.0)
    assert found.lower == pytest.approx(0.025 ** (1 / n))


def test_doubt_about_the_capture_share_widens_the_limits(judged: Judged) -> None:
    def width(weight: float) -> FloatArray:
        return widths(
            resample_expected(
                judged.workshop.lives,
                [judged.visits],
                CaptureDraws([0.7 * weight], [0.3 * weight]),
                POINTS[:3],
                rng=np.random.default_rng(1),
            )
        )

    assert np.all(width(10) > 1.1 * width(1e6))


@pytest.mark.slow
def test_limits_equal_slow_resampling_of_tables(judged: Judged) -> None:
    """Vehicles drawn and counted one by one, each time with the law redrawn from them."""
    lives, known, fit = judged.workshop.lives, judged.visits.known, judged.visits.fit
    alone = visit_fit(known)
    assert alone.law is not None
    scores, rng, n = alone.scores(), np.random.default_rng(8), known.repeats.size
    by_vehicle = [np.flatnonzero(lives.cluster == each) for each in range(n)]
    heights = []
    for _ in range(250):
        picked = rng.integers(0, n, n)
        law = alone.redrawn(np.bincount(picked, minlength=n), scores)
        rows = np.concatenate([by_vehicle[each] for each in picked])
        again = {
            name: getattr(lives, name)[rows] for name in ExpectedLives.__slots__ if name != "unit"
        }
        q = float(draws_of(judged).draw(rng)[0])
        table = expected_table(
            ExpectedLives(**again), [VisitGroup(replace(fit, law=law), known, 0.3)], [q]
        )
        curve = product_limit(table, smallest_risk_set=0)
        heights.append([curve.at(at).value for at in POINTS[:3]])
    low, high = np.quantile(np.array(heights, float), [0.025, 0.975], axis=0)
    found = drawn(judged).points[:3]
    for point, least, most in zip(found, low, high, strict=True):
        assert point.lower == pytest.approx(least, abs=0.15 * (most - least))
        assert point.upper == pytest.approx(most, abs=0.15 * (most - least))


@pytest.mark.slow
def test_bags_give_the_limits_of_single_vehicles(monkeypatch: pytest.MonkeyPatch) -> None:
    judged = Judged.of(replace(WORLD, late=True), 6_000, 4)
    assert judged is not None
    options = ResamplingOptions(repeats=800, given_survival_to=10_000)

    def found() -> ResampledCurve:
        return resample_expected(
            judged.workshop.lives,
            [judged.visits],
            draws_of(judged),
            POINTS,
            rng=np.random.default_rng(1),
            options=options,
        )

    bags = found()
    monkeypatch.setattr(expected_steps, "MOST_SINGLE", 10**9)
    monkeypatch.setattr(expected_steps, "MOST_CELLS", 10**9)
    single = found()
    assert [point.value for point in bags.points] == [point.value for point in single.points]
    np.testing.assert_allclose(widths(bags), widths(single), rtol=0.12)
    for one, other in zip(bags.points, single.points, strict=True):
        assert one.lower is not None
        assert other.upper is not None
        assert one.lower == pytest.approx(other.lower, abs=0.2 * (other.upper - one.lower))
    assert bags.median is not None
    assert single.median is not None
    assert bags.median.lower == pytest.approx(single.median.lower, rel=0.03)
