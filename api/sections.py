"""The report in view, and the flags of it that were asked for."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from api.problems import NO_RECORDS, Refused
from garage.outcomes.models import ReportSnapshot
from garage.outcomes.services import snapshot_ready
from garage.records.models import PartKind
from garage.records.permissions import Scope


def report_in_view(*, scope: Scope, part_kind: PartKind, now: datetime) -> ReportSnapshot:
    """The report of the organisations in view; refused where they have no records."""
    kept = None
    if scope.organisation_ids:
        kept = snapshot_ready(organisation_ids=scope.organisation_ids, part_kind=part_kind, now=now)
    if kept is None:
        raise Refused(NO_RECORDS)
    return kept


def flags_asked(section: dict[str, Any], asked: Mapping[str, Any]) -> dict[str, Any]:
    """The section with the flags of the rule and the leading cause asked for."""
    early = section["early_failures"]
    flags = [
        flag
        for flag in early["flags"]
        if asked.get("rule") in (None, flag["rule"])
        and asked.get("leader") in (None, flag["verdict"]["leader"] or "none")
    ]
    return {**section, "early_failures": {**early, "flags": flags}}
