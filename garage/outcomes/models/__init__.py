"""What is kept of the outcomes: reports made ready for reading."""

from garage.outcomes.models.snapshot import ReportSnapshot

__all__ = ["ReportSnapshot"]
