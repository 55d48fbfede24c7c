"""Capture shares in the report's wire form, each with the stay-away share it rests on."""

from typing import Any

from garage.lifetimes.capture.looks_worth import SURVIVING
from garage.lifetimes.capture.share import CaptureShare
from garage.lifetimes.status import Status
from garage.outcomes.looks import Looks
from garage.outcomes.report import OrganisationCaptures

JUDGEMENT = "judgement, no source"
CALL_LIST = "call list"
NOT_ASKED = "keepers are asked about a part, not about what came back"


def capture_to_wire(captures: OrganisationCaptures) -> dict[str, Any]:
    """Of one organisation."""
    return {
        "organisation": captures.organisation,
        "sees_all_repairs": captures.sees_all_repairs,
        "failures": _share(captures, captures.failures, _failures_away(captures)),
        "comebacks": _share(captures, captures.comebacks, _judged(captures.comebacks, NOT_ASKED)),
        "looks": None if captures.sees_all_repairs else _looks(captures.looks),
    }


def _looks(looks: Looks) -> dict[str, Any]:
    """What was looked at, and how much narrower limits would be with the looks that are missing."""
    worth = looks.worth
    return {
        "since": looks.since.isoformat(),
        "visits": looks.visits,
        "looked": looks.looked,
        "missed": looks.missed,
        "limits": _pair((worth.now.lower, worth.now.upper)),
        "limits_with_all": _pair((worth.with_all.lower, worth.with_all.upper)),
        "surviving": SURVIVING,
        "survival_limits": _pair(worth.survival),
        "survival_limits_with_all": _pair(worth.survival_with_all),
    }


def _pair(limits: tuple[float | None, float | None] | None) -> list[float] | None:
    if limits is None or limits[0] is None or limits[1] is None:
        return None
    return [limits[0], limits[1]]


def _share(
    captures: OrganisationCaptures, share: CaptureShare, stay_away: dict[str, Any]
) -> dict[str, Any]:
    return {
        "value": share.value,
        "lower": share.lower,
        "upper": share.upper,
        "here": share.here,
        "elsewhere": share.elsewhere,
        "status": share.status.value,
        "reason": share.reason,
        "stay_away": None if captures.sees_all_repairs else stay_away,
    }


def _judged(share: CaptureShare, reason: str) -> dict[str, Any]:
    """A stay-away share that nothing was learnt of."""
    return {
        "value": share.stay_away,
        "lower": None,
        "upper": None,
        "n": 0,
        "told": 0,
        "status": Status.NO_LIVES.value,
        "reason": reason,
        "source": JUDGEMENT,
    }


def _failures_away(captures: OrganisationCaptures) -> dict[str, Any]:
    """What the capture share took for known; where answers taught nothing, why they did not."""
    measured = captures.stay_away
    if measured is None:
        return _judged(captures.failures, "no call list was asked")
    found = measured.share
    if not found.is_measured:
        judged = _judged(captures.failures, found.reason)
        return judged | {"told": measured.told, "status": found.status.value}
    return {
        "value": found.value,
        "lower": found.lower,
        "upper": found.upper,
        "n": found.n,
        "told": measured.told,
        "status": found.status.value,
        "reason": found.reason,
        "source": f"{CALL_LIST} of {measured.drawn_on.isoformat()}",
    }
