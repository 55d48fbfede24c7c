"""What is said of a difference between two groups: its limits, its p-value, and remarks."""

from collections.abc import Sequence
from dataclasses import dataclass

from scipy.special import ndtr

from garage.lifetimes.status import Status


@dataclass(frozen=True, slots=True)
class Contrast:
    """How far two figures lie apart on one scale; the error of a ratio is that of its log.

    Error, two-sided limits and p-value are None where the error of a figure is not known.
    """

    value: float
    standard_error: float | None
    lower: float | None
    upper: float | None
    p_value: float | None


def contrast_of(value: float, error: float | None, reach: float) -> Contrast:
    """Plain limits `reach` errors away, and the p-value of a true value of 0.

    Examples
    --------
    >>> contrast_of(3.0, 0.5, 2.0).lower, contrast_of(3.0, None, 2.0).lower
    (2.0, None)
    """
    if not error:
        return Contrast(value, None, None, None, None)
    p_value = two_sided_p_value(value, error)
    return Contrast(value, error, value - reach * error, value + reach * error, p_value)


def two_sided_p_value(value: float, error: float) -> float:
    """How often chance alone leads a normal figure as far from 0, to either side.

    Examples
    --------
    >>> round(two_sided_p_value(-1.959964, 1.0), 6)
    0.05
    """
    return float(2 * ndtr(-abs(value) / error))


@dataclass(frozen=True, slots=True)
class Remark:
    """On one group's figure; the smaller its rank, the weightier."""

    rank: int
    status: Status
    reason: str


def weightiest(remarks: Sequence[Remark]) -> tuple[Status, str]:
    """Status and reason of the weightiest remark, the first of equals; ``OK`` without any.

    Examples
    --------
    >>> weightiest([Remark(2, Status.SMALL_RISK_SET, "few"), Remark(0, Status.NO_LIVES, "none")])
    (<Status.NO_LIVES: 'no_lives'>, 'none')
    """
    if not remarks:
        return Status.OK, ""
    first = min(remarks, key=lambda each: each.rank)
    return first.status, first.reason
