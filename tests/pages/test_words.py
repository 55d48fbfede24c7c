"""How figures are written."""

from datetime import date

import pytest

from garage.lifetimes.status import Status
from garage.pages import words


def plain(text: str) -> str:
    return text.replace(words.NO_BREAK, " ")


def figure(value: float | None, lower: float | None, upper: float | None) -> dict[str, object]:
    status = "ok" if value is not None else "not_reached"
    return {"value": value, "lower": lower, "upper": upper, "status": status, "reason": "too high"}


@pytest.mark.parametrize(
    ("value", "told"),
    [
        (None, "not known"),
        (1.0, "almost certain"),
        (0.31, "3 in 10"),
        (0.0312, "3 in 100"),
        (1 / 12_034, "1 in 12 000"),
        (2.8e-7, "1 in 3 600 000"),
        (1e-20, "under 1 in 1 000 000 000"),
    ],
)
def test_odds(value: float | None, told: str) -> None:
    assert plain(words.odds(value)) == told


@pytest.mark.parametrize(
    ("share", "told"),
    [
        (None, "not known"),
        (0.0, "0 %"),
        (0.001, "under 1 %"),
        (0.4, "40 %"),
        (0.999, "over 99 %"),
        (1.0, "100 %"),
    ],
)
def test_percent_never_rounds_to_what_it_is_not(share: float | None, told: str) -> None:
    assert plain(words.percent(share)) == told


@pytest.mark.parametrize(
    ("given", "told"),
    [
        (figure(0.71, 0.64, 0.78), "71 % (64 to 78)"),
        (figure(0.71, 0.64, None), "71 % (64 or more)"),
        (figure(0.71, None, 0.78), "71 % (78 or less)"),
        (figure(0.71, None, None), "71 % (interval not known)"),
        (figure(0.0, 0.0, 0.2), "0 % (0 to 20)"),
        (figure(None, None, None), "not reached"),
    ],
)
def test_share_with_interval(given: dict[str, object], told: str) -> None:
    assert plain(words.share_with_interval(given)) == told


def test_distance_with_interval() -> None:
    assert plain(words.distance_with_interval(figure(288_123, 250_000, None))) == (
        "288 000 km (250 thousand or more)"
    )


def test_a_note_keeps_its_numbers_whole() -> None:
    weak = figure(0.4, 0.1, 0.9) | {"status": "small_risk_set", "reason": "only 4 at 150 000 km"}
    assert words.note_of(weak) == "only 4 at 150\u00a0000\u00a0km"
    assert words.note_of(figure(0.4, 0.1, 0.9)) == ""


def test_every_status_has_a_word_for_an_empty_cell() -> None:
    assert set(words.ABSENT) == set(Status) - {Status.OK}


def test_zero_is_a_number_and_nothing_is_a_word() -> None:
    assert plain(words.kilometres(0)) == "0 km"
    assert words.kilometres(None) == "not known"
    assert words.count(0) == "0"
    assert words.count(None) == "not known"
    assert plain(words.day(date(2024, 3, 5))) == "5 March 2024"
    assert words.day(None) == "not known"
