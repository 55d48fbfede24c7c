"""At which soot a burn begins and the most for one: own figures, litres, and neither."""

import pytest

from garage.evidence.drives.targets import SIZE_MOST, FilterSaid, targets_of


def test_litres_give_both_by_grams_per_litre() -> None:
    """4 to 8 g/L and, for silicon carbide, 8 g/L: 2.5 L by hand."""
    found = targets_of(FilterSaid(litres=2.5, silicon_carbide=True))
    assert (found.trigger.least_g, found.trigger.most_g) == (10.0, 20.0)
    assert found.limit is not None
    assert found.limit.most_g == 20.0


def test_burn_does_not_begin_above_the_limit() -> None:
    """Substrate not known: 5 g/L. Fails if the usual 8 g/L stays above it."""
    found = targets_of(FilterSaid(litres=2.5))
    assert (found.trigger.least_g, found.trigger.most_g) == (10.0, 12.5)
    assert "no more than the limit of 12.5 g" in found.trigger.words


def test_own_limit_below_the_least_usual_holds_both_ends() -> None:
    found = targets_of(FilterSaid(limit_g=9.0))
    assert (found.trigger.least_g, found.trigger.most_g) == (9.0, 9.0)


def test_own_figures_beat_litres() -> None:
    found = targets_of(FilterSaid(litres=2.5, limit_g=31.0, trigger_g=19.0))
    assert (found.trigger.least_g, found.trigger.most_g) == (19.0, 19.0)
    assert found.limit is not None
    assert found.limit.most_g == 31.0


def test_nothing_known_gives_no_limit_and_says_why() -> None:
    """Fails if a default stands in for a limit that nobody knows."""
    found = targets_of(FilterSaid())
    assert (found.trigger.least_g, found.trigger.most_g) == (15.0, 25.0)
    assert found.limit is None
    assert "not known" in found.limit_reason


@pytest.mark.parametrize("name", ["litres", "limit_g", "trigger_g"])
@pytest.mark.parametrize("value", [0.0, -1.0, float("nan"), float("inf")])
def test_figure_not_above_nothing_is_refused(name: str, value: float) -> None:
    with pytest.raises(ValueError, match=name):
        targets_of(FilterSaid(**{name: value}))


def test_own_trigger_above_the_own_limit_is_refused() -> None:
    targets_of(FilterSaid(limit_g=20.0, trigger_g=20.0))
    with pytest.raises(ValueError, match="no more than the limit of 20 g"):
        targets_of(FilterSaid(limit_g=20.0, trigger_g=20.1))


def test_own_trigger_above_a_limit_that_is_only_reckoned_stands() -> None:
    """5 g/L in 3 L are 15 g: what the vehicle's maker says of its burns is known better."""
    found = targets_of(FilterSaid(litres=3.0, trigger_g=20.0))
    assert (found.trigger.least_g, found.trigger.most_g) == (20.0, 20.0)
    assert found.limit is not None
    assert found.limit.most_g == 15.0


@pytest.mark.parametrize("name", ["litres", "limit_g", "trigger_g"])
def test_size_beyond_any_filter_is_refused(name: str) -> None:
    """Fails if a product of it may leave the range of numbers."""
    targets_of(FilterSaid(**{name: SIZE_MOST}))
    with pytest.raises(ValueError, match=f"`{name}` is at most 10000"):
        targets_of(FilterSaid(**{name: 1e308}))
