"""What an idle pressure alone can say."""

from dataclasses import dataclass

from garage.evidence.resistance.gas import number_checked
from garage.evidence.resistance.limits import DEFAULTS
from garage.evidence.thresholds import Thresholds


@dataclass(frozen=True, slots=True)
class IdleJudged:
    """What an idle pressure alone can say: never a grade. `unremarkable` None: cannot be told."""

    unremarkable: bool | None
    reason: str


def idle_judged(idle_mbar: float, limits: Thresholds = DEFAULTS) -> IdleJudged:
    """Is this idle pressure, zero taken off, one that a sound filter may show?

    For cars and light vans, engine hot. At idle a sound filter reads about what a poor zero reads,
    so the answer grades nothing.

    Examples
    --------
    >>> idle_judged(4.8).unremarkable
    True
    """
    number_checked("idle_mbar", idle_mbar)
    most, blocked = limits["sound_idle_most_mbar"], limits["blocked_idle_mbar"]
    next_check = "; an idle value alone grades nothing: read at raised speed"
    if idle_mbar < 0.0:
        return IdleJudged(False, "below zero: inconsistent reading, zero and hoses first")
    if idle_mbar <= most:
        return IdleJudged(True, f"sound filters read up to {most:g} mbar at idle{next_check}")
    if idle_mbar <= blocked:
        return IdleJudged(None, f"between {most:g} and {blocked:g} mbar at idle{next_check}")
    return IdleJudged(False, f"above {blocked:g} mbar at idle: heavily loaded, or zero{next_check}")
