"""The lives of one vehicle's parts along its odometer, against the normal life of each."""

from collections.abc import Sequence
from dataclasses import dataclass

from garage.pages.charts.chart import Chart, KeyItem, Spec, Table, framed
from garage.pages.charts.palette import PAGE, Palette
from garage.pages.words import UNKNOWN, kilometres

ROW_HEIGHT = 46
NAME_LIMIT = 150
KEY_CROSS = "M-5,-5L5,5M-5,5L5,-5"
#: The same in a square of side 2, which the chart scales to its size.
CROSS = "M-1,-1L1,1M-1,1L1,-1"
#: Where the first part was met this far along, the axis begins there and not at 0. Judgement.
EMPTY_SHARE = 0.25


@dataclass(frozen=True)
class LifeBar:
    """One part on the vehicle: where it was watched, how it ended, what would be normal.

    Distances are odometer km. `from_km` is None where nobody knows when it was fitted;
    `watched_from_km` and `watched_to_km` then bound what is known of it.
    """

    place: int
    name: str
    from_km: int | None
    watched_from_km: int | None
    watched_to_km: int | None
    to_km: int | None
    ending: str
    failed: bool
    normal_low_km: int | None
    normal_median_km: int | None
    normal_high_km: int | None

    @property
    def is_placed(self) -> bool:
        """Whether anything of it can be drawn along the odometer."""
        return self.watched_to_km is not None and self.first_km is not None

    @property
    def first_km(self) -> int | None:
        return self.watched_from_km if self.from_km is None else self.from_km

    @property
    def label(self) -> str:
        return f"{self.place}  {self.name}"


def filter_lives_chart(
    bars: Sequence[LifeBar], *, part_name: str, palette: Palette = PAGE
) -> Chart:
    """One bar for each life, oldest on top."""
    summary = _summary(bars, part_name)
    drawn = [bar for bar in bars if bar.is_placed]
    return Chart(
        name="lives",
        title=f"Each {part_name} of this vehicle along its odometer",
        summary=summary,
        spec=_spec(drawn, summary, palette) if drawn else None,
        key=_key(palette),
        tables=(_table(bars),),
    )


def _spec(bars: Sequence[LifeBar], summary: str, palette: Palette) -> Spec:
    rows = [_row(bar) for bar in bars]
    ends = ("end", "watched_to", "normal_high")
    last_km = max(row[end] for row in rows for end in ends if row[end] is not None)
    first_km = min(row["start"] for row in rows if row["start"] is not None)
    if first_km < EMPTY_SHARE * last_km:
        first_km = 0
    y = {
        "field": "label",
        "type": "nominal",
        "sort": [row["label"] for row in rows],
        "axis": {"title": None, "domain": False, "ticks": False, "labelLimit": NAME_LIMIT},
    }
    x_axis = {
        "title": "odometer, thousand km",
        "labelExpr": "format(datum.value / 1000, ',d')",
        "tickCount": 6,
        "labelOverlap": True,
    }

    def layer(mark: Spec, start: str, end: str | None = None, needs: str | None = None) -> Spec:
        encoding: Spec = {
            "y": y,
            "x": {
                "field": start,
                "type": "quantitative",
                "axis": x_axis,
                "scale": {"domain": [first_km, last_km], "nice": True},
            },
        }
        if end is not None:
            encoding["x2"] = {"field": end}
        made: Spec = {"mark": mark, "encoding": encoding}
        made["transform"] = [{"filter": f"isValid(datum['{needs or start}'])"}]
        return made

    return framed(
        {
            "height": ROW_HEIGHT * len(rows),
            "data": {"values": rows},
            "layer": [
                layer(
                    {"type": "bar", "height": 34, "fill": palette.normal, "fillOpacity": 0.2},
                    "normal_low",
                    "normal_high",
                ),
                layer(
                    {
                        "type": "bar",
                        "height": 14,
                        "fill": palette.unwatched,
                        "stroke": palette.watched,
                        "strokeDash": [3, 2],
                    },
                    "start",
                    "end",
                ),
                layer(
                    {
                        "type": "bar",
                        "height": 15,
                        "fill": palette.watched,
                        "stroke": palette.watched,  # covers the dashes beneath
                    },
                    "watched_from",
                    "watched_to",
                ),
                layer(
                    {
                        "type": "tick",
                        "height": 34,
                        "thickness": 3,
                        "opacity": 1,
                        "color": palette.normal,
                    },
                    "normal_median",
                ),
                layer(
                    {
                        "type": "point",
                        "shape": CROSS,
                        "size": 140,
                        "filled": False,
                        "opacity": 1,
                        "stroke": palette.failure,
                        "strokeWidth": 3.5,
                    },
                    "failed_at",
                ),
            ],
        },
        summary=summary,
        palette=palette,
    )


def _row(bar: LifeBar) -> Spec:
    return {
        "label": bar.label,
        "start": bar.first_km,
        "end": bar.to_km if bar.to_km is not None else bar.watched_to_km,
        "watched_from": None if bar.from_km is None else bar.watched_from_km,
        "watched_to": bar.watched_to_km,
        "failed_at": bar.to_km if bar.failed else None,
        "normal_low": bar.normal_low_km,
        "normal_median": bar.normal_median_km,
        "normal_high": bar.normal_high_km,
    }


def _key(palette: Palette) -> tuple[KeyItem, ...]:
    return (
        KeyItem("bar", palette.watched, "in place and under watch"),
        KeyItem(
            "bar",
            palette.unwatched,
            "in place, not watched or start not known",
            dash="3 2",
            border=palette.watched,
        ),
        KeyItem("cross", palette.failure, "failed", shape=KEY_CROSS),
        KeyItem("band", palette.normal, "normal life: the middle half fails in this range"),
        KeyItem("tick", palette.normal, "normal life: half have failed by here"),
    )


def _summary(bars: Sequence[LifeBar], part_name: str) -> str:
    if not bars:
        return f"No {part_name} is on record for this vehicle."
    told = []
    for bar in bars:
        length = _length_km(bar)
        gone = "a distance not known" if length is None else kilometres(length)
        told.append(f"number {bar.place}, {bar.name}: {bar.ending} after {gone}")
    return "; ".join(told) + "."


def _length_km(bar: LifeBar) -> int | None:
    end = bar.to_km if bar.to_km is not None else bar.watched_to_km
    return None if bar.from_km is None or end is None else end - bar.from_km


def _table(bars: Sequence[LifeBar]) -> Table:
    return Table(
        caption="Odometer readings in km; lengths are distances since fitting.",
        head=(
            "Part",
            "Fitted at",
            "Watched from",
            "Watched to",
            "Length",
            "Ending",
            "Normal: half fail by",
            "Normal: middle half fails",
        ),
        rows=tuple(_table_row(bar) for bar in bars),
        worded=frozenset({5}),
    )


def _table_row(bar: LifeBar) -> tuple[str, ...]:
    low, high = bar.normal_low_km, bar.normal_high_km
    start = bar.from_km
    return (
        bar.label,
        kilometres(bar.from_km),
        kilometres(bar.watched_from_km),
        kilometres(bar.watched_to_km),
        kilometres(_length_km(bar)),
        bar.ending,
        UNKNOWN
        if bar.normal_median_km is None or start is None
        else kilometres(bar.normal_median_km - start),
        UNKNOWN
        if low is None or high is None or start is None
        else f"{kilometres(low - start)} to {kilometres(high - start)}",
    )
