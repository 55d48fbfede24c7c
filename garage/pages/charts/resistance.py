"""Pressure over flow at one job: the points, the fitted filter, and what sound filters read."""

from garage.evidence.jobs.resistance import JobResistance
from garage.evidence.resistance.curve import Curve, curve_of
from garage.evidence.resistance.states import FilterState, StatesStatus
from garage.evidence.resistance.visit_said import FlowFrom, PointTaken
from garage.pages.charts.chart import Chart, KeyItem, Spec, Table, framed
from garage.pages.charts.palette import PAGE, Palette
from garage.pages.words import NO_BREAK, UNKNOWN, spaced

HEIGHT = 260
_POINT = "M0,-5A5,5,0,1,1,0,5A5,5,0,1,1,0,-5Z"
_FLOW_FROM = {
    FlowFrom.EXHAUST_FLOW: "exhaust flow, as the vehicle reckons it",
    FlowFrom.AIR_FLOW: "air flow, with the fuel added",
    FlowFrom.ENGINE: "displacement and speed, with what was taken and not read",
    FlowFrom.NONE: "not known",
}


def resistance_chart(found: JobResistance, *, palette: Palette = PAGE) -> Chart:
    """The drawing, or only the numbers where no curve could be fitted."""
    curve = curve_of(found.index, found.visit.points)
    summary = _summary(found)
    sound = _sound(found)
    has_curve = bool(curve.steps)
    return Chart(
        name="resistance",
        title="Pressure across the filter by flow",
        summary=summary,
        spec=_spec(curve, sound, found, summary, palette) if has_curve else None,
        key=_key(sound is not None, palette) if has_curve else (),
        tables=(_table(found.visit.points),) if found.visit.points else (),
    )


def _sound(found: JobResistance) -> tuple[float, float] | None:
    """Pressures of sound filters at the reference flow, mbar; None where nothing is compared."""
    if found.states.status is StatesStatus.NOT_COMPARABLE:
        return None
    flow = found.index.reference.flow_m3_per_h
    for each in found.states.ranges:
        if each.state is FilterState.SOUND and each.most is not None:
            return each.least * flow, each.most * flow
    return None


def _summary(found: JobResistance) -> str:
    if found.index.resistance_mbar_per_m3_per_h is None:
        return f"No curve can be fitted: {found.index.reason}."
    flow = found.index.reference.flow_m3_per_h
    middle, low, high = (
        value * flow if value is not None else 0.0
        for value in (found.index.resistance_mbar_per_m3_per_h, found.index.low, found.index.high)
    )
    return (
        f"At {flow:.0f} m³/h and {found.index.reference.temperature_c:.0f} °C the fitted filter "
        f"shows {middle:.0f} mbar ({low:.0f} to {high:.0f}), from {found.index.reason}."
    )


def _spec(
    curve: Curve,
    sound: tuple[float, float] | None,
    found: JobResistance,
    summary: str,
    palette: Palette,
) -> Spec:
    steps = [
        {"flow": each.flow_m3_per_h, "mbar": each.pressure_mbar, "low": each.low_mbar,
         "high": each.high_mbar}
        for each in curve.steps
    ]  # fmt: skip
    points = [{"flow": each.flow_m3_per_h, "mbar": each.pressure_mbar} for each in curve.points]
    last = max(each["flow"] for each in steps)
    x = {
        "field": "flow",
        "type": "quantitative",
        "scale": {"domain": [0, last], "nice": False},
        "axis": {"title": "flow at the filter, m³/h", "tickCount": 6},
    }
    y = {
        "field": "mbar",
        "type": "quantitative",
        "scale": {"zero": True, "nice": True},
        "axis": {"title": "mbar, zero taken off", "tickCount": 5},
    }
    layers: list[Spec] = [
        {
            "mark": {"type": "area", "fill": palette.watched, "fillOpacity": 0.2},
            "encoding": {"x": x, "y": {**y, "field": "low"}, "y2": {"field": "high"}},
        },
        {
            "mark": {"type": "line", "stroke": palette.watched, "strokeWidth": 3},
            "encoding": {"x": x, "y": y},
        },
        {
            "data": {"values": points},
            "mark": {
                "type": "point",
                "filled": True,
                "size": 100,
                "opacity": 1,
                "fill": palette.second,
            },
            "encoding": {"x": x, "y": y},
        },
    ]
    if sound is not None:
        bar = {"flow": found.index.reference.flow_m3_per_h, "mbar": sound[0], "top": sound[1]}
        layers.append(
            {
                "data": {"values": [bar]},
                "mark": {"type": "rule", "stroke": palette.normal, "strokeWidth": 5},
                "encoding": {"x": x, "y": y, "y2": {"field": "top"}},
            }
        )
    return framed(
        {"height": HEIGHT, "data": {"values": steps}, "layer": layers},
        summary=summary,
        palette=palette,
    )


def _key(with_sound: bool, palette: Palette) -> tuple[KeyItem, ...]:
    items = [
        KeyItem("point", palette.second, "as read, brought to 250 °C", shape=_POINT),
        KeyItem("line", palette.watched, "fitted filter", width=3),
        KeyItem("band", palette.watched, "95 % interval of the index, carried along the curve"),
    ]
    if with_sound:
        items.append(
            KeyItem("line", palette.normal, "what sound filters read at 256 m³/h", width=5)
        )
    return tuple(items)


def _table(points: tuple[PointTaken, ...]) -> Table:
    return Table(
        caption="The points: pressure with the flow at that moment; ± is one standard uncertainty.",
        head=("Read", "Speed", "As shown", "Zero taken off", "Gas", "Flow", "Flow from"),
        rows=tuple(_row(each) for each in points),
        worded=frozenset({6}),
    )


def _row(point: PointTaken) -> tuple[str, ...]:
    flow = point.point.flow
    volume, wide = flow.flow_m3_per_h, flow.uncertainty_m3_per_h
    corrected, temperature = point.corrected_mbar, point.temperature_c
    return (
        point.words,
        UNKNOWN if not point.speed_rpm else f"{spaced(point.speed_rpm)}{NO_BREAK}rpm",
        point.typed,
        UNKNOWN if corrected is None else f"{corrected:.1f}{NO_BREAK}mbar",
        UNKNOWN if temperature is None else f"{temperature:.0f}{NO_BREAK}°C",
        UNKNOWN if volume is None or wide is None else f"{volume:.0f} ± {wide:.0f} m³/h",
        _FLOW_FROM[point.flow_from],
    )
