"""One log drawn: soot and inlet temperature along the distance, or along the time."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from garage.evidence.drives.burns import BurnFound
from garage.evidence.drives.judged import DriveJudged
from garage.evidence.drives.log import Drive
from garage.pages.charts.chart import Chart, KeyItem, Spec, Table, framed
from garage.pages.charts.palette import PAGE, Palette

HEIGHT = 220
#: Points of a line: more than a screen has columns of pixels show nothing new. Judgement.
POINTS_MOST = 400
#: Rows of the table of numbers. Judgement.
ROWS_MOST = 24
#: Below this a drive stood still, and is drawn along the time. Judgement.
DISTANCE_LEAST_KM = 2.0
_S_PER_MIN = 60.0
_Numbers = npt.NDArray[np.float64]


@dataclass(frozen=True)
class _Along:
    """What a log is drawn along: its column, and from where and in which steps it counts."""

    key: str
    start: float
    per_step: float
    title: str

    def placed(self, values: _Numbers) -> _Numbers:
        return (values - self.start) / self.per_step


def drive_charts(
    drive: Drive, judged: DriveJudged, burn_c: float, *, name: str, palette: Palette = PAGE
) -> tuple[Chart, ...]:
    """Soot, with where a burn starts and the limit; inlet temperature, with the heat of a burn.

    `burn_c` is the temperature that proves a burn. A chart of which nothing was read is left out.
    """
    along = _along(drive)
    spans = _spans(drive, judged.burns, along)
    charts = []
    if not drive.missing(along.key, "soot_g"):
        charts.append(
            _soot_chart(drive, judged, _Frame(along, spans, f"{name}-soot", "Soot", palette))
        )
    if not drive.missing(along.key, "inlet_c"):
        charts.append(
            _heat_chart(
                drive, burn_c, _Frame(along, spans, f"{name}-heat", "Inlet temperature", palette)
            )
        )
    return tuple(charts)


@dataclass(frozen=True)
class _Frame:
    """What both charts of a log share."""

    along: _Along
    spans: Sequence[tuple[float, float]]
    name: str
    title: str
    palette: Palette


def _along(drive: Drive) -> _Along:
    km = [each for each in drive.distance_km or () if each is not None]
    gone = len(km) > 1 and km[-1] - km[0] >= DISTANCE_LEAST_KM
    if gone or drive.time_s is None:
        start = km[0] if km else 0.0
        return _Along("distance_km", start, 1.0, "km since the first row")
    return _Along("time_s", 0.0, _S_PER_MIN, "minutes since the first row")


def _spans(
    drive: Drive, burns: Sequence[BurnFound], along: _Along
) -> tuple[tuple[float, float], ...]:
    """From where to where soot fell."""
    spans = []
    for each in burns:
        if each.start_s is None or each.end_s is None:
            continue
        ends = np.array([each.start_s, each.end_s])
        if along.key == "distance_km":
            seconds, km = drive.together("time_s", "distance_km")
            if not len(seconds):
                continue
            ends = np.interp(ends, seconds, km)
        first, last = along.placed(ends).tolist()
        spans.append((first, last))
    return tuple(spans)


def _soot_chart(drive: Drive, judged: DriveJudged, frame: _Frame) -> Chart:
    rows = _rows(drive, "soot_g", frame.along)
    trigger, limit = judged.targets.trigger, judged.targets.limit
    palette = frame.palette
    soot = [row["value"] for row in rows]
    summary = (
        f"Soot from {soot[0]:g} to {soot[-1]:g} g, at most {max(soot):g} g; a burn starts at "
        f"{trigger.least_g:g} to {trigger.most_g:g} g."
        if soot
        else "No soot was read."
    )
    ends = [row["along"] for row in rows[:1] + rows[-1:]]
    band = [{"along": x, "least": trigger.least_g, "most": trigger.most_g} for x in ends]
    y = _y("soot, g", zero=True)
    layers = [_fallen(frame), _band(frame, band, y)]
    key = [
        KeyItem("line", palette.watched, "soot, as the vehicle reckons it"),
        KeyItem("band", palette.normal, "a burn starts in this range"),
    ]
    if limit is not None:
        layers.append(_rule(frame, limit.most_g, palette.failure, y))
        key.append(KeyItem("line", palette.failure, "most soot for a burn", dash="7 4", width=2))
    return _chart(frame, summary, rows, [*layers, _line(frame, rows, y)], key)


def _heat_chart(drive: Drive, burn_c: float, frame: _Frame) -> Chart:
    rows = _rows(drive, "inlet_c", frame.along)
    heat = [row["value"] for row in rows]
    summary = (
        f"Inlet temperature from {min(heat):g} to {max(heat):g} °C; a burn goes above "
        f"{burn_c:g} °C."
        if heat
        else "No inlet temperature was read."
    )
    y = _y("before the filter, °C", zero=False)
    palette = frame.palette
    key = [
        KeyItem("line", palette.watched, "inlet temperature"),
        KeyItem("line", palette.second, "heat that proves a burn", dash="7 4", width=2),
    ]
    layers = [
        _fallen(frame),
        _rule(frame, burn_c, palette.second, y),
        _line(frame, rows, y),
    ]
    return _chart(frame, summary, rows, layers, key)


def _chart(
    frame: _Frame,
    summary: str,
    rows: list[Spec],
    layers: list[Spec],
    key: list[KeyItem],
) -> Chart:
    drawn = len({row["along"] for row in rows}) > 1
    if frame.spans:
        key = [*key, KeyItem("band", frame.palette.ink, "soot falls")]
    where = "distance" if frame.along.key == "distance_km" else "time"
    body = {"height": HEIGHT, "layer": layers}
    return Chart(
        name=frame.name,
        title=f"{frame.title} along the {where}",
        summary=summary,
        spec=framed(body, summary=summary, palette=frame.palette) if drawn else None,
        key=tuple(key) if drawn else (),
        tables=(_table(rows, frame),) if rows else (),
    )


def _x(along: _Along) -> Spec:
    return {
        "field": "along",
        "type": "quantitative",
        "scale": {"nice": False, "zero": False},
        "axis": {"title": along.title, "tickCount": 6},
    }


def _y(title: str, *, zero: bool) -> Spec:
    return {
        "field": "value",
        "type": "quantitative",
        "scale": {"zero": zero, "nice": True},
        "axis": {"title": title, "tickCount": 5},
    }


def _line(frame: _Frame, rows: list[Spec], y: Spec) -> Spec:
    return {
        "data": {"values": rows},
        "mark": {"type": "line", "stroke": frame.palette.watched, "strokeWidth": 2.5},
        "encoding": {"x": _x(frame.along), "y": y},
    }


def _band(frame: _Frame, band: list[Spec], y: Spec) -> Spec:
    return {
        "data": {"values": band},
        "mark": {"type": "area", "fill": frame.palette.normal, "fillOpacity": 0.2},
        "encoding": {
            "x": _x(frame.along),
            "y": {**y, "field": "least"},
            "y2": {"field": "most"},
        },
    }


def _rule(frame: _Frame, value: float, colour: str, y: Spec) -> Spec:
    return {
        "data": {"values": [{"value": value}]},
        "mark": {"type": "rule", "stroke": colour, "strokeWidth": 2, "strokeDash": [7, 4]},
        "encoding": {"y": y},
    }


def _fallen(frame: _Frame) -> Spec:
    spans = [{"along": first, "until": last} for first, last in frame.spans]
    return {
        "data": {"values": spans},
        "mark": {"type": "rect", "fill": frame.palette.ink, "fillOpacity": 0.12},
        "encoding": {"x": _x(frame.along), "x2": {"field": "until"}},
    }


def _rows(drive: Drive, key: str, along: _Along) -> list[Spec]:
    at, values = drive.together(along.key, key)
    kept = thinned(values, POINTS_MOST)
    places = along.placed(at)
    return [{"along": round(float(places[row]), 3), "value": float(values[row])} for row in kept]


def thinned(values: _Numbers, most: int) -> list[int]:
    """Rows that draw the same line with at most `most` points: the ends, and the least and the
    greatest of each stretch, so that no peak and no step is lost."""
    count = len(values)
    if count <= most:
        return list(range(count))
    edges = np.linspace(0, count, (most - 2) // 2 + 1).astype(int).tolist()
    kept = {0, count - 1}
    for first, last in pairwise(edges):
        stretch = values[first:last]
        kept |= {first + int(stretch.argmin()), first + int(stretch.argmax())}
    return sorted(kept)


def _table(rows: list[Spec], frame: _Frame) -> Table:
    step = max(1, -(-len(rows) // ROWS_MOST))
    shown = rows[::step]
    caption = "Every row." if step == 1 else f"One in {step} of the points drawn."
    return Table(
        caption=caption,
        head=(frame.along.title.capitalize(), frame.title),
        rows=tuple((f"{row['along']:.1f}", f"{row['value']:.1f}") for row in shown),
    )
