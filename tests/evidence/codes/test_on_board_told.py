"""What pasted answers offer to be kept."""

import pytest

from garage.evidence.codes.on_board_told import on_board_told


def test_only_known_numbers_of_a_quantity_that_is_kept_are_offered() -> None:
    told = on_board_told("41 0C FF FF; 41 31 01 2C; 41 1F 00 10; 41 30 03")
    assert [(each.at, each.decoded.quantity) for each in told.keepable] == [
        (1, "distance_since_clear"),
        (3, "warm_ups_since_clear"),
    ]
    assert told.answers.decoded[1].value == 300.0


@pytest.mark.parametrize(
    ("text", "state"),
    [
        ("41 01 82 08 40 40", "not_finished"),
        ("41 01 82 08 40 00", "finished"),
        ("41 41 00 08 40 40", None),
        ("41 31 01 2C", None),
        ("41 01 00 08 00 00", None),  # keeps none: nothing is finished
        ("", None),
    ],
)
def test_tests_are_told_by_those_since_a_clear_alone(text: str, state: str | None) -> None:
    assert on_board_told(text).tests == state


def test_tests_are_finished_only_where_every_controller_says_so() -> None:
    done, open_ = "7E8 06 41 01 00 08 40 00", "7E9 06 41 01 00 08 40 40"
    assert on_board_told(done).tests == "finished"
    assert on_board_told(f"{done}\n{open_}").tests == "not_finished"
