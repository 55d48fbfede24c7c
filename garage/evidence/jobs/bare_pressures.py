"""Pressures of a job that wait for the unit of their display."""

from collections.abc import Iterable

from garage.evidence.visit.measured_of import PRESSURE
from garage.records.models import Job, Reading


def bare_of(readings: Iterable[Reading]) -> frozenset[str]:
    """At which conditions was a pressure across the filter read whose unit nobody knows yet?

    One that was read again in a known unit waits for nothing; the readings stand in order.
    """
    last = {e.condition: e.standard_value for e in readings if e.quantity == PRESSURE}
    return frozenset(condition for condition, value in last.items() if value is None)


def bare_pressures(*, job: Job, phase: str) -> frozenset[str]:
    """The same, of the readings of a job at one phase."""
    return bare_of(job.technical_readings.filter(phase=phase).order_by("pk"))
