"""Share of parts still unfailed by distance: the curves of one origin, *expected* the strongest."""

from dataclasses import dataclass
from typing import Any

from garage.outcomes.choices import Curve
from garage.outcomes.wire import Wire
from garage.pages.charts.chart import Chart, KeyItem, Spec, Table, framed
from garage.pages.charts.palette import PAGE, Palette
from garage.pages.words import (
    CURVES,
    ORIGINS,
    STRATA,
    count,
    counted,
    distance_with_interval,
    kilometres,
    note_of,
    share_with_interval,
)

HEIGHT = 230
#: How much of a curve that lies at 0 is drawn, to show that it does.
BEYOND_KM = 20_000


@dataclass(frozen=True)
class _Pen:
    """How one curve is drawn: dashes and gaps, and width, in pixels."""

    dash: tuple[int, ...]
    width: float


PENS = {
    Curve.EXPECTED: _Pen((), 3.5),
    Curve.SEEN: _Pen((2, 3), 1.75),
    Curve.PRESUMED: _Pen((7, 4), 1.75),
}


def survival_chart(
    group: Wire,
    strata: list[Wire],
    normal: Wire | None,
    *,
    drawn: bool = True,
    palette: Palette = PAGE,
) -> Chart:
    """The chart of one origin; only its numbers unless `drawn`.

    `group` is the group together, `strata` its parts where it has any, `normal` the normal life of
    its origin.
    """
    origin = ORIGINS[group["origin"]]
    summary = _summary(group)
    points = _points(group)
    has_curve = drawn and any(point["km"] > 0 for point in points)
    return Chart(
        name=f"survival-{group['origin'].replace('_', '-')}",
        title=f"Origin: {origin}",
        summary=summary,
        spec=_spec(points, normal, summary, palette) if has_curve else None,
        key=_key(_drawn(points), palette, with_normal=normal is not None) if has_curve else (),
        tables=(_table([group, *strata]),),
    )


def _points(group: Wire) -> list[dict[str, Any]]:
    """The drawn points, up to where all curves have come down or ended."""
    points = [
        {"curve": curve["curve"], **point}
        for curve in group["curves"]
        for point in curve["drawn"]
        if point["survival"] is not None
    ]
    still_km = max((point["km"] for point in points if point["survival"] > 0), default=0)
    return [point for point in points if point["km"] <= still_km + BEYOND_KM]


def _colours(palette: Palette) -> dict[Curve, str]:
    return {
        Curve.EXPECTED: palette.watched,
        Curve.SEEN: palette.fourth,
        Curve.PRESUMED: palette.second,
    }


def _drawn(points: list[dict[str, Any]]) -> list[Curve]:
    names = {point["curve"] for point in points}
    return [curve for curve in PENS if curve in names]


def _banded(curves: list[Curve]) -> list[Curve]:
    """Three bands would hide one another; without *expected* the truth lies within the others'."""
    return [Curve.EXPECTED] if Curve.EXPECTED in curves else curves


def _band(curve: Curve, colour: str, x: Spec, y: Spec) -> Spec:
    return {
        "transform": [
            {"filter": {"field": "curve", "equal": curve}},
            {"filter": "isValid(datum.lower) && isValid(datum.upper)"},
        ],
        "mark": {
            "type": "area",
            "interpolate": "step-after",
            "fill": colour,
            "fillOpacity": 0.2,
        },
        "encoding": {"x": x, "y": {**y, "field": "lower"}, "y2": {"field": "upper"}},
    }


def _line(curve: Curve, colour: str, x: Spec, y: Spec) -> Spec:
    return {
        "transform": [{"filter": {"field": "curve", "equal": curve}}],
        "mark": {
            "type": "line",
            "interpolate": "step-after",
            "stroke": colour,
            "strokeWidth": PENS[curve].width,
            "strokeDash": list(PENS[curve].dash),
        },
        "encoding": {"x": x, "y": y},
    }


