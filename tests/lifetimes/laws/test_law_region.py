"""The likelihood region of a law: limits that lie on its edge, or are not set."""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from garage.lifetimes.interval_lives import IntervalLives
from garage.lifetimes.laws.families import FAMILIES, FamilyName
from garage.lifetimes.laws.law_fit import law_fit
from garage.lifetimes.laws.weibull_fit import weibull_fit
from tests.lifetimes.conftest import table_of
from tests.lifetimes.laws.written_out import lives_of, spans


@given(
    st.lists(
        st.tuples(st.integers(0, 50), st.integers(1, 200), st.booleans()), min_size=4, max_size=30
    )
)
@settings(max_examples=20)
def test_limits_equal_those_of_the_contour_of_a_weibull_fit(
    lives: list[tuple[int, int, bool]],
) -> None:
    # Second way: the Weibull fit of a table follows the edge of the region shape by shape.
    entry = [a for a, *_ in lives]
    exit_, failed = [a + b for a, b, _ in lives], [int(c) for *_, c in lives]
    theirs = weibull_fit(table_of(exit_, failed, entry))
    assume(theirs.law is not None)
    right = np.where(np.array(failed) == 1, exit_, np.inf)
    ours = law_fit(IntervalLives(exit_, right, entry), family="weibull")
    for one, other in (
        (ours.shape, theirs.shape),
        (ours.scale, theirs.scale),
        (ours.quantile(0.1), theirs.quantile(0.1)),
    ):
        assert one is not None
        assert other is not None
        for mine, known in ((one.lower, other.lower), (one.upper, other.upper)):
            # A limit many powers of ten away is set by the range of shapes alone.
            if mine is None or known is None or not 1e-6 < known < 1e9:
                continue
            assert mine == pytest.approx(known, rel=2e-4)
        assert one.value == pytest.approx(other.value, rel=1e-6)


@pytest.mark.parametrize("family", list(FAMILIES))
@given(drawn=st.lists(spans, min_size=2, max_size=9), power=st.integers(-5, 5))
@settings(max_examples=10)
def test_figures_are_finite_and_lie_within_their_limits(
    family: FamilyName, drawn: list[tuple[int, int, str, int]], power: int
) -> None:
    lives, factor = lives_of(drawn), 10.0**power
    scaled = IntervalLives(lives.left * factor, lives.right * factor, lives.entry * factor)
    fit = law_fit(scaled, family=family)
    if fit.law is None:
        assert fit.reason
        return
    shape = [] if fit.shape is None else [fit.shape]
    for each in (*shape, fit.scale, fit.quantile(0.01), fit.median, fit.survival_at(50 * factor)):
        assert each is not None
        known = [each.value, each.standard_error, each.wald_lower, each.wald_upper]
        assert np.isfinite([*known, each.lower or 0.0, each.upper or 0.0]).all()
        assert each.lower is None or each.lower <= each.value * (1 + 1e-9)
        assert each.upper is None or each.upper >= each.value * (1 - 1e-9)
        assert each.wald_lower <= each.value <= each.wald_upper


def test_limit_beyond_a_line_with_two_tops_is_found() -> None:
    # Made by a search over random lives: walked along one top only, the lower limit of the
    # scale came out at 182.5. Second way: the contour of the Weibull fit.
    rng = np.random.default_rng(3)
    for _ in range(5):
        n = int(rng.integers(4, 30))
        entry = rng.integers(0, 50, n) * (rng.uniform(size=n) < rng.choice([0.3, 1]))
        exit_ = entry + rng.integers(1, 200, n)
        failed = (rng.uniform(size=n) < 0.5).astype(int)
    theirs = weibull_fit(table_of(exit_, failed, entry))
    ours = law_fit(
        IntervalLives(exit_, np.where(failed == 1, exit_, np.inf), entry), family="weibull"
    )
    assert theirs.scale is not None
    assert ours.scale is not None
    assert theirs.scale.lower == pytest.approx(178.6312, rel=1e-6)
    assert ours.scale.lower == pytest.approx(theirs.scale.lower, rel=1e-7)
