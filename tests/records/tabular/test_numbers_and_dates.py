"""All readings of one cell. Expected values: by the written conventions, worked by hand."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from garage.records.tabular.dates import DateOrder, date_readings
from garage.records.tabular.numbers import DecimalSign, number_readings

D, M, Y = DateOrder.DAY_FIRST, DateOrder.MONTH_FIRST, DateOrder.YEAR_FIRST


@pytest.mark.parametrize(
    ("text", "point", "comma"),
    [
        ("84512", "84512", "84512"),
        ("84,512", "84512", "84.512"),
        ("136.000", "136", "136000"),
        ("84,51", None, "84.51"),
        ("1.234,56", None, "1234.56"),
        ("1,234.56", "1234.56", None),
        ("0,512", None, "0.512"),
        ("1,234,567", "1234567", None),
        ("1,23,456", "123456", None),
        ("1 234,5", None, "1234.5"),
        ("1\u202f234", "1234", "1234"),
        ("1'234.50", "1234.50", None),
        ("(12.50)", "-12.50", None),
        ("12,50-", None, "-12.50"),
        ("12.34.5", None, None),
    ],
)
def test_number_has_these_readings(text: str, point: str | None, comma: str | None) -> None:
    found = number_readings(text)
    assert found.point == (None if point is None else Decimal(point))
    assert found.comma == (None if comma is None else Decimal(comma))


@pytest.mark.parametrize(
    ("text", "units", "currencies"),
    [
        ("84,512 mi", ("mi",), ()),
        ("136.000 km", ("km",), ()),
        ("84512Miles", ("mi",), ()),
        ("€ 12,30", (), ("EUR",)),
        ("$12.30", (), ("USD", "CAD", "AUD", "NZD")),
        ("12.30 GBP", (), ("GBP",)),
    ],
)
def test_unit_or_currency_beside_a_number(
    text: str, units: tuple[str, ...], currencies: tuple[str, ...]
) -> None:
    found = number_readings(text)
    assert (found.fault, found.units, found.currencies) == (None, units, currencies)


@pytest.mark.parametrize("text", ["120k", "about 12", "12 hrs", "n 5", "abc"])
def test_number_with_words_is_a_fault(text: str) -> None:
    assert number_readings(text).fault is not None


@given(st.decimals(0, 9_999_999, places=2), st.sampled_from(list(DecimalSign)))
def test_number_written_with_a_sign_is_read_with_it(value: Decimal, sign: DecimalSign) -> None:
    text = f"{value:,.2f}"
    if sign is DecimalSign.COMMA:
        text = text.translate(str.maketrans(",.", ".,"))
    assert number_readings(text).by(sign) == value


@pytest.mark.parametrize(
    "text",
    [
        "2024-03-01",
        "2024/3/1",
        "2024-03-01 10:33",
        "2024-03-01T10:33:00Z",
        "20240301",
        "1 Mar 2024",
        "1. März 2024",
        "March 1, 2024",
        "1-mar-24",
        "Fri 1 Mar 2024",
        "1 mars 2024",
    ],
)
def test_date_of_one_reading(text: str) -> None:
    assert date_readings(text, century_of=2026).plain == date(2024, 3, 1)


@pytest.mark.parametrize(
    ("text", "orders"),
    [
        ("13/02/2024", {D}),
        ("02/13/2024", {M}),
        ("03/04/2024", {D, M}),
        ("13/02/24", {D}),
        ("98/12/31", {Y}),
        ("31.12.24", {D}),
        ("13-02-24", {D, Y}),
        ("24-11-28", {Y}),
        ("03042024", {D, M}),
    ],
)
def test_date_has_these_likely_orders(text: str, orders: set[DateOrder]) -> None:
    assert set(date_readings(text, century_of=2026).likely) == orders


@pytest.mark.parametrize("text", ["31/02/2024", "2024-13-01", "2024-03", "soon", "99999999"])
def test_no_day_of_the_calendar_is_a_fault(text: str) -> None:
    assert date_readings(text, century_of=2026).fault is not None


def test_serial_number_has_a_reading_for_each_epoch() -> None:
    # 45352 is 2024-03-01 in the 1900 system; the systems differ by 1462 days (ECMA-376, 18.17.4.1,
    # from memory; the test of both epochs in test_reading.py is the second way).
    found = date_readings("45352", century_of=2026).by_order
    assert found[DateOrder.EPOCH_1900] == date(2024, 3, 1)
    assert found[DateOrder.EPOCH_1904] - found[DateOrder.EPOCH_1900] == timedelta(days=1462)


@pytest.mark.parametrize(("text", "year"), [("1 Mar 24", 2024), ("1 Mar 75", 1975)])
def test_two_digit_year_is_near_the_present(text: str, year: int) -> None:
    found = date_readings(text, century_of=2026).plain
    assert found is not None
    assert found.year == year


@given(
    st.dates(date(1970, 1, 1), date(2026, 6, 1)), st.sampled_from([D, M]), st.sampled_from("/.-")
)
def test_date_written_in_an_order_can_be_read_so(day: date, order: DateOrder, sign: str) -> None:
    parts = (f"{day:%d}", f"{day:%m}", f"{day:%Y}")
    if order is M:
        parts = (parts[1], parts[0], parts[2])
    assert date_readings(sign.join(parts), century_of=2026).by_order[order] == day
