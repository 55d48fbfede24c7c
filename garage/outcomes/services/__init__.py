"""Writes of the outcomes: snapshots made anew."""

from garage.outcomes.services.refresh import (
    part_kinds_in_view,
    snapshot_ready,
    snapshot_refresh,
    snapshots_refresh_of_organisation,
    snapshots_request_refresh,
)

__all__ = [
    "part_kinds_in_view",
    "snapshot_ready",
    "snapshot_refresh",
    "snapshots_refresh_of_organisation",
    "snapshots_request_refresh",
]
