"""What share of slips the odometer check finds, on real histories and on unsteady invented ones.

The floors are what was measured (docs/odometer.md) less a small margin.
"""

import csv
from collections import defaultdict
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest

from garage.records.distance import to_km
from garage.records.odometer import Reading, readings_judge
from tests.records.slips import KINDS, Tally, tallies

SEED = 20_261_125
THIN_TO = 8
#: Rounds over the 166 buses: enough slips of each kind for a standard error of 1 %.
BUS_ROUNDS = 5
INVENTED_VEHICLES = 1_000


@pytest.fixture(scope="module")
def bus_histories(shared: Path) -> list[list[Reading]]:
    """Monthly readings of 166 city buses (Rust, Econometrica 55(5), 1987), mid-month, in km."""
    histories: dict[str, list[Reading]] = defaultdict(list)
    path = shared / "data" / "bus-engines" / "readings.csv"
    with path.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            read_on = date.fromisoformat(row["month"] + "-15")
            km = to_km(Decimal(row["odometer_miles"]), "mi")
            histories[row["bus_id"]].append(Reading(read_on, km))
    return list(histories.values())


def unsteady_histories(rng: np.random.Generator) -> list[list[Reading]]:
    """Vehicles of unequal use, whose pace changes from each reading to the next."""
    histories = []
    for _ in range(INVENTED_VEHICLES):
        own_pace_km_per_day = rng.gamma(4, 45 / 4)
        read_on, km, history = date(2015, 1, 1), 0, []
        for _ in range(30):
            days = int(rng.exponential(180)) + 1
            read_on += timedelta(days=days)
            km += int(own_pace_km_per_day * rng.gamma(2, 0.5) * days)
            history.append(Reading(read_on, km))
        histories.append(history)
    return histories


def overall(counts: dict[str, Tally]) -> tuple[float, float]:
    """The share of slips with a trace that are found, and good readings doubted per slip."""
    with_trace = sum(tally.with_trace for tally in counts.values())
    found = sum(tally.found for tally in counts.values())
    good_doubted = sum(tally.good_doubted for tally in counts.values())
    return found / with_trace, good_doubted / with_trace


def test_no_reading_of_the_real_histories_is_doubted(bus_histories: list[list[Reading]]) -> None:
    judgements = [each for history in bus_histories for each in readings_judge(history)]
    assert len(judgements) == 15_964
    assert [each for each in judgements if each.doubt is not None] == []


def test_slips_in_real_histories_are_found(bus_histories: list[list[Reading]]) -> None:
    counts = tallies(bus_histories * BUS_ROUNDS, thin_to=THIN_TO, rng=np.random.default_rng(SEED))
    found, good_doubted = overall(counts)
    assert found >= 0.98
    assert good_doubted <= 0.02
    floors = {  # found, and of those under the right name
        "miles_as_km": (0.98, 0.91),
        "km_as_miles": (0.96, 0.90),
        "dropped_digit": (0.99, 0.96),
        "swapped_digits": (0.94, 0.92),
        "times_ten": (0.99, 0.99),
        "clocked": (0.96, 0.55),
    }
    assert set(floors) == set(KINDS)
    for kind, (found_floor, named_floor) in floors.items():
        assert counts[kind].with_trace >= 200
        assert counts[kind].share_found >= found_floor, kind
        assert counts[kind].share_named >= named_floor, kind
        # Without a contradiction nothing is doubted, neither the slip nor a good reading.
        assert counts[kind].doubted_without_trace == 0


def test_slips_in_unsteady_histories_are_found() -> None:
    rng = np.random.default_rng(SEED)
    counts = tallies(unsteady_histories(rng), thin_to=THIN_TO, rng=rng)
    found, good_doubted = overall(counts)
    assert found >= 0.96
    assert good_doubted <= 0.04
    for kind in KINDS:
        assert counts[kind].with_trace >= 200
        assert counts[kind].share_found >= 0.87, kind
        assert counts[kind].doubted_without_trace == 0
