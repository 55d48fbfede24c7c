"""The fitted filter drawn over flow, with the points brought to one gas temperature."""

from collections.abc import Sequence
from dataclasses import dataclass

from garage.evidence.resistance.gas import PA_PER_MBAR, SECONDS_PER_HOUR
from garage.evidence.resistance.model import ResistanceIndex, pressure_of_model_mbar
from garage.evidence.resistance.visit_said import PointTaken

_STEPS = 40
#: How far beyond the fastest point, or the reference, the curve is drawn.
_BEYOND_SHARE = 1.1


@dataclass(frozen=True, slots=True)
class CurveStep:
    """Pressure at one flow, with the limits of the index carried along the curve, mbar."""

    flow_m3_per_h: float
    pressure_mbar: float
    low_mbar: float
    high_mbar: float


@dataclass(frozen=True, slots=True)
class CurvePoint:
    """A point as it would read at the reference's temperature and pressure."""

    flow_m3_per_h: float
    pressure_mbar: float
    words: str


@dataclass(frozen=True, slots=True)
class Curve:
    """Steps and points; no steps where no curve was fitted."""

    steps: tuple[CurveStep, ...]
    points: tuple[CurvePoint, ...]


def curve_of(index: ResistanceIndex, points: Sequence[PointTaken]) -> Curve:
    """Where does the fitted filter lie, and where do the points, at one gas temperature?

    A point is brought to the reference by the ratio that the fit gives between its own gas and the
    reference's. The index's limits are those of the reference flow; elsewhere they are wider.

    Examples
    --------
    >>> from garage.evidence.resistance.model import IndexStatus, STANDARD_REFERENCE
    >>> curve_of(ResistanceIndex(IndexStatus.NO_ZERO, "", 0, STANDARD_REFERENCE), [])
    Curve(steps=(), points=())
    """
    middle, low, high = index.resistance_mbar_per_m3_per_h, index.low, index.high
    if middle is None or low is None or high is None or middle <= 0.0:
        return Curve((), ())
    drawn = [each for each in (_point(index, point) for point in points) if each is not None]
    last = max(index.reference.flow_m3_per_h, *(each.flow_m3_per_h for each in drawn))
    steps = []
    for step in range(_STEPS + 1):
        flow = last * _BEYOND_SHARE * step / _STEPS
        pressure = pressure_of_model_mbar(index, flow)
        if pressure is not None:
            steps.append(
                CurveStep(flow, pressure, pressure * low / middle, pressure * high / middle)
            )
    return Curve(tuple(steps), tuple(drawn))


def _point(index: ResistanceIndex, taken: PointTaken) -> CurvePoint | None:
    flow = taken.point.flow
    viscosity, density = flow.viscosity_pa_s, flow.density_kg_per_m3
    linear, square = index.linear_per_m3, index.square_per_m4
    if (
        flow.flow_m3_per_h is None
        or viscosity is None
        or density is None
        or linear is None
        or square is None
        or taken.corrected_mbar is None
    ):
        return None
    volume = flow.flow_m3_per_h / SECONDS_PER_HOUR
    own = (linear * viscosity * volume + square * density * volume**2) / PA_PER_MBAR
    at_reference = pressure_of_model_mbar(index, flow.flow_m3_per_h)
    if at_reference is None or own <= 0.0:
        return None
    return CurvePoint(flow.flow_m3_per_h, taken.corrected_mbar * at_reference / own, taken.words)
