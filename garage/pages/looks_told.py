"""What the looks of each organisation tell, in words and figures for their page."""

from collections.abc import Sequence
from dataclasses import dataclass

from garage.outcomes.wire import Wire
from garage.outcomes.wording import stay_away_told
from garage.pages.words import count, percent


@dataclass(frozen=True)
class LooksTold:
    """One organisation. The limits are texts; empty where there are none."""

    organisation: str
    sees_all_repairs: bool
    visits: str
    looked: str
    missing: str
    looked_share: str
    share: str
    missed: str
    limits: str
    limits_with_all: str
    narrower: str
    surviving: str
    survival_limits: str
    survival_limits_with_all: str
    stay_away: str


def looks_told(report: Wire) -> list[LooksTold]:
    return [_told(row) for row in report["capture"]]


def _told(row: Wire) -> LooksTold:
    looks, failures = row["looks"], row["failures"]
    if looks is None:
        return LooksTold(row["organisation"], True, *[""] * 13)
    return LooksTold(
        organisation=row["organisation"],
        sees_all_repairs=False,
        visits=count(looks["visits"]),
        looked=count(looks["looked"]),
        missing=count(looks["visits"] - looks["looked"]),
        looked_share=percent(looks["looked"] / looks["visits"]) if looks["visits"] else "",
        share="" if failures["value"] is None else percent(failures["value"]),
        missed=count(looks["missed"]),
        limits=_between(looks["limits"]),
        limits_with_all=_between(looks["limits_with_all"]),
        narrower=_narrower(looks["limits"], looks["limits_with_all"]),
        surviving=percent(looks["surviving"]),
        survival_limits=_between(looks["survival_limits"]),
        survival_limits_with_all=_between(looks["survival_limits_with_all"]),
        stay_away=stay_away_told(failures),
    )


def _between(limits: Sequence[float] | None) -> str:
    return "" if limits is None else f"{percent(limits[0])} to {percent(limits[1])}"


def _narrower(now: Sequence[float] | None, with_all: Sequence[float] | None) -> str:
    """By how much of its width an interval would shrink; empty where it is not known."""
    if now is None or with_all is None or now[1] <= now[0]:
        return ""
    gain = 1 - (with_all[1] - with_all[0]) / (now[1] - now[0])
    return percent(max(gain, 0.0))
