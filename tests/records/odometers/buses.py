"""Monthly odometer readings of 166 city buses (Rust, Econometrica 55(5), 1987), in km."""

import csv
from collections import defaultdict
from datetime import date
from decimal import Decimal
from pathlib import Path

from garage.records.distance import to_km
from garage.records.odometers.readings import Reading


def bus_histories_read(shared: Path) -> list[list[Reading]]:
    """Each bus's readings in their order.

    Months have no days there: each bus is read on a day of the month of its own.
    """
    histories: dict[str, list[Reading]] = defaultdict(list)
    path = shared / "data" / "bus-engines" / "readings.csv"
    with path.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            day = 1 + int(row["bus_id"]) % 28
            read_on = date.fromisoformat(f"{row['month']}-{day:02}")
            km = to_km(Decimal(row["odometer_miles"]), "mi")
            histories[row["bus_id"]].append(Reading(read_on, km))
    return list(histories.values())
