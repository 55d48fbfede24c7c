"""Ends of what rates can say: shares that are all or nothing, and limits between whole counts."""

from fractions import Fraction

import numpy as np
import pytest

from garage.lifetimes.rates.beta_binomial import beta_prior
from garage.lifetimes.rates.funnel import FunnelForm, funnel
from garage.lifetimes.rates.funnel_limits import FunnelKind, FunnelLaw, funnel_limits
from garage.lifetimes.status import Status


def test_groups_that_are_all_or_nothing_have_no_prior() -> None:
    # The less precise the prior, the likelier: the search ends at the least precision allowed.
    for cases, chances in (([0, 5, 0, 5, 5, 0], 5), ([0, 50, 0, 50, 50, 0, 50], 50)):
        prior = beta_prior(cases, [chances] * len(cases))
        assert (prior.alpha, prior.beta, prior.status) == (None, None, Status.NOT_CONVERGED)
        assert prior.mean == pytest.approx(sum(cases) / (chances * len(cases)))


def test_shares_vary_between_units_by_no_more_than_all_or_nothing() -> None:
    form = FunnelForm(FunnelKind.SHARE, allowance="additive", winsorised=0.0)
    found = funnel([0, 40] * 6, [40] * 12, form)
    assert found.spread is not None
    assert found.spread.between_variance is not None
    assert found.spread.between_variance > 0.25
    assert found.law is not None
    assert found.law.between_variance == pytest.approx(0.25, rel=0.002)
    assert found.law.between_variance < 0.25


@pytest.mark.parametrize("inflation", [1.3, 1.7])
def test_widened_limits_let_in_whole_counts_only(inflation: float) -> None:
    sizes = np.array([20.0, 33.0, 50.0])
    plain = funnel_limits(sizes, FunnelLaw(FunnelKind.SHARE, 0.6))
    wide = funnel_limits(sizes, FunnelLaw(FunnelKind.SHARE, 0.6, inflation=inflation))
    for size, least, most, first, last in zip(
        sizes, plain.least, plain.most, wide.least, wide.most, strict=True
    ):
        centre, times = Fraction(6, 10) * int(size), Fraction(inflation).limit_denominator(10)
        low = centre + times * (int(least) - centre)
        high = centre + times * (int(most) - centre)
        assert first - 1 < low <= first
        assert last <= min(high, int(size)) < last + 1
