"""Real histories through the real import: published replacement tables and a delayed-entry fit.

The register keeps whole km, the source whole miles. Converting an odometer moves it by up to half a
km, a life by up to 1 km: 0.62 miles.

Its rules make the same lives as the source: the engine a bus was met with enters at the first
reading, later ones at 0. They are of different origins in the register (factory, reconditioned), so
where the source takes both together, their risk tables are added here.
"""

import json
import math
import statistics
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from garage.lifetimes.curves.product_limit import product_limit
from garage.lifetimes.laws.weibull_fit import weibull_fit
from garage.lifetimes.risk_table import LivesArrays, RiskTable
from garage.lifetimes.status import Status
from garage.outcomes.choices import LifeClass
from garage.outcomes.lives import Life, lives_follow
from garage.outcomes.part_life import GroupLife
from garage.outcomes.read_facts import facts_read
from garage.outcomes.report import Report
from garage.outcomes.usage import Odometers
from garage.records.models import Fitment, OdometerReading, Vehicle
from tests.real.bus_engines import read_rows
from tests.real.conftest import BusImport

KM_A_MILE = 1.609344  # international mile, exact
SLACK_KM = 50.0  # a later reading may be lower by this much: rounding, notes before a drive
MILES = 1.0  # tolerance of a life: see above


def _case(shared: Path, case_id: str) -> dict[str, Any]:
    cases = json.loads((shared / "checks" / "checks.json").read_text(encoding="utf-8"))
    (case,) = [each for each in cases["cases"] if each["id"] == case_id]
    found: dict[str, Any] = case
    return found


def _lives(report: Report) -> list[Life]:
    facts = facts_read(
        vehicles_in_view=Vehicle.objects.all(), part_kind=report.part_kind, as_of=report.as_of
    )
    return lives_follow(facts, Odometers(facts))


def _table(lives: Iterable[Life]) -> RiskTable:
    chosen = list(lives)
    return RiskTable.from_lives(
        LivesArrays(
            entry=[life.entry_km for life in chosen],
            exit=[life.seen_km for life in chosen],
            cause=np.array([life.failed for life in chosen], dtype=np.int64),
        ),
        unit="km",
    )


def _group(report: Report, family: str, origin: str) -> GroupLife:
    (group,) = [
        each
        for each in report.groups
        if (each.key.engine_family, each.key.origin, each.key.stratum)
        == (family, origin, "together")
    ]
    return group


def test_replacement_tables_equal_the_published_ones(bus_import: BusImport, shared: Path) -> None:
    lives = _lives(bus_import(False))
    compared = 0
    for expected in _case(shared, "RUST-01")["expected"]:
        name = expected["name"]
        if not name.startswith("group"):
            continue
        family = f"bus {name.split(':')[0]}"
        miles = [
            life.seen_km / KM_A_MILE for life in lives if life.family == family and life.failed
        ]
        found = [statistics.mean(miles), statistics.stdev(miles), min(miles), max(miles)]
        # Published in J. Rust (1987), table IIa, cut to whole miles.
        assert len(miles) == expected["published"][0]
        assert found == pytest.approx(expected["value"][1:], abs=MILES)
        assert found == pytest.approx(expected["published"][1:], abs=MILES + 1.0)
        compared += 1
    assert compared == 6


def test_all_replacements_are_there_and_the_account_closes(bus_import: BusImport) -> None:
    report = bus_import(False)
    assert report.account.closes
    assert report.vehicles == 162
    assert Fitment.objects.count() == 162 + 124
    # One bus's engine was replaced in the month of its last reading.
    assert report.account.classes[LifeClass.USED] >= 285
    lives = _lives(report)
    assert sum(life.failed for life in lives) == 124
    assert report.captures[0].failures.value == 1.0
    miles = [life.seen_km / KM_A_MILE for life in lives if life.failed]
    assert statistics.mean(miles) == pytest.approx(216_354, abs=MILES)
    assert statistics.stdev(miles) == pytest.approx(60_475, abs=MILES)


