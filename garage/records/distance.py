"""Distances as typed, into kilometres: once, on entry."""

from decimal import ROUND_HALF_EVEN, Decimal

from garage.records.choices import DistanceUnit
from garage.records.errors import RuleBroken

#: Exact: the international mile, NIST SP 811 (2008), appendix B.8.
KM_PER_MILE = Decimal("1.609344")


def to_km(typed: Decimal, unit: str) -> int:
    """Whole kilometres of a typed distance; halves go to the even kilometre.

    A whole kilometre is the register's clock step; no odometer in a workshop is read closer.
    """
    if not typed.is_finite():
        raise RuleBroken("a distance must be a number", got=typed, do="Type the digits shown.")
    if unit == DistanceUnit.KM:
        whole = int(typed)
        if whole == typed:
            return whole
        km = typed
    elif unit == DistanceUnit.MILES:
        km = typed * KM_PER_MILE
    else:
        raise RuleBroken(
            "unit must be km or mi",
            got=unit,
            do="Name the unit shown on the odometer.",
            column="unit",
        )
    return int(km.quantize(Decimal(1), rounding=ROUND_HALF_EVEN))
