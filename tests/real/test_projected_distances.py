"""Projected distances held to published odometers: the first half of each bus, then its last."""

from pathlib import Path

import numpy as np
import pytest

from garage.lifetimes.usage.annual_distance import annual_distance
from garage.lifetimes.usage.projection import project_distance
from garage.lifetimes.usage.yearly_change import YearlyChange, judged_change, yearly_change
from tests.real.bus_engines import read_rows

KM_A_MILE = 1.609344
MONTHS = 12


class Halves:
    """Each bus's readings to the middle of its time, and how far it went from there to its end."""

    def __init__(self, data: Path) -> None:
        groups = {row["bus_id"]: row["group"] for row in read_rows(data / "buses.csv")}
        readings: dict[str, list[tuple[float, float]]] = {}
        for row in read_rows(data / "readings.csv"):
            year, month = row["month"].split("-")
            at = int(year) + (int(month) - 1) / MONTHS
            km = float(row["odometer_miles"]) * KM_A_MILE
            readings.setdefault(row["bus_id"], []).append((at, km))
        first: list[tuple[str, float, float]] = []
        spans = []
        # Four buses have no group.
        self.group = [groups[bus] for bus in readings if groups[bus]]
        for bus, read in readings.items():
            if not groups[bus]:
                continue
            middle = (read[0][0] + read[-1][0]) / 2
            known = [each for each in read if each[0] <= middle]
            first += [(bus, *each) for each in known]
            ends = (*known[0], *known[-1], *read[-1])
            spans.append(
                (ends[2] - ends[0], ends[3] - ends[1], ends[4] - ends[2], ends[5] - ends[3])
            )
        self.known = [np.array(each) for each in zip(*first, strict=True)]
        self.watched_years, self.watched_km, self.years, self.km = np.array(spans).T

    def held(self, change: YearlyChange) -> np.ndarray:
        annual = annual_distance(
            self.watched_km, self.watched_years, self.group, year_log_sd=change.year_log_sd
        )
        found = project_distance(annual, self.years, self.watched_years, change)
        return (found.lower <= self.km) & (self.km <= found.upper)


@pytest.fixture
def halves(shared: Path) -> Halves:
    return Halves(shared / "data" / "bus-engines")


def test_change_told_from_the_first_half_holds_the_second(halves: Halves) -> None:
    """162 buses over 1 to 5 years: the 95 % limits hold all; 4 years on average.

    They are wider than need be: steady changes differ between the groups of buses, and count as
    differing between buses.
    """
    change = yearly_change(*halves.known)
    assert (change.n, change.intervals) == (147, 542)
    assert change.drift == pytest.approx(-0.05, abs=0.002)
    assert change.year_log_sd == pytest.approx(0.278, abs=0.001)
    assert halves.held(change).mean() >= 0.95


def test_change_that_is_only_judged_does_not_hold_buses_that_go_less_each_year(
    halves: Halves,
) -> None:
    assert int(halves.held(judged_change()).sum()) == 76
