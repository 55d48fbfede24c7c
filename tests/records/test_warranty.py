"""Did the part fail within its warranty?"""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from garage.records.choices import ClaimState
from garage.records.warranty import CLAIM_MOVES, Span, Terms, months_after, terms_answer

FITTED = date(2024, 1, 31)


def span(days: int = 100, fitted_km: int | None = 100_000, ended_km: int | None = 110_000) -> Span:
    return Span(FITTED, FITTED + timedelta(days=days), fitted_km, ended_km)


@pytest.mark.parametrize(
    ("day", "months", "then"),
    [
        (date(2024, 1, 31), 1, date(2024, 2, 29)),
        (date(2023, 1, 31), 1, date(2023, 2, 28)),
        (date(2024, 11, 15), 2, date(2025, 1, 15)),
        (date(2024, 12, 31), 24, date(2026, 12, 31)),
    ],
)
def test_months_after_keeps_the_day_or_takes_the_last(day: date, months: int, then: date) -> None:
    assert months_after(day, months) == then


def test_terms_hold_on_the_last_day_and_not_after() -> None:
    last = (months_after(FITTED, 12) - FITTED).days
    assert terms_answer(Terms(12, None), span(last)).within is True
    assert terms_answer(Terms(12, None), span(last + 1)).within is False


def test_terms_hold_to_the_last_km_and_not_after() -> None:
    assert terms_answer(Terms(None, 10_000), span()).within is True
    assert terms_answer(Terms(None, 9_999), span()).within is False


def test_terms_with_two_clocks_end_with_the_first() -> None:
    assert terms_answer(Terms(12, 10_000), span()).within is True
    assert terms_answer(Terms(1, 10_000), span()).within is False
    assert terms_answer(Terms(12, 5_000), span()).within is False


def test_terms_without_an_odometer_cannot_be_told() -> None:
    answer = terms_answer(Terms(12, 10_000), span(fitted_km=None))
    assert answer.within is None
    assert "not known" in answer.words
    # Time alone ends it, whatever the odometer said.
    assert terms_answer(Terms(1, 10_000), span(ended_km=None)).within is False
    assert terms_answer(Terms(12, None), span(fitted_km=None)).within is True


@given(st.integers(1, 60), st.integers(0, 4_000))
def test_terms_that_run_longer_never_turn_within_to_out(months: int, days: int) -> None:
    if terms_answer(Terms(months, None), span(days)).within:
        assert terms_answer(Terms(months + 1, None), span(days)).within


def test_claim_moves_name_every_state_and_settled_is_the_end() -> None:
    assert set(CLAIM_MOVES) == set(ClaimState.values)
    assert {to for moves in CLAIM_MOVES.values() for to in moves} == set(ClaimState.values)
    assert CLAIM_MOVES[ClaimState.SETTLED] == ()
