"""A figure that never travels without its sample size, interval and source."""

from dataclasses import dataclass
from typing import Protocol

from garage.lifetimes.status import Status

CONFIDENCE_LEVEL = 0.95


@dataclass(frozen=True)
class Figure:
    """`value` is None, with a reason, where the records do not reach it."""

    value: float | None
    lower: float | None
    upper: float | None
    n: int
    failed: int
    status: str
    reason: str
    source: str


@dataclass(frozen=True)
class FigureAt:
    """A figure at a distance (km) or a time (days)."""

    at: int
    figure: Figure


class Estimate(Protocol):
    """What the statistics hand back of one figure."""

    @property
    def value(self) -> float | None: ...
    @property
    def lower(self) -> float | None: ...
    @property
    def upper(self) -> float | None: ...
    @property
    def n(self) -> int: ...
    @property
    def failed(self) -> int: ...
    @property
    def status(self) -> Status: ...
    @property
    def reason(self) -> str: ...


def figure_of(estimate: Estimate, source: str) -> Figure:
    """A statistic's result with the words where it is from."""
    return Figure(
        value=estimate.value,
        lower=estimate.lower,
        upper=estimate.upper,
        n=estimate.n,
        failed=estimate.failed,
        status=estimate.status.value,
        reason=estimate.reason,
        source=source,
    )
