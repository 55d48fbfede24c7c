"""What share of faults the odometer's judgement finds and names, on real and on unsteady histories.

The floors are what was measured (docs/odometer.md) less a small margin. Constants were tuned on the
first half of the buses alone; the figures are those of the other half.
"""

from collections.abc import Sequence
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest

from garage.records.odometers.judging import history_judge
from garage.records.odometers.readings import History, Judgement, Reading
from tests.records.odometers.buses import bus_histories_read
from tests.records.odometers.corruption import KINDS, Measured, measure

SEED = 20_261_125
BUS_ROUNDS = 4
INVENTED_VEHICLES = 100


def judge(readings: Sequence[Reading]) -> list[Judgement]:
    return history_judge(History(readings))


@pytest.fixture(scope="module")
def bus_histories(shared: Path) -> list[list[Reading]]:
    return bus_histories_read(shared)


@pytest.fixture(scope="module")
def kept(bus_histories: list[list[Reading]]) -> Measured:
    """The half of the buses on which nothing was tuned."""
    return measure(bus_histories[1::2], judge, BUS_ROUNDS, np.random.default_rng(SEED))


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


def test_no_reading_of_the_real_histories_is_doubted(bus_histories: list[list[Reading]]) -> None:
    judgements = [each for history in bus_histories for each in judge(history)]
    assert len(judgements) == 15_964
    assert [each for each in judgements if each.doubt is not None] == []


#: Found, and of those under the right name.
FLOORS = {
    "unit": (0.92, 0.92),
    "dropped digit": (0.96, 0.86),
    "added digit": (0.96, 0.86),
    "swapped digits": (0.86, 0.80),
    "mistyped digit": (0.90, 0.64),
    "tenths": (0.96, 0.84),
    "wrong date": (0.87, 0.79),
    "set back": (0.97, 0.77),
    "instrument replaced": (0.96, 0.88),
}


@pytest.mark.slow
def test_faults_in_the_kept_half_of_real_histories_are_found_and_named(kept: Measured) -> None:
    assert kept.whole.with_trace >= 1_500
    assert kept.whole.share_found >= 0.95
    assert kept.whole.share_good_doubted <= 0.004
    assert kept.whole.share_named >= 0.85
    # A pair leaves the question to a person: it must stay the exception.
    assert kept.whole.share_in_pair <= 0.16
    assert set(FLOORS) == set(KINDS)
    for kind, (found_floor, named_floor) in FLOORS.items():
        assert kept.by_kind[kind].with_trace >= 55, kind
        assert kept.by_kind[kind].share_found >= found_floor, kind
        assert kept.by_kind[kind].share_named >= named_floor, kind


@pytest.mark.slow
def test_few_readings_are_enough_to_find_a_fault_and_more_to_name_it(kept: Measured) -> None:
    few = [kept.by_length[count] for count in (2, 3)]
    many = [kept.by_length[count] for count in range(4, 16)]
    assert min(tally.share_found for tally in (*few, *many)) >= 0.9
    assert min(tally.share_named for tally in many) >= 0.75
    assert max(tally.share_in_pair for tally in many) < min(tally.share_in_pair for tally in few)


@pytest.mark.slow
def test_faults_in_unsteady_histories_are_found() -> None:
    rng = np.random.default_rng(SEED)
    found = measure(unsteady_histories(rng), judge, 1, rng)
    assert found.whole.share_found >= 0.9
    assert found.whole.share_good_doubted <= 0.02