@pytest.mark.parametrize("group", [4, 7, 8])
def test_weibull_law_with_delayed_entry_equals_the_check_value(
    bus_import: BusImport, shared: Path, group: int
) -> None:
    lives = [life for life in _lives(bus_import(False)) if life.family == f"bus group {group}"]
    first = _table(life for life in lives if life.origin == "factory")
    later = _table(life for life in lives if life.origin == "reconditioned")
    fit = weibull_fit(first + later)
    expected = {each["name"]: each["value"] for each in _case(shared, "WB-14")["expected"]}
    shape, scale_thousand_miles, log_likelihood = expected[f"group {group}: beta, eta, loglik"]
    assert fit.shape is not None
    assert fit.scale is not None
    assert fit.log_likelihood is not None
    # A life moved by up to 1 km in some 300 000 moves the parameters by parts in 100 000.
    assert fit.shape.value == pytest.approx(shape, abs=0.001)
    assert fit.scale.value / KM_A_MILE / 1000 == pytest.approx(scale_thousand_miles, abs=0.01)
    # The density of a life in thousand miles is that in km times 1609.344.
    in_thousand_miles = fit.log_likelihood + fit.failed * math.log(1000 * KM_A_MILE)
    assert in_thousand_miles == pytest.approx(log_likelihood, abs=0.01)
    tenth = fit.quantile(0.1)
    assert tenth is not None
    assert [each / KM_A_MILE / 1000 for each in (tenth.value, tenth.lower, tenth.upper)] == (
        pytest.approx(expected[f"group {group}: B10 and 95% likelihood ratio limits"], abs=0.01)
    )


@pytest.mark.parametrize("group", [7, 8])
def test_ignoring_late_entry_gives_the_known_wrong_answer(
    bus_import: BusImport, shared: Path, group: int
) -> None:
    lives = [life for life in _lives(bus_import(False)) if life.family == f"bus group {group}"]
    fit = weibull_fit(
        RiskTable.from_lives(
            LivesArrays(
                entry=[0] * len(lives),
                exit=[life.seen_km for life in lives],
                cause=np.array([life.failed for life in lives], dtype=np.int64),
            ),
            unit="km",
        )
    )
    expected = {each["name"]: each["value"] for each in _case(shared, "WB-14")["expected"]}
    wrong = expected[f"group {group} IGNORING truncation (wrong answer): beta, eta"]
    assert fit.shape is not None
    assert fit.scale is not None
    assert [fit.shape.value, fit.scale.value / KM_A_MILE / 1000] == pytest.approx(wrong, abs=0.01)


def test_a_median_from_five_buses_is_marked(bus_import: BusImport) -> None:
    report = bus_import(False)
    first_engines = [
        life for life in _lives(report) if life.family == "bus group 8" and life.origin == "factory"
    ]
    curve = product_limit(_table(first_engines))
    assert int(curve.at_risk[0]) == 5
    assert curve.median.status is Status.SMALL_RISK_SET
    for summary in _group(report, "bus group 8", "factory").curves:
        assert summary.median_km.status != Status.OK or summary.given_survival_to_km is not None
    assert _group(report, "bus group 4", "factory").curves[0].median_km.status == Status.OK


def test_all_readings_leave_contradicting_replacements_in_doubt(
    bus_import: BusImport, shared: Path
) -> None:
    report = bus_import(True)
    readings = OdometerReading.objects.filter(job=None)
    replacements = OdometerReading.objects.filter(job__ref__contains="-engine-")
    doubted = set(replacements.exclude(doubt="").values_list("job__ref", flat=True))
    outside = _outside_of_their_months(shared / "data" / "bus-engines")
    # Measured: 59 of 124 replacements, 13 of 15 568 readings. Where one of each contradicts the
    # other alone, either may be the one set aside, or both as one of several.
    assert len(doubted - outside) == 0
    assert len(doubted) == 59
    assert len(outside) - len(doubted) <= readings.exclude(doubt="").count() == 13
    # An engine whose fitting is in doubt has no life; one whose removal is, is withdrawn.
    assert report.account.closes
    classes, endings = report.account.classes, report.account.endings
    assert classes[LifeClass.ODOMETER_IN_DOUBT] == len(doubted)
    assert endings["removal_km_not_known"] + endings["failed"] == 124 - _used_up(report)


def _used_up(report: Report) -> int:
    """Removals of engines that have no life, for their own fitting is in doubt."""
    return sum(
        life.life_class is not LifeClass.USED and life.ending != "still_in_place"
        for life in _lives(report)
    )


def _outside_of_their_months(data: Path) -> set[str]:
    """Replacements lower than their month's reading or higher than the next month's, by 50 km.

    Counted from the source files: a replacement stands in the middle of its month, readings on
    the first.
    """
    readings: dict[str, list[tuple[str, float]]] = {}
    for row in read_rows(data / "readings.csv"):
        pair = row["month"], float(row["odometer_miles"]) * KM_A_MILE
        readings.setdefault(row["bus_id"], []).append(pair)
    outside = set()
    for row in read_rows(data / "replacements.csv"):
        bus, at_km = row["bus_id"], float(row["odometer_miles"]) * KM_A_MILE
        before = [km for month, km in readings[bus] if month <= row["month"]]
        after = [km for month, km in readings[bus] if month > row["month"]]
        if max(before) > at_km + SLACK_KM or (after and min(after) < at_km - SLACK_KM):
            outside.add(f"{bus}-engine-{row['replacement_no']}")
    return outside
