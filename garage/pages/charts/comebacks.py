"""Comebacks by operation, within days or within km, each with its interval."""

from garage.outcomes.wire import Wire
from garage.pages.charts.chart import Chart, KeyItem, Spec, Table, framed
from garage.pages.charts.palette import PAGE, Palette
from garage.pages.words import OPERATIONS, count, note_of, share_with_interval, spaced

#: Shapes of the four windows, shortest first, as SVG paths around (0, 0).
SHAPES = (
    "M0,-5A5,5,0,1,1,0,5A5,5,0,1,1,0,-5Z",
    "M-4.5,-4.5H4.5V4.5H-4.5Z",
    "M0,-5.5L5.5,4.5H-5.5Z",
    "M0,-6L6,0L0,6L-6,0Z",
)
ROW_HEIGHT = 62
NAME_LIMIT = 150


def comebacks_chart(rates: list[Wire], unit: str, *, palette: Palette = PAGE) -> Chart:
    """Chart of one clock; `unit` is days or km."""
    windows = [figure[f"at_{unit}"] for figure in rates[0][f"within_{unit}"]] if rates else []
    names = [f"within {spaced(at)} {unit}" for at in windows]
    rows = [
        {
            "operation": OPERATIONS[rate["operation"]],
            "window": name,
            "share": figure["value"],
            "lower": figure["lower"],
            "upper": figure["upper"],
        }
        for rate in rates
        for name, figure in zip(names, rate[f"within_{unit}"], strict=True)
        if figure["value"] is not None
    ]
    summary = _summary(rates, unit)
    colours = (palette.watched, palette.second, palette.third, palette.fourth)
    return Chart(
        name=f"comebacks-{unit}",
        title=f"Vehicles that came back, by {'time' if unit == 'days' else 'distance'}",
        summary=summary,
        spec=_spec(rows, names, colours, summary, palette) if rows else None,
        key=tuple(
            KeyItem("point", colour, name, shape=shape)
            for colour, name, shape in zip(colours, names, SHAPES, strict=False)
        )
        if rows
        else (),
        tables=(_table(rates, names, unit),) if rates else (),
    )


def _spec(
    rows: list[Spec], names: list[str], colours: tuple[str, ...], summary: str, palette: Palette
) -> Spec:
    operations = list(dict.fromkeys(row["operation"] for row in rows))
    y = {
        "field": "operation",
        "type": "nominal",
        "sort": operations,
        "axis": {
            "title": None,
            "ticks": False,
            "domain": False,
            "labelLimit": NAME_LIMIT,
            "labelPadding": 10,
            "grid": True,
            "tickBand": "extent",
        },
    }
    offset = {"field": "window", "type": "nominal", "sort": names}
    highest = max(row["upper"] if row["upper"] is not None else row["share"] for row in rows)
    x = {
        "type": "quantitative",
        "scale": {"domain": [0, min(1.0, 1.05 * highest)], "nice": True},
        "axis": {"title": "share that came back", "format": ".0%", "tickCount": 5},
    }
    colour = {
        "field": "window",
        "type": "nominal",
        "scale": {"domain": names, "range": list(colours[: len(names)])},
        "legend": None,
    }
    return framed(
        {
            "height": ROW_HEIGHT * len(operations),
            "data": {"values": rows},
            "layer": [
                {
                    "mark": {"type": "rule", "strokeWidth": 2},
                    "encoding": {
                        "y": y,
                        "yOffset": offset,
                        "x": {"field": "lower", **x},
                        "x2": {"field": "upper"},
                        "stroke": colour,
                    },
                    "transform": [{"filter": "isValid(datum.lower) && isValid(datum.upper)"}],
                },
                {
                    "mark": {
                        "type": "point",
                        "filled": True,
                        "size": 100,
                        "opacity": 1,
                    },
                    "encoding": {
                        "y": y,
                        "yOffset": offset,
                        "x": {"field": "share", **x},
                        "fill": colour,
                        "shape": {
                            "field": "window",
                            "type": "nominal",
                            "scale": {
                                "domain": names,
                                "range": ["circle", "square", "triangle-up", "diamond"][
                                    : len(names)
                                ],
                            },
                            "legend": None,
                        },
                    },
                },
            ],
        },
        summary=summary,
        palette=palette,
    )


def _summary(rates: list[Wire], unit: str) -> str:
    told = []
    for rate in rates:
        figure = rate[f"within_{unit}"][-1]
        told.append(
            f"{OPERATIONS[rate['operation']]}: {share_with_interval(figure)} within "
            f"{spaced(figure[f'at_{unit}'])} {unit}"
        )
    return "Share of jobs followed by a comeback. " + "; ".join(told) + "."


def _table(rates: list[Wire], names: list[str], unit: str) -> Table:
    notes: dict[str, None] = {}
    rows = []
    for rate in rates:
        name = OPERATIONS[rate["operation"]]
        figures = rate[f"within_{unit}"]
        rows.append(
            (
                name,
                count(figures[0]["n"]),
                count(rate["comebacks"]),
                count(rate["other_ends"]),
                *(share_with_interval(figure) for figure in figures),
            )
        )
        for window, figure in zip(names, figures, strict=True):
            if note := note_of(figure):
                notes[f"{name.capitalize()}, {window}: {note}."] = None
        if unit == "km" and rate["without_km"]:
            notes[
                f"{name.capitalize()}: {count(rate['without_km'])} jobs without an odometer "
                "reading that stands are left out."
            ] = None
    return Table(
        caption=(
            "Share of jobs followed by another unplanned job on the same system, with its 95 % "
            f"interval. Source: {rates[0][f'within_{unit}'][0]['source']}."
        ),
        head=("After", "Jobs", "Came back", "Left otherwise", *names),
        rows=tuple(rows),
        notes=tuple(notes),
    )
