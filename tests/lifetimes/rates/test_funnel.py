"""The funnel: which units lie outside, how often by chance alone, and what over-dispersion does."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from garage.lifetimes.rates.funnel import Funnel, FunnelForm, Place, funnel
from garage.lifetimes.rates.funnel_limits import FunnelKind, FunnelLaw, funnel_limits
from garage.lifetimes.status import Status

SHARES, RATIOS = FunnelForm(FunnelKind.SHARE), FunnelForm(FunnelKind.RATIO)


def outside(found: Funnel, level: int = 0) -> float:
    return float(np.mean([unit.places[level] is not Place.INSIDE for unit in found.units]))


def test_places_equal_a_hand_count() -> None:
    # Ten expected: 4 to 17 inside 95 %, 2 to 21 inside 99.8 % (Poisson tables).
    counts = [1, 2, 3, 4, 17, 18, 21, 22]
    found = funnel(counts, [10.0] * 8, RATIOS, target=1.0)
    below, inside, above = Place.BELOW, Place.INSIDE, Place.ABOVE
    assert [unit.places for unit in found.units] == [
        (below, below),
        (below, inside),
        (below, inside),
        (inside, inside),
        (inside, inside),
        (above, inside),
        (above, inside),
        (above, above),
    ]
    assert (found.n, found.failed, found.target_given) == (8, 88, True)


def test_target_of_all_units_together_where_none_is_given() -> None:
    found = funnel([3, 5, 30], [40, 60, 100], SHARES)
    assert found.target == pytest.approx(38 / 200)
    assert not found.target_given
    assert found.units[2].value == 0.3
    assert found.units[2].z == pytest.approx((0.3 - 0.19) / np.sqrt(0.19 * 0.81 / 100))


def test_unit_without_a_chance_has_no_place_and_changes_nothing() -> None:
    without = funnel([3, 5], [40, 60], SHARES)
    found = funnel([3, 0, 5], [40, 0, 60], SHARES)
    assert found.units[1].places == (Place.NOT_WATCHED, Place.NOT_WATCHED)
    assert found.units[1].status is Status.NO_LIVES
    assert found.units[1].value is None
    assert (found.units[0], found.units[2]) == without.units
    assert found.n == 2


def test_chance_alone_puts_no_more_outside_than_the_level_leaves_out() -> None:
    """20 000 units of 3 to 300 expected events: found 3.7 % outside 95 %, 0.14 % outside 99.8 %."""
    rng = np.random.default_rng(9)
    size = np.exp(rng.uniform(np.log(3), np.log(300), 20_000))
    found = funnel(rng.poisson(0.8 * size), size, RATIOS, target=0.8)
    assert outside(found) == pytest.approx(0.037, abs=0.004)
    assert outside(found, 1) < 0.002


@pytest.mark.parametrize("kind", list(FunnelKind))
def test_allowances_take_over_dispersed_units_back_inside(kind: FunnelKind) -> None:
    rng = np.random.default_rng(10)
    size = rng.integers(50, 500, 1_500)
    if kind is FunnelKind.RATIO:
        failed = rng.poisson(size * rng.gamma(1 / 0.04, 0.04, 1_500))
    else:
        failed = rng.binomial(size, rng.beta(8, 32, 1_500))
    shares = {
        allowance: outside(funnel(failed, size, FunnelForm(kind, allowance=allowance)))
        for allowance in ("none", "multiplicative", "additive")
    }
    assert shares["none"] > 0.4
    assert shares["multiplicative"] < 0.25
    # Drawing in finds three fifths of the variance, hence more than one in twenty outside.
    assert 0.05 < shares["additive"] < 0.15
    whole = FunnelForm(kind, allowance="additive", winsorised=0.0)
    assert 0.03 < outside(funnel(failed, size, whole)) < 0.06


def test_spread_is_told_even_where_no_allowance_is_made_for_it() -> None:
    rng = np.random.default_rng(11)
    found = funnel(rng.poisson(30, 12), [20.0] * 12, RATIOS)
    assert found.spread is not None
    assert found.spread.ratio is not None
    assert found.law == FunnelLaw(FunnelKind.RATIO, found.target)


def test_funnel_is_never_narrower_than_chance() -> None:
    same = FunnelForm(FunnelKind.RATIO, allowance="multiplicative")
    found = funnel([20] * 12, [20.0] * 12, same)
    assert found.law == FunnelLaw(FunnelKind.RATIO, 1.0)


def test_too_few_units_for_an_allowance_get_the_funnel_of_chance_and_say_so() -> None:
    form = FunnelForm(FunnelKind.RATIO, allowance="additive")
    found = funnel([4, 30, 9], [10.0] * 3, form)
    assert (found.status, found.reason[:15]) == (Status.FEW_CLUSTERS, "over-dispersion")
    assert found.law == FunnelLaw(FunnelKind.RATIO, 43 / 30)
    assert funnel([4, 30, 9], [10.0] * 3, RATIOS).status is Status.OK


def test_lines_are_the_limits_at_any_size() -> None:
    found = funnel([3, 5, 30], [40, 60, 100], SHARES, target=0.2)
    two, three = found.limits([10, 500])
    expected = funnel_limits([10, 500], FunnelLaw(FunnelKind.SHARE, 0.2), level=0.95)
    assert two.upper.tolist() == expected.upper.tolist()
    assert three.level == 0.998


@pytest.mark.parametrize(
    ("failed", "size", "status"),
    [
        ([], [], Status.NO_LIVES),
        ([0, 0], [0, 0], Status.NO_LIVES),
        ([0, 0], [5, 8], Status.NO_FAILURES),
        ([5, 8], [5, 8], Status.ALL_FAILED),
    ],
)
def test_units_that_give_no_target_have_no_places_and_no_lines(
    failed: list[int], size: list[int], status: Status
) -> None:
    found = funnel(failed, size, SHARES)
    assert found.status is status
    assert all(unit.places == () and unit.value is None for unit in found.units)
    with pytest.raises(ValueError, match="has no limits"):
        found.limits([10])
    if status is not Status.NO_LIVES:
        assert funnel(failed, size, SHARES, target=0.3).status is Status.OK


@given(st.lists(st.tuples(st.integers(0, 30), st.integers(1, 60)), min_size=2, max_size=12))
def test_outside_the_wider_level_means_outside_the_narrower(
    units: list[tuple[int, int]],
) -> None:
    failed, n = zip(*((min(each), each[1]) for each in units), strict=True)
    for unit in funnel(failed, n, SHARES, target=0.25).units:
        narrow, wide = unit.places
        assert wide in (narrow, Place.INSIDE)


@pytest.mark.parametrize(
    ("failed", "size", "words"),
    [
        ([1, -1], [2, 2], "index 1"),
        ([1, 0.5], [2, 2], "index 1"),
        ([1, 3], [2, 2], "index 1"),
        ([1, 1], [2, 0], "index 1"),
        ([1, 1], [2, 2.5], "index 1"),
        ([1, 1], [2, float("inf")], "index 1"),
        ([1], [2, 2], r"`size` must have shape \(1,\)"),
    ],
)
def test_refuses_units_that_cannot_be(failed: list[float], size: list[float], words: str) -> None:
    funnel([1, 1], [2, 2], SHARES)
    with pytest.raises(ValueError, match=words):
        funnel(failed, size, SHARES)


def test_refuses_a_form_that_is_none() -> None:
    for levels in ((), (0.998, 0.95), (0.95, 0.95)):
        with pytest.raises(ValueError, match="ascend"):
            FunnelForm(FunnelKind.RATIO, levels=levels)
    with pytest.raises(ValueError, match="allowance is"):
        FunnelForm(FunnelKind.RATIO, allowance="some")  # type: ignore[arg-type]
