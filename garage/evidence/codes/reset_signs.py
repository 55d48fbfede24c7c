"""What a vehicle's own counters said at a visit, and the form in which a rule answers on them."""

import math
from dataclasses import dataclass, fields
from enum import StrEnum


class Sign(StrEnum):
    """Whether a rule found something."""

    SHOWN = "shown"
    NOT_SHOWN = "not_shown"
    CANNOT_BE_TOLD = "cannot_be_told"


class Work(StrEnum):
    """Work on record, of the kinds that touch fault memory or the vehicle's counters."""

    CLEAR = "clear"
    REPROGRAMMING = "reprogramming"
    BATTERY = "battery"
    CONTROLLER = "controller"
    REPAIR = "repair"


#: The kinds of work that stand on record since the visit before.
Recorded = frozenset[Work]

NOTHING_RECORDED: Recorded = frozenset()
#: Work that resets fault memory by itself; after a repair it mostly is, but need not be.
RESETS_MEMORY: Recorded = frozenset({Work.CLEAR, Work.REPROGRAMMING, Work.BATTERY, Work.CONTROLLER})
#: Said before anything is asked: each resets fault memory without anyone hiding a thing.
INNOCENT = (
    "a repair with codes cleared after it",
    "a flat or disconnected battery",
    "a software update",
    "a changed controller",
)


@dataclass(frozen=True, slots=True)
class VisitCounts:
    """What was read at a visit; None is what was not read.

    Attributes
    ----------
    odometer_km : float or None
        Of the dashboard.
    odometer_trusted : bool
    since_clear_km : float or None
        Counts since codes were cleared; 65 535 stands for that or more.
    warm_ups : int or None
        As well since codes were cleared.
    monitors_incomplete : bool or None
        Whether any self-test has yet to run.
    filter_test_incomplete, other_tests_incomplete : bool or None
        The same for the particulate filter's own, and for all others.
    lamp_on : bool or None
    lamp_km, lamp_min : float or None
        Distance and engine time with the fault lamp on.
    permanent_codes, stored_codes : int or None
    run_hours : float or None
        Hours run by the engine in all.
    burn_interval_km : float or None
        Mean distance between burns, as the vehicle reckons it.
    on_board_odometer_km, fuel_monitor_km : float or None
        Distance of its life as a control unit keeps it, and as its fuel monitoring does.

    Raises
    ------
    ValueError
        For a figure below 0, or one that is not finite.
    """

    odometer_km: float | None = None
    odometer_trusted: bool = False
    since_clear_km: float | None = None
    warm_ups: int | None = None
    monitors_incomplete: bool | None = None
    filter_test_incomplete: bool | None = None
    other_tests_incomplete: bool | None = None
    lamp_on: bool | None = None
    lamp_km: float | None = None
    lamp_min: float | None = None
    permanent_codes: int | None = None
    stored_codes: int | None = None
    run_hours: float | None = None
    burn_interval_km: float | None = None
    on_board_odometer_km: float | None = None
    fuel_monitor_km: float | None = None

    def __post_init__(self) -> None:
        for each in fields(self):
            value = getattr(self, each.name)
            if value is not None and not (math.isfinite(value) and value >= 0):
                raise ValueError(
                    f"`{each.name}` is 0 or more; got {value}. Leave it out if not read"
                )


@dataclass(frozen=True, slots=True)
class Number:
    """A figure that a rule looked at, or a limit that it held it against."""

    title: str
    value: float
    unit: str


@dataclass(frozen=True, slots=True)
class ResetSign:
    """What one rule says; innocent causes come first, and what to ask next comes last."""

    rule: str
    sign: Sign
    words: str
    innocent: tuple[str, ...] = ()
    ask_next: str = ""
    numbers: tuple[Number, ...] = ()
