"""Everything an engine family's page shows, gathered from a report."""

from dataclasses import dataclass

from garage.outcomes.wire import Wire
from garage.outcomes.wording import stay_away_told
from garage.pages.charts.chart import Chart, Table
from garage.pages.charts.comebacks import comebacks_chart
from garage.pages.charts.survival import survival_chart
from garage.pages.flags import FlagTold, flags_told
from garage.pages.reports import FamilyCount, Reading, family_counts
from garage.pages.words import (
    CURVES,
    ORIGINS,
    about_kilometres,
    count,
    distance_with_interval,
    note_of,
    percent,
)
from garage.records.models import EngineFamily

#: Below this many lives a curve is a staircase of few steps: its numbers are given without one.
#: Judgement.
FEWEST_DRAWN = 10


@dataclass(frozen=True)
class FamilySheet:
    counts: FamilyCount | None
    origins: Table
    charts: tuple[Chart, ...]
    normal: Table
    capture: tuple[str, ...]
    visits: tuple[str, ...]
    comebacks: tuple[Chart, ...]
    flags: tuple[FlagTold, ...]


def family_sheet(*, family: EngineFamily, reading: Reading) -> FamilySheet | None:
    """None where the records in view give no report yet."""
    report = reading.report
    if report is None:
        return None
    groups = [row for row in report["part_life"] if row["engine_family"] == family.name]
    together = sorted(
        (row for row in groups if row["stratum"] == "together"),
        key=lambda row: list(ORIGINS).index(row["origin"]),
    )
    normals = _normals(report)
    charts = []
    for group in together:
        strata = [
            row
            for row in groups
            if row["origin"] == group["origin"] and row["stratum"] != "together"
        ]
        charts.append(
            survival_chart(
                group,
                strata,
                normals.get(group["origin"]),
                drawn=group["lives"] >= FEWEST_DRAWN,
            )
        )
    rates = [row for row in report["comebacks"] if row["engine_family"] == family.name]
    flags = [
        row for row in report["early_failures"]["flags"] if row["engine_family"] == family.name
    ]
    return FamilySheet(
        counts=family_counts(report).get(family.name),
        origins=_origins(together),
        charts=tuple(sorted(charts, key=lambda chart: chart.spec is None)),
        normal=_normal_table(report),
        capture=tuple(_capture(report)),
        visits=tuple(visits_told(report)),
        comebacks=tuple(comebacks_chart(rates, unit) for unit in ("days", "km")),
        flags=tuple(flags_told(flags)),
    )


def _normals(report: Wire) -> dict[str, Wire]:
    """Normal life by origin; an organisation's own value where only that one is in view."""
    normal = report["normal_life"]
    found = {row["origin"]: row for row in normal["by_origin"]}
    if len(report["organisations"]) == 1:
        found |= {row["origin"]: row for row in normal["own"]}
    return found


def _origins(groups: list[Wire]) -> Table:
    rows = []
    notes: dict[str, None] = {}
    for group in groups:
        origin = ORIGINS[group["origin"]]
        medians = {curve["curve"]: curve["median_km"] for curve in group["curves"]}
        rows.append(
            (
                origin,
                count(group["lives"]),
                count(group["failed"]),
                count(group["vehicles"]),
                percent(group["covered_share"]),
                *(distance_with_interval(medians[curve]) for curve in CURVES),
            )
        )
        told: dict[str, list[str]] = {}
        for curve, median in medians.items():
            if note := note_of(median):
                told.setdefault(note, []).append(CURVES[curve])
        for note, curves in told.items():
            which = "all curves" if len(curves) == len(CURVES) else " and ".join(curves)
            notes[f"{origin.capitalize()}, {which}: {note}."] = None
    return Table(
        caption="Lives by origin. Covered: share of the watching time that jobs here cover.",
        head=(
            "Origin",
            "Lives",
            "Failed",
            "Vehicles",
            "Covered",
            *(f"Half failed by, {curve}" for curve in CURVES.values()),
        ),
        rows=tuple(rows),
        notes=tuple(notes),
    )


def _normal_table(report: Wire) -> Table:
    normal = report["normal_life"]
    rows = []
    for row in [*normal["own"], *normal["by_origin"]]:
        whose = f" ({row['organisation']}'s own)" if "organisation" in row else ""
        lower, upper = row["median_lower_km"], row["median_upper_km"]
        between = (
            "not measured"
            if lower is None or upper is None
            else f"{about_kilometres(lower)} to {about_kilometres(upper)}"
        )
        rows.append(
            (
                f"{ORIGINS[row['origin']]}{whose}",
                about_kilometres(row["median_km"]),
                between,
                f"{row['weibull_shape']:.1f}",
                count(row["n"]) if row["rule"] == "register" else "none",
                row["source"],
            )
        )
    return Table(
        caption="Normal life, by origin and where it comes from.",
        head=("Origin", "Half fail by", "95 % interval", "Shape", "Lives behind it", "Source"),
        worded=frozenset({5}),
        rows=tuple(rows),
        notes=(normal["reason"],) if normal["reason"] else (),
    )


def _capture(report: Wire) -> list[str]:
    """How much of the failures comes here to be seen, by organisation."""
    told = []
    for row in report["capture"]:
        share = row["failures"]
        if row.get("sees_all_repairs"):
            told.append(f"{row['organisation']}: sees all repairs of its vehicles.")
        else:
            told.append(
                f"{row['organisation']}: {percent(share['value'])} "
                f"({percent(share['lower'])} to {percent(share['upper'])}) of failures come here, "
                f"from {count(share['here'])} seen here and {count(share['elsewhere'])} found out "
                f"later, with a prior of judgement. {stay_away_told(share)}".rstrip()
            )
    return told


def visits_told(report: Wire) -> list[str]:
    """How the vehicles of each organisation come and leave, or why that is not known."""
    told = []
    for row in report["visits"]:
        if row["leaving_a_year"] is None:
            told.append(f"{row['organisation']}: no expected figures; {row['reason']}.")
            continue
        lower, upper = row["leaving_a_year_lower"], row["leaving_a_year_upper"]
        limits = "" if lower is None else f" ({percent(lower)} to {percent(upper)})"
        told.append(
            f"{row['organisation']}: a visit every {count(round(row['gap_days']))} days or so; "
            f"{percent(row['leaving_a_year'])}{limits} of the customers leave in a year; of "
            f"{count(row['vehicles'])} vehicles that have been here "
            f"{percent(row['still_customers'])} are held to be customers still"
            f"{', by the law of all in view' if row['of_all'] else ''}."
        )
    return told
