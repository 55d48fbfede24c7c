"""What a sensor indicated against the pressure applied, with the band of a true one."""

from collections.abc import Sequence
from dataclasses import dataclass

from garage.evidence.gauges.sensor_check import Point
from garage.evidence.gauges.units import PA_PER_MBAR
from garage.pages.charts.chart import Chart, KeyItem, Spec, Table, framed
from garage.pages.charts.palette import PAGE, Palette

HEIGHT = 260
RISING = "M0,-5A5,5,0,1,1,0,5A5,5,0,1,1,0,-5Z"
FALLING = "M0,5.5L5.5,-4.5H-5.5Z"


@dataclass(frozen=True)
class Tolerance:
    """How far a true sensor may be off: its zero in mbar, its reading as a share."""

    zero_mbar: float
    share: float

    def at(self, applied_mbar: float) -> float:
        return self.zero_mbar + self.share * abs(applied_mbar)


def sensor_chart(
    points: Sequence[Point], tolerance: Tolerance, *, name: str = "sensor", palette: Palette = PAGE
) -> Chart:
    """The points of one check in mbar; only their numbers where there is one pressure alone."""
    rows = [
        {
            "applied": each.applied_pa / PA_PER_MBAR,
            "indicated": each.indicated_pa / PA_PER_MBAR,
            "way": "rising" if each.rising else "falling",
        }
        for each in points
    ]
    applied = [float(row["applied"]) for row in rows]
    out = [
        row
        for row in rows
        if abs(float(row["indicated"]) - float(row["applied"]))
        > tolerance.at(float(row["applied"]))
    ]
    summary = (
        f"{len(rows)} pressures from {min(applied):g} to {max(applied):g} mbar; "
        f"{len(out)} indicated outside the band of a true sensor."
        if rows
        else "No known pressure was applied."
    )
    drawn = len(set(applied)) > 1
    return Chart(
        name=name,
        title="Indicated against applied",
        summary=summary,
        spec=_spec(rows, tolerance, summary, palette) if drawn else None,
        key=_key(rows, palette) if drawn else (),
        tables=(_table(rows, tolerance),) if rows else (),
    )


def _spec(rows: list[Spec], tolerance: Tolerance, summary: str, palette: Palette) -> Spec:
    ends = [min(row["applied"] for row in rows), max(row["applied"] for row in rows)]
    # The band bends at nothing applied, where its share changes sides.
    corners = sorted({*ends, 0.0} if ends[0] < 0 < ends[1] else set(ends))
    band = [
        {
            "applied": each,
            "least": each - tolerance.at(each),
            "most": each + tolerance.at(each),
        }
        for each in corners
    ]
    x = {
        "field": "applied",
        "type": "quantitative",
        "scale": {"nice": True, "zero": True},
        "axis": {"title": "applied, mbar", "tickCount": 5},
    }
    y = {
        "field": "indicated",
        "type": "quantitative",
        "axis": {"title": "indicated, mbar", "tickCount": 5},
    }
    return framed(
        {
            "height": HEIGHT,
            "layer": [
                {
                    "data": {"values": band},
                    "mark": {"type": "area", "fill": palette.watched, "fillOpacity": 0.2},
                    "encoding": {"x": x, "y": {**y, "field": "least"}, "y2": {"field": "most"}},
                },
                {
                    "data": {"values": band},
                    "mark": {"type": "line", "stroke": palette.soft, "strokeDash": [7, 4]},
                    "encoding": {"x": x, "y": {**y, "field": "applied"}},
                },
                {
                    "data": {"values": rows},
                    "mark": {"type": "point", "filled": True, "size": 90, "opacity": 1},
                    "encoding": {
                        "x": x,
                        "y": y,
                        "fill": _by_way([palette.watched, palette.second]),
                        "shape": _by_way(["circle", "triangle-down"]),
                    },
                },
            ],
        },
        summary=summary,
        palette=palette,
    )


def _by_way(range_: list[str]) -> Spec:
    return {
        "field": "way",
        "type": "nominal",
        "scale": {"domain": ["rising", "falling"], "range": range_},
        "legend": None,
    }


def _key(rows: list[Spec], palette: Palette) -> tuple[KeyItem, ...]:
    ways = {row["way"] for row in rows}
    points = (
        ("rising", palette.watched, "pressure raised to it", RISING),
        ("falling", palette.second, "pressure let down to it", FALLING),
    )
    return (
        *(
            KeyItem("point", paint, words, shape=s)
            for way, paint, words, s in points
            if way in ways
        ),
        KeyItem("line", palette.soft, "indicated as applied", dash="7 4", width=2),
        KeyItem("band", palette.watched, "a true sensor, zero and slope within tolerance"),
    )


def _table(rows: list[Spec], tolerance: Tolerance) -> Table:
    return Table(
        caption="In mbar, in the order in which they were taken.",
        head=("Applied", "Indicated", "Off by", "May be off by", "Pressure was"),
        rows=tuple(
            (
                f"{row['applied']:.1f}",
                f"{row['indicated']:.1f}",
                f"{row['indicated'] - row['applied']:+.1f}",
                f"{tolerance.at(row['applied']):.1f}",
                "raised" if row["way"] == "rising" else "let down",
            )
            for row in rows
        ),
        worded=frozenset({4}),
    )
