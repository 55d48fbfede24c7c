"""Everything the page of a vehicle's odometer shows, gathered."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from garage.pages.history_rows import ReadingTold, reading_told
from garage.pages.words import kilometres, percent
from garage.records.choices import Doubt
from garage.records.models import ClusterReplacement, OdometerReading, ReadingResolution, Vehicle
from garage.records.odometers.distances import (
    AnnualFigure,
    Distance,
    annual_figure,
    distance_on,
    known_make,
    usage_of,
)

#: Explanations less likely than this are left out of the page. Judgement.
LEAST_SHOWN = 0.02


@dataclass(frozen=True)
class Mend:
    """One explanation of a reading in doubt, with what one tap would keep; `resolved_as` is empty
    where a replaced instrument is to be recorded instead."""

    words: str
    likelihood: str
    resolved_as: str
    typed: str
    unit: str
    read_on: str


@dataclass(frozen=True)
class LedgerRow:
    told: ReadingTold
    remark: str
    mends: tuple[Mend, ...]
    resolution: ReadingResolution | None


@dataclass(frozen=True)
class OdometerSheet:
    """`annual` and `on` are None where no reading stands, or no day was asked for."""

    vehicle: Vehicle
    rows: tuple[LedgerRow, ...]
    clusters: tuple[ClusterReplacement, ...]
    annual: AnnualFigure | None
    on: Distance | None

    @property
    def unresolved(self) -> int:
        return sum(bool(row.told.doubt) and row.resolution is None for row in self.rows)


def odometer_sheet(*, vehicle: Vehicle, asked_on: date | None) -> OdometerSheet:
    """The ledger of a vehicle that the reader may see (`access_vehicle`)."""
    readings = list(vehicle.readings.order_by("read_on", "km", "pk"))
    resolutions = {
        each.reading_id: each
        for each in ReadingResolution.objects.filter(
            reading__vehicle=vehicle, withdrawn_at__isnull=True
        )
    }
    standing = [(each.read_on, each.km) for each in readings if not each.doubt]
    known = known_make(standing, vehicle.first_used_on)
    annual = on = None
    if standing:
        usage = usage_of([known], ["all"])
        annual = annual_figure(usage, 0, known)
        on = None if asked_on is None else distance_on(known, asked_on, usage, 0)
    return OdometerSheet(
        vehicle=vehicle,
        rows=tuple(_row(each, resolutions.get(each.pk)) for each in readings),
        clusters=tuple(vehicle.cluster_replacements.order_by("done_on")),
        annual=annual,
        on=on,
    )


def _row(reading: OdometerReading, resolution: ReadingResolution | None) -> LedgerRow:
    mends = (
        [_mend(each) for each in reading.explanations if each["weight"] >= LEAST_SHOWN]
        if reading.doubt and resolution is None
        else []
    )
    return LedgerRow(
        told=reading_told(reading),
        remark=reading.get_remark_display() if reading.remark else "",
        mends=tuple(mends),
        resolution=resolution,
    )


def _mend(explanation: dict[str, Any]) -> Mend:
    typed, read_on = explanation["typed"], explanation["read_on"]
    mended = typed is not None or read_on is not None
    if explanation["kind"] == "as_read":
        resolved_as = "stands"
    elif explanation["kind"] == Doubt.CLUSTER_REPLACED:
        # No reading is wrong then: what is missing is the replacement.
        resolved_as = ""
    else:
        resolved_as = "mended" if mended else "set_aside"
    return Mend(
        words=explanation["words"],
        likelihood=percent(explanation["weight"]),
        resolved_as=resolved_as,
        typed="" if typed is None else str(typed),
        unit="" if typed is None else explanation["unit"],
        read_on=read_on or "",
    )


def distance_told(on: Distance) -> str:
    """A distance on a day with its limits, or why it cannot be said."""
    if on.km is None or on.lower is None or on.upper is None:
        return on.reason
    if on.lower == on.upper:
        return f"{kilometres(on.km)}, as read"
    return f"{kilometres(on.km)} ({kilometres(on.lower)} to {kilometres(on.upper)})"


def annual_told(annual: AnnualFigure) -> str:
    """A year's distance with its limits."""
    return (
        f"{kilometres(round(annual.km_per_year, -2))} a year "
        f"({kilometres(round(annual.lower, -2))} to {kilometres(round(annual.upper, -2))})"
    )
