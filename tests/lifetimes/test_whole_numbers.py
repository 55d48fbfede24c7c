"""Whole numbers: what is taken as whole, and how the first that is not is named."""

import numpy as np
import pytest

from garage.lifetimes.life_rows import whole_as_given, whole_numbers


@pytest.mark.parametrize("given", [[1.5, 2, 2.5], [1.5, 2, float("nan")]])
def test_first_that_is_not_whole_is_named_with_its_place(given: list[float]) -> None:
    with pytest.raises(ValueError, match=r"`exit` holds whole numbers; got 1.5 at index 0\."):
        whole_numbers("exit", given)


def test_place_within_a_table_is_that_of_the_clock_value() -> None:
    with pytest.raises(ValueError, match=r"got 2\.5 at index 2\. "):
        whole_numbers("failed", [[0, 1, 2.5], [0.5, 0, 0]])


def test_infinity_is_not_whole() -> None:
    with pytest.raises(ValueError, match="got inf at index 1"):
        whole_numbers("exit", [3, float("inf")])


def test_whole_floats_truths_and_nothing_at_all_are_taken() -> None:
    assert whole_numbers("exit", [3.0, -1.0]).tolist() == [3, -1]
    assert whole_numbers("exit", [True, False]).tolist() == [1, 0]
    assert whole_numbers("exit", []).dtype == np.int64


def test_numbers_of_four_or_eight_bytes_are_not_copied_and_others_are() -> None:
    for kind in (np.int32, np.int64):
        given = np.arange(3, dtype=kind)
        assert whole_as_given("exit", given) is given
        assert whole_numbers("exit", given) is not given
    assert whole_as_given("exit", np.arange(3, dtype=np.int16)).dtype == np.int64
