"""Traces of faults and clears before a visit: each guard with one fault at a time."""

from dataclasses import replace

import pytest

from garage.evidence.codes.reset_signs import Sign, VisitCounts
from garage.evidence.codes.reset_traces import (
    filter_test_not_run,
    lamp_lit_earlier,
    permanent_without_stored,
)


@pytest.mark.parametrize(
    ("lamp_on", "km", "minutes", "sign"),
    [
        (False, 1.0, None, Sign.SHOWN),
        (False, 0.0, None, Sign.NOT_SHOWN),
        (True, 1.0, None, Sign.NOT_SHOWN),
        (None, 1.0, None, Sign.CANNOT_BE_TOLD),
        (None, 0.0, None, Sign.NOT_SHOWN),
        (False, None, None, Sign.CANNOT_BE_TOLD),
        (None, None, 60.0, Sign.SHOWN),
        (None, None, 59.0, Sign.CANNOT_BE_TOLD),
        (True, 1.0, 60.0, Sign.SHOWN),
        (True, 1.0, 59.0, Sign.NOT_SHOWN),
    ],
)
def test_lamp_lit_earlier(
    lamp_on: bool | None, km: float | None, minutes: float | None, sign: Sign
) -> None:
    told = lamp_lit_earlier(VisitCounts(lamp_on=lamp_on, lamp_km=km, lamp_min=minutes))
    assert told.sign is sign
    assert [each.value for each in told.numbers] == [n for n in (km, minutes) if n is not None]


@pytest.mark.parametrize(
    ("lamp_on", "words"),
    [
        (True, "the fault lamp is on, and has been for 5 km and 90 min"),
        (False, "the fault lamp is off, and was on earlier: for 5 km and 90 min"),
        (None, "the fault lamp was on earlier, or still is: for 5 km and 90 min"),
    ],
)
def test_words_of_a_lamp_say_whether_it_is_on(lamp_on: bool | None, words: str) -> None:
    told = VisitCounts(lamp_on=lamp_on, lamp_km=5.0, lamp_min=90.0)
    assert lamp_lit_earlier(told).words == words


@pytest.mark.parametrize(
    ("of_filter", "others", "sign"),
    [
        (True, False, Sign.SHOWN),
        (False, False, Sign.NOT_SHOWN),
        (False, None, Sign.NOT_SHOWN),
        (True, True, Sign.NOT_SHOWN),
        (None, False, Sign.CANNOT_BE_TOLD),
        (True, None, Sign.CANNOT_BE_TOLD),
    ],
)
def test_filter_test_not_run(of_filter: bool | None, others: bool | None, sign: Sign) -> None:
    told = VisitCounts(filter_test_incomplete=of_filter, other_tests_incomplete=others)
    assert filter_test_not_run(told).sign is sign


def test_filter_test_that_has_not_run_is_never_called_passed() -> None:
    told = VisitCounts(filter_test_incomplete=True, other_tests_incomplete=True)
    assert "not known" in filter_test_not_run(told).words
    alone = filter_test_not_run(replace(told, other_tests_incomplete=False))
    assert "not a pass" in alone.words


@pytest.mark.parametrize(
    ("permanent", "stored", "sign"),
    [
        (1, 0, Sign.SHOWN),
        (0, 0, Sign.NOT_SHOWN),
        (0, None, Sign.NOT_SHOWN),
        (1, 1, Sign.NOT_SHOWN),
        (None, 1, Sign.NOT_SHOWN),
        (None, 0, Sign.CANNOT_BE_TOLD),
        (1, None, Sign.CANNOT_BE_TOLD),
    ],
)
def test_permanent_without_stored(permanent: int | None, stored: int | None, sign: Sign) -> None:
    told = VisitCounts(permanent_codes=permanent, stored_codes=stored)
    assert permanent_without_stored(told).sign is sign
