"""Falls of soot in a sequence."""

import pytest

from garage.evidence.drives.falls import Fall, falls_found


@pytest.mark.parametrize(
    ("soot", "found"),
    [
        ([], ()),
        ([5.0], ()),
        ([5.0, 8.0, 9.0], ()),
        ([9.0, 6.5], ()),
        ([9.0, 6.0], (Fall(0, 1, 3.0),)),
        ([9.0, 9.0, 8.0, 5.0, 2.0, 2.0, 3.0], (Fall(1, 4, 7.0),)),
        ([9.0, 4.0, 6.0, 2.0], (Fall(0, 3, 7.0),)),
        ([9.0, 4.0, 8.0, 2.0], (Fall(0, 1, 5.0), Fall(2, 3, 6.0))),
    ],
)
def test_falls_are_found_from_height_to_floor(soot: list[float], found: tuple[Fall, ...]) -> None:
    """Fails if steps below 3 g are falls, or a rise of less than 3 g parts one."""
    assert falls_found(soot, 3.0) == found


@pytest.mark.parametrize("least", [0.0, -1.0, float("nan")])
def test_least_fall_of_nothing_is_refused(least: float) -> None:
    """Fails if every row can become a fall."""
    with pytest.raises(ValueError, match="above 0"):
        falls_found([1.0], least)