def _spec(
    points: list[dict[str, Any]], normal: Wire | None, summary: str, palette: Palette
) -> Spec:
    last_km = max(point["km"] for point in points)
    curves = _drawn(points)
    colours = _colours(palette)
    x = {
        "field": "km",
        "type": "quantitative",
        "scale": {"domain": [0, last_km], "nice": False},
        "axis": {
            "title": "thousand km since fitting",
            "labelExpr": "format(datum.value / 1000, ',d')",
            "tickCount": 6,
        },
    }
    y_scale = {"domain": [0, 1]}
    y_axis = {"title": "still unfailed", "format": ".0%", "tickCount": 5}
    y = {"field": "survival", "type": "quantitative", "scale": y_scale, "axis": y_axis}
    layers = [
        *(_band(curve, colours[curve], x, y) for curve in _banded(curves)),
        # The strongest last, so that it lies over the others where they meet.
        *(_line(curve, colours[curve], x, y) for curve in reversed(curves)),
    ]
    if normal is not None and normal["median_km"] <= last_km:
        layers.append(
            {
                "data": {"values": [{"km": normal["median_km"]}]},
                "mark": {
                    "type": "rule",
                    "stroke": palette.normal,
                    "strokeWidth": 2,
                    "strokeDash": [9, 3, 2, 3],
                },
                "encoding": {"x": x},
            }
        )
    return framed(
        {"height": HEIGHT, "data": {"values": points}, "layer": layers},
        summary=summary,
        palette=palette,
    )


def _key(curves: list[Curve], palette: Palette, *, with_normal: bool) -> tuple[KeyItem, ...]:
    colours = _colours(palette)
    items = [
        KeyItem(
            "line",
            colours[curve],
            CURVES[curve] + (", with its 95 % band" if curve in _banded(curves) else ""),
            dash=" ".join(str(each) for each in PENS[curve].dash),
            width=PENS[curve].width,
        )
        for curve in curves
    ]
    if with_normal:
        items.append(
            KeyItem("line", palette.normal, "normal life: half have failed by here", dash="9 3 2 3")
        )
    return tuple(items)


def _summary(group: Wire) -> str:
    told = []
    for curve in group["curves"]:
        reached = [each for each in curve["survival"] if each["value"] is not None]
        if not reached:
            told.append(f"{CURVES[curve['curve']]}: no share can be given yet")
            continue
        at = reached[-1]
        told.append(
            f"{CURVES[curve['curve']]}: {share_with_interval(at)} still unfailed at "
            f"{kilometres(at['at_km'])}"
        )
    return (
        f"From {counted(group['lives'], 'life', 'lives')}, of which {count(group['failed'])} "
        f"failed. " + "; ".join(told).capitalize() + "."
    )


def _table(groups: list[Wire]) -> Table:
    """A row for each stratum and curve: lives, failures, and the share unfailed by distance."""
    at = [figure["at_km"] for figure in groups[0]["curves"][0]["survival"]]
    rows = []
    notes: dict[str, None] = {}
    for group in groups:
        stratum = STRATA[group["stratum"]]
        for curve in group["curves"]:
            name = f"{stratum}, {CURVES[curve['curve']]}"
            figures = [*curve["survival"], curve["median_km"], curve["weibull"]["tenth_failed_km"]]
            rows.append(
                (
                    name,
                    count(group["lives"]),
                    count(group["failed"]),
                    *(share_with_interval(figure) for figure in curve["survival"]),
                    *(distance_with_interval(figure) for figure in figures[-2:]),
                )
            )
            reasons = dict.fromkeys(note_of(figure) for figure in figures)
            told = "; ".join(reason for reason in reasons if reason)
            if told:
                notes[f"{name}: {told}."] = None
    curve = groups[0]["curves"][0]
    return Table(
        caption=(
            "Share still unfailed at each distance, with its 95 % interval. Source: "
            f"{curve['median_km']['source']}; one in ten: "
            f"{curve['weibull']['tenth_failed_km']['source']}."
        ),
        head=(
            "Vehicles, curve",
            "Lives",
            "Failed",
            *(kilometres(km) for km in at),
            "Half failed by",
            "One in ten failed by",
        ),
        rows=tuple(rows),
        notes=tuple(notes),
    )
