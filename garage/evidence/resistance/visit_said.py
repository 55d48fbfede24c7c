"""What is taken of a visit to reckon resistance: readings in, points out."""

from dataclasses import dataclass
from enum import StrEnum

from garage.evidence.resistance.points import PressurePoint, Zero
from garage.evidence.resistance.states import Layout
from garage.evidence.visit.said import Unused

PRESSURE, TEMPERATURE = "pressure_across_filter", "exhaust_temperature_before"
EXHAUST_FLOW, AIR_FLOW, AIR_PRESSURE = "exhaust_flow", "air_flow", "barometric_pressure"
SPEED = "engine_speed"
#: All that is taken of a visit, each in this unit.
UNITS = {
    PRESSURE: "mbar",
    TEMPERATURE: "°C",
    EXHAUST_FLOW: "kg/h",
    AIR_FLOW: "g/s",
    AIR_PRESSURE: "kPa",
    SPEED: "rpm",
}

OFF = "engine_off"
WORDS = {"idle": "at idle", "raised": "at raised speed", "load": "under load"}


class FlowFrom(StrEnum):
    """What a flow was reckoned from."""

    EXHAUST_FLOW = "exhaust_flow"
    AIR_FLOW = "air_flow"
    ENGINE = "engine"
    NONE = "none"


@dataclass(frozen=True, slots=True)
class ReadingTaken:
    """One reading with a value that is known.

    Attributes
    ----------
    quantity : str
    value : float
        In the unit named at `UNITS`.
    step : float
        Of the last figure shown, in the same unit; 0 where not known.
    typed : str
        Value and unit as they were shown.
    condition, layout : str
        Of the engine and of the pressure sensor; empty for not said.
    speed_rpm : float or None
    """

    quantity: str
    value: float
    step: float
    typed: str
    condition: str = ""
    layout: str = ""
    speed_rpm: float | None = None


@dataclass(frozen=True, slots=True)
class PointTaken:
    """A pressure with the flow at that moment.

    `corrected_mbar` has the zero taken off; None where no zero was read.
    """

    condition: str
    speed_rpm: float | None
    typed: str
    corrected_mbar: float | None
    temperature_c: float | None
    flow_from: FlowFrom
    point: PressurePoint

    @property
    def words(self) -> str:
        """When it was read: ``at idle``."""
        return WORDS[self.condition]


@dataclass(frozen=True, slots=True)
class VisitPoints:
    """The points of a visit, what they lack by name, and what was left out with why.

    `zero` is None where none was read, or where it is too far off to correct by: `zero_off` then
    says so.
    """

    zero: Zero | None
    zero_off: Unused | None
    layout: Layout
    points: tuple[PointTaken, ...]
    missing: tuple[str, ...]
    left_out: tuple[Unused, ...]

    def of(self, condition: str) -> PointTaken | None:
        """The last point of this condition whose flow is known; else the last one."""
        found = [each for each in self.points if each.condition == condition]
        known = [each for each in found if each.point.flow.flow_m3_per_h is not None]
        chosen = known or found
        return chosen[-1] if chosen else None
