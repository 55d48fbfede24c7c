"""A number as it was typed off a display, with the last step that its digits show."""

import re
from dataclasses import dataclass
from decimal import Decimal

#: What is said of a number that cannot be read, wherever one is typed.
RULE = "a plain number is typed, a comma only for decimals"
DO = "Type the digits shown, thousands without a comma."
_NUMBER = re.compile(r"[+-]?(?:\d+(?:[.,]\d+)?|[.,]\d+)")
_THOUSANDS = re.compile(r"[+-]?[1-9]\d{0,2},\d{3}")


@dataclass(frozen=True, slots=True)
class Typed:
    """A value, and the step of its last digit: 0.1 for ``5.0``."""

    value: Decimal
    step: Decimal


def number_typed(text: str) -> Typed:
    """Read a number as it stands on a display; its digits count, so ``5.0`` is not ``5``.

    A comma is taken as a decimal one. Raises ValueError for what is no plain number, and for a
    comma before three digits, which may stand for thousands.

    Examples
    --------
    >>> number_typed("5.0").step, number_typed("150").step
    (Decimal('0.1'), Decimal('1'))
    """
    digits = text.strip().replace("\N{MINUS SIGN}", "-")
    if not (digits.isascii() and _NUMBER.fullmatch(digits)):
        raise ValueError(f"a display shows a plain number; got {text!r}; type the digits shown")
    if _THOUSANDS.fullmatch(digits):
        raise ValueError(
            f"a comma before three digits may stand for thousands; got {text!r}; "
            "type it with a point, or without the comma"
        )
    value = Decimal(digits.replace(",", "."))
    exponent = value.as_tuple().exponent
    assert isinstance(exponent, int)  # only infinities and the like have letters here
    return Typed(value, Decimal(1).scaleb(exponent))
