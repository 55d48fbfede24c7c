"""What the rules over many p-values share: reasons where nothing is rejected, and refusals."""

from collections.abc import Callable

import pytest

from garage.lifetimes.comparison.false_discovery import benjamini_hochberg
from garage.lifetimes.comparison.holm import holm
from garage.lifetimes.comparison.p_values import Rejections

Rule = Callable[..., Rejections]
both_rules = pytest.mark.parametrize("rule", [holm, benjamini_hochberg])


@both_rules
def test_nothing_rejected_gives_no_threshold_but_a_reason(rule: Rule) -> None:
    result = rule([0.2, 0.9])
    assert result.threshold is None
    assert "small enough among 2" in result.reason


@both_rules
def test_no_p_values_at_all(rule: Rule) -> None:
    result = rule([])
    assert (result.n, result.rejected_count, result.threshold) == (0, 0, None)
    assert "no p-value to judge" in result.reason


@both_rules
@pytest.mark.parametrize(
    ("p", "level", "words"),
    [
        ([0.1, 1.2], 0.05, "got 1.2 at index 1"),
        ([-0.1, 0.2], 0.05, "got -0.1 at index 0"),
        ([0.1, float("nan")], 0.05, "got nan at index 1"),
        ([[0.1], [0.2]], 0.05, "one dimension"),
        ([0.1], 0.0, "level"),
        ([0.1], 1.0, "level"),
    ],
)
def test_refuses_bad_input_and_says_where(
    rule: Rule, p: list[float], level: float, words: str
) -> None:
    with pytest.raises(ValueError, match=words):
        rule(p, level=level)
