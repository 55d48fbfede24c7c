"""The step-up rule, against printed examples, a reference program and its own promise."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from garage.lifetimes.comparison.false_discovery import benjamini_hochberg

# The fifteen p-values of the worked example in Benjamini and Hochberg (1995), section 3.2; typed
# from memory. With them the paper rejects four hypotheses at 5 %.
PAPER_P = [
    *(0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344),
    *(0.0459, 0.3240, 0.4262, 0.5719, 0.6528, 0.7590, 1.0000),
]

unit_interval = st.floats(min_value=0.0, max_value=1.0, allow_subnormal=False)


def test_rejects_the_four_of_the_original_paper() -> None:
    result = benjamini_hochberg(PAPER_P, level=0.05)
    assert result.rejected.tolist() == [True] * 4 + [False] * 11
    assert result.threshold == 0.0095
    assert result.rejected_count == 4
    assert result.n == 15


def test_rejects_as_a_printed_example_in_any_order() -> None:
    # Printed output of `BenHoch` in the manual of the R package HDLSSkST, version 2.1.0.
    result = benjamini_hochberg([0.50, 0.01, 0.001, 0.69, 0.02, 0.05, 0.0025], level=0.05)
    assert result.rejected.astype(int).tolist() == [0, 1, 1, 0, 1, 0, 1]


@settings(deadline=None)
@given(st.lists(unit_interval, min_size=1, max_size=60))
def test_adjusted_values_equal_the_reference_program(p: list[float]) -> None:
    from scipy.stats import false_discovery_control  # reference program; slow to import

    np.testing.assert_allclose(
        benjamini_hochberg(p).adjusted,
        false_discovery_control(p, method="bh"),
        atol=1e-15,
    )


@given(st.lists(unit_interval, min_size=1, max_size=40), st.floats(0.01, 0.5), st.randoms())
def test_order_does_not_matter(p: list[float], level: float, random: object) -> None:
    shuffled = list(p)
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    first, second = (benjamini_hochberg(each, level=level) for each in (p, shuffled))
    assert first.threshold == second.threshold
    assert sorted(first.adjusted) == sorted(second.adjusted)


def test_unfailed_lives_make_it_harder_to_flag() -> None:
    short = [0.001, 0.01, 0.012]
    assert benjamini_hochberg(short).rejected_count == 3
    assert benjamini_hochberg(short + [1.0] * 47).rejected_count == 1


def test_share_of_false_flags_stays_below_the_level() -> None:
    rng = np.random.default_rng(20_261_125)
    shares = []
    for _ in range(400):
        p = np.concatenate([rng.uniform(size=180), rng.uniform(size=20) * 1e-3])
        rejected = benjamini_hochberg(p, level=0.1).rejected
        shares.append(rejected[:180].sum() / max(1, rejected.sum()))
    # 180 of 200 are true nulls, so the expected share is 0.09 exactly; its standard error here is
    # about 0.003.
    assert 0.075 < float(np.mean(shares)) < 0.105
