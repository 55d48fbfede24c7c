"""Fields that several forms share."""

from decimal import Decimal

import pytest
from django import forms

from garage.pages.forms.fields import DecimalTyped, FloatTyped


class _Form(forms.Form):
    value = DecimalTyped(max_digits=14, decimal_places=4)
    share = FloatTyped(required=False, min_value=0)


@pytest.mark.parametrize(
    ("typed", "value"), [("4,8", "4.8"), ("4.80", "4.80"), ("\N{MINUS SIGN}3", "-3")]
)
def test_number_is_taken_with_point_or_comma(typed: str, value: str) -> None:
    form = _Form({"value": typed, "share": "0,5"})
    assert form.is_valid()
    assert str(form.cleaned_data["value"]) == value
    assert form.cleaned_data["share"] == 0.5


def test_nothing_typed_is_not_zero() -> None:
    form = _Form({"value": "0", "share": ""})
    assert form.is_valid()
    assert form.cleaned_data == {"value": Decimal(0), "share": None}


@pytest.mark.parametrize("typed", ["1,500", "4.8 mbar", "nan", "1e3"])
def test_what_is_no_plain_number_is_refused_and_stays(typed: str) -> None:
    form = _Form({"value": typed})
    assert not form.is_valid()
    assert f"got '{typed}'" in form.errors["value"][0]
    assert typed in str(form["value"])


def test_browser_is_given_no_box_that_drops_a_comma() -> None:
    # A box of type number takes 4,8 for 48; the digits' keyboard has no minus on some telephones.
    form = _Form()
    assert 'type="text"' in str(form["value"])
    assert "inputmode" not in str(form["value"])
    assert 'inputmode="decimal"' in str(form["share"])
