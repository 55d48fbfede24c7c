"""What few looks make of the capture share: as measured-silence.md says it."""

import pytest

from garage.lifetimes.capture.share import COMEBACK_PRIOR, PART_PRIOR, CapturePrior
from tests.lifetimes.visits.few_looks import few_looks, found


@pytest.mark.parametrize("prior", [PART_PRIOR, COMEBACK_PRIOR])
def test_limits_hold_the_truth_whatever_share_comes_here(prior: CapturePrior) -> None:
    # Whole numbers leave it at 0.85 in places; with the weight of ten failures the limits never
    # reach 1 where all came here, be fifty looked at.
    for each in few_looks(prior):
        if each.looked_at >= 10:
            assert each.held > 0.85, each
    assert found(CapturePrior(0.3, 0.8, 10), 1.0, 50).held == 0


@pytest.mark.parametrize("true", [0.5, 0.75, 0.9])
def test_share_is_the_belief_without_looks_and_the_truth_with_many(true: float) -> None:
    assert found(PART_PRIOR, true, 0).bias == pytest.approx(PART_PRIOR.mean - true)
    assert abs(found(PART_PRIOR, true, 10).bias) < 0.06
    assert abs(found(PART_PRIOR, true, 50).bias) < 0.015
