"""Logs of drives and burns put to the evidence, and its answers as they are written out."""

from collections.abc import Mapping
from typing import Any

from garage.evidence.drives.burns import BurnFound
from garage.evidence.drives.judged import DriveJudged, drive_judged
from garage.evidence.drives.log import Drive
from garage.evidence.drives.next_steps import drive_next
from garage.evidence.drives.targets import FilterSaid, targets_of
from garage.evidence.jobs.drives import LogJudged
from garage.evidence.services.drives import log_file_read
from garage.records.errors import RuleBroken

#: Faults of a table that an answer lists; the rest are counted. Judgement, no source.
FAULTS_MOST = 100
Said = Mapping[str, Any]


def drive_asked(said: Said) -> dict[str, Any]:
    """What does the log that was sent tell? RuleBroken for one that tells nothing."""
    known = FilterSaid(
        litres=said.get("litres"),
        silicon_carbide=said["silicon_carbide"],
        limit_g=said.get("limit_g"),
        trigger_g=said.get("trigger_g"),
    )
    try:
        targets = targets_of(known)
    except ValueError as refused:
        rule, _, rest = str(refused).partition("; got ")
        got, _, do = rest.partition(". ")
        column = next(name for name in ("trigger_g", "limit_g", "litres") if f"`{name}`" in rule)
        raise RuleBroken(rule, got=got, do=f"{do.rstrip('.')}.", column=column) from refused
    drive = log_file_read(said["log"])
    return told_of(drive, drive_judged(drive, targets))


def log_told(log: LogJudged) -> dict[str, Any]:
    """What `JobDriveAnswer` writes out."""
    told = None
    if log.drive is not None and log.judged is not None:
        told = told_of(log.drive, log.judged)
    return {
        "id": log.log.pk,
        "title": log.log.title,
        "phase": log.log.phase,
        "added_at": log.log.added_at,
        "told": told,
        "unread": log.unread or None,
    }


def told_of(drive: Drive, judged: DriveJudged) -> dict[str, Any]:
    """What `DriveAnswer` writes out."""
    rate, targets = judged.rate, judged.targets
    return {
        "rows": drive.row_count,
        "fault_count": len(drive.faults),
        "faults": drive.faults[:FAULTS_MOST],
        "remarks": drive.remarks,
        "soot_per_km": {
            "status": rate.status,
            "reason": rate.reason,
            "value_g_per_km": rate.rate_g_per_km,
            "lower_g_per_km": rate.low_g_per_km,
            "upper_g_per_km": rate.high_g_per_km,
            "covered_km": rate.covered_km,
            "needed_km": rate.needed_km,
            "stretches": rate.blocks,
            "band": judged.band.band,
            "band_words": judged.band.words,
        },
        "soot_now_g": judged.soot_now_g,
        "trigger": targets.trigger,
        "limit": targets.limit,
        "limit_reason": targets.limit_reason or None,
        "to_burn": judged.to_burn,
        "to_limit": judged.to_limit,
        "between_burns": judged.between_burns,
        "burns": [_burn(found) for found in judged.burns],
        "no_burns": judged.no_burns or None,
        "next": drive_next(judged),
    }


def _burn(found: BurnFound) -> dict[str, Any]:
    burn = found.burn
    return {
        "status": burn.status,
        "reason": burn.reason,
        "fall_g": burn.fall_g,
        "end_g": burn.end_g,
        "fall_min": burn.fall_min,
        "fastest_g_per_min": burn.fastest_g_per_min,
        "soot_fall_inlet_c": burn.soot_fall_inlet_c,
        "hot_min": burn.hot_min,
        "start_s": found.start_s,
        "end_s": found.end_s,
        "end_km": found.end_km,
    }
