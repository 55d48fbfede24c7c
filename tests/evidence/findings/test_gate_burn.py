"""The gate of the burn: each stop alone, and soot within its limit."""

from dataclasses import replace

import pytest

from garage.evidence.findings.gate import Way
from garage.evidence.findings.gate_burn import soot_limit_g
from garage.evidence.findings.gates import gates_of
from garage.evidence.findings.situation import Situation
from tests.evidence.findings.ready import READY, with_


@pytest.mark.parametrize(
    ("change", "way"),
    [
        ({"oil_above_max": True}, Way.SHUT),
        ({"oil_above_max": None}, Way.UNKNOWN),
        ({"hot_work_area_ready": False}, Way.SHUT),
        ({"hot_work_area_ready": None}, Way.UNKNOWN),
        ({"conditions_met": False}, Way.SHUT),
        ({"conditions_met": None}, Way.UNKNOWN),
        ({"soot_g": None}, Way.UNKNOWN),
        ({"soot_g": 15.1}, Way.SHUT),
        ({"litres": None}, Way.SHUT),
    ],
)
def test_burn_one_fault_stops_it(change: dict[str, object], way: Way) -> None:
    """Fails if a burn is allowed with one thing wrong or not known."""
    told = gates_of(replace(READY, **change))  # type: ignore[arg-type]
    assert told.gate("burn").way is way
    assert told.gate("burn").opens
    assert "burn" not in told.may


def test_oil_above_maximum_does_not_stop_cold_removal() -> None:
    """Fails if the oil level keeps a filter with too much soot from being taken off and cleaned."""
    told = gates_of(replace(READY, oil_above_max=True, soot_g=20.0))
    assert told.cold_removal
    assert told.may == ("clean",)


def test_oil_above_maximum_is_taken_from_the_finding() -> None:
    """Fails if the dipstick's finding is not heard where the box was left "no"."""
    assert gates_of(with_(READY, oil_level="above_maximum")).gate("burn").way is Way.SHUT


def test_soot_limit_rule() -> None:
    """Fails unless 5 g/L unknown, 8 g/L silicon carbide, own limit first, none without litres."""
    assert soot_limit_g(Situation(litres=3.0))[0] == 15.0
    assert soot_limit_g(Situation(litres=3.0, silicon_carbide=False))[0] == 15.0
    assert soot_limit_g(Situation(litres=3.0, silicon_carbide=True))[0] == 24.0
    assert soot_limit_g(Situation(litres=3.0, silicon_carbide=True, own_limit_g=18.0))[0] == 18.0
    assert soot_limit_g(Situation())[0] is None


def test_soot_at_the_limit_may_burn_and_above_may_not() -> None:
    """Fails if the edge of the limit moved: 15 g in 3 L is within."""
    assert gates_of(replace(READY, soot_g=15.0)).may == ("burn",)
    assert gates_of(replace(READY, soot_g=15.01)).may == ("clean",)


@pytest.mark.parametrize("fault", [{"soot_fall": "without_heat"}, {"new_part_reset": "not_reset"}])
def test_burn_soot_figure_that_was_set_back_is_not_trusted(fault: dict[str, str]) -> None:
    """Fails if a burn is allowed on a soot figure that says nothing of the soot."""
    gate = gates_of(with_(READY, **fault)).gate("burn")
    assert (gate.way, gate.checks) == (Way.UNKNOWN, ("off_car_flow",))


@pytest.mark.parametrize("off", ["heavy", "as_new", "free"])
def test_burn_gate_is_moved_by_the_weight_it_asks_for(off: str) -> None:
    """Fails if the filter is weighed as asked and the gate asks again."""
    gate = gates_of(with_(READY, soot_fall="without_heat", off_car_flow=off)).gate("burn")
    assert (gate.way, gate.checks) == (Way.SHUT, ())


@pytest.mark.parametrize(
    ("soot", "pressure", "more", "checks"),
    [
        ("low", "high", {}, ("soot_fall",)),
        ("in_range", "high", {}, ()),
        ("low", "upper", {}, ()),
        ("low", "high", {"soot_fall": "burned"}, ()),
        ("low", "high", {"proven_burn": "unchanged"}, ()),
    ],
)
def test_burn_waits_where_little_soot_is_reckoned_and_pressure_is_high(
    soot: str, pressure: str, more: dict[str, str], checks: tuple[str, ...]
) -> None:
    """Fails if a burn is allowed on a soot figure that may have been set back."""
    gate = gates_of(with_(READY, modelled_soot=soot, raised_pressure=pressure, **more)).gate("burn")
    assert (gate.is_open, gate.checks) == (not checks, checks)
