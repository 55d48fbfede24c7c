"""A figure known only between limits, with the one that is likely."""

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Range:
    """Between `least` and `most`, most likely `likely`; finite, 0 or more, in that order.

    Examples
    --------
    >>> Range(0.05, 0.10, 0.20).likely
    0.1
    >>> Range.exactly(0.8)
    Range(least=0.8, likely=0.8, most=0.8)
    """

    least: float
    likely: float
    most: float

    def __post_init__(self) -> None:
        three = (self.least, self.likely, self.most)
        if not all(math.isfinite(each) and each >= 0.0 for each in three):
            raise ValueError(f"a range holds finite numbers, 0 or more; got {three}")
        if not self.least <= self.likely <= self.most:
            raise ValueError(f"a range goes least, likely, most; got {three}. Put them in order.")

    @classmethod
    def exactly(cls, value: float) -> "Range":
        """A figure without width."""
        return cls(value, value, value)

    def times(self, other: "Range | float") -> "Range":
        """The product, least with least and most with most."""
        by = other if isinstance(other, Range) else Range.exactly(other)
        return Range(self.least * by.least, self.likely * by.likely, self.most * by.most)

    def over(self, other: "Range") -> "Range | None":
        """The quotient, least by most and most by least; None where the divisor may be zero."""
        if other.least == 0.0:
            return None
        return Range(self.least / other.most, self.likely / other.likely, self.most / other.least)

    def less(self, other: "Range") -> "Range":
        """The difference, not below zero."""
        return Range(
            max(self.least - other.most, 0.0),
            max(self.likely - other.likely, 0.0),
            max(self.most - other.least, 0.0),
        )

    def plus(self, other: "Range") -> "Range":
        """The sum."""
        return Range(self.least + other.least, self.likely + other.likely, self.most + other.most)
