"""The gates: each shut by one fault at a time, and what lies behind a shut one not reached."""

import json
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from garage.evidence.findings.gate import Way
from garage.evidence.findings.gate_burn import soot_limit_g
from garage.evidence.findings.gates import gates_of, offers_of
from garage.evidence.findings.situation import Situation
from garage.evidence.findings.vocabulary import vocabulary
from garage.evidence.findings.weighed import as_plain
from tests.evidence.findings.ready import CODES, IN_ORDER, READY, with_

ORDER = ["safety", "sensing", "cause", "burn", "clean", "replace", "clear"]


def test_ready_vehicle_may_burn() -> None:
    """Fails if the set-up that every refusal below varies is itself refused."""
    told = gates_of(READY)
    assert [gate.key for gate in told.gates] == ORDER
    assert told.may == ("burn",)
    assert told.gate("clean").checks == ("proven_burn",)
    assert told.procedures[0] == "burn"


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"leaks": ("fuel",)}, "fuel"),
        ({"shell_cracked": True}, "shell"),
        ({"filter_absent": True}, "no filter"),
    ],
)
def test_safety_one_fault_shuts_everything_behind(change: dict[str, object], said: str) -> None:
    """Fails if a leak, crack or missing filter lets anything behind it be reached."""
    told = gates_of(replace(READY, **change))  # type: ignore[arg-type]
    assert told.gate("safety").way is Way.SHUT
    assert said in told.gate("safety").reason
    assert {gate.way for gate in told.gates[1:]} == {Way.NOT_REACHED}
    assert told.may == ()


@pytest.mark.parametrize("name", ["leaks", "shell_cracked"])
def test_safety_not_looked_at_is_unknown(name: str) -> None:
    """Fails if "not looked at" passes for "none"."""
    told = gates_of(replace(READY, **{name: None}))  # type: ignore[arg-type]
    assert told.gate("safety").way is Way.UNKNOWN
    assert told.may == ()


def test_filter_found_absent_carries_the_legal_notice_and_no_accusation() -> None:
    """Fails if an absent filter is passed over, or somebody is blamed for it."""
    told = gates_of(with_(READY, filter_looked_at="absent"))
    assert told.gate("safety").way is Way.SHUT
    assert "may not be used on the road" in told.notices[0]
    assert "says nothing of who" in told.notices[0]
    assert gates_of(READY).notices == ()


@pytest.mark.parametrize(
    "fault",
    [
        {"zero": "large"},
        {"hoses": "off"},
        {"response": "stuck"},
        {"sensor_check": "offset"},
        {"raised_pressure": "negative"},
        {"unit_check": "mistaken"},
    ],
)
def test_sensing_one_fault_lets_no_filter_decision(fault: dict[str, str]) -> None:
    """Fails if the filter is decided on through sensing that is at fault."""
    told = gates_of(with_(READY, **fault))
    assert told.gate("sensing").way is Way.SHUT
    assert told.gate("cause").way is Way.NOT_REACHED
    assert told.may == ()


@pytest.mark.parametrize("missing", ["zero", "hoses", "response"])
def test_sensing_not_checked_is_unknown_until(missing: str) -> None:
    """Fails if a check that was not done counts as passed."""
    found = {k: s for k, s in IN_ORDER.items() if k != missing}
    gate = gates_of(replace(READY, findings=found)).gate("sensing")
    assert (gate.way, gate.checks) == (Way.UNKNOWN, (missing,))


@pytest.mark.parametrize(
    ("seen", "way"),
    [
        ({"family_compare": "alike"}, Way.OPEN),
        ({"family_compare": "differs_threefold"}, Way.UNKNOWN),
        ({"family_compare": "differs_threefold", "unit_check": "as_written"}, Way.OPEN),
    ],
)
def test_sensing_waits_for_the_unit_where_the_family_reads_another_thing(
    seen: dict[str, str], way: Way
) -> None:
    """Fails if a filter is decided on in a unit that the family says is likely mistaken."""
    assert gates_of(with_(READY, **seen)).gate("sensing").way is way


@pytest.mark.parametrize("fault", [{code: "present"} for code in CODES])
def test_cause_open_code_comes_first(fault: dict[str, str]) -> None:
    """Fails if a filter is worked on while a code of the engine is open; fixed, it opens."""
    at = with_(READY, **fault)
    assert gates_of(at).gate("cause").way is Way.SHUT
    assert gates_of(replace(at, cause_fixed=True)).may == ("burn",)


@pytest.mark.parametrize(
    "fault", [{"injector_return": "over"}, {"warm_up": "slow"}, {"boost_leak": "leaks"}]
)
def test_cause_found_without_code_comes_first(fault: dict[str, str]) -> None:
    """Fails if only codes count as a cause."""
    assert gates_of(with_(READY, **fault)).gate("cause").way is Way.SHUT


def test_cause_codes_not_read_is_unknown() -> None:
    """Fails if codes that were not read count as none."""
    found = {k: s for k, s in IN_ORDER.items() if k != "codes_fuel"}
    gate = gates_of(replace(READY, findings=found)).gate("cause")
    assert (gate.way, gate.checks) == (Way.UNKNOWN, ("codes_fuel",))


def test_replace_only_after_cleaning_or_damage() -> None:
    """Fails if a filter is replaced that a cleaning may save, or damage is left in."""
    high = replace(READY, post_burn_mbar=60.0, family_90th_mbar=40.0)
    assert gates_of(high).gate("replace").way is Way.SHUT
    assert "replace" in gates_of(replace(high, cleaned=True)).may
    low = replace(high, cleaned=True, post_burn_mbar=30.0)
    assert gates_of(low).gate("replace").way is Way.SHUT
    assert gates_of(with_(READY, filter_looked_at="damaged")).may == ("replace",)
    assert "replace" in gates_of(replace(READY, particles_over_limit=True)).may


def test_replace_count_against_clean_pipe_is_counted_again() -> None:
    """Fails if a count that contradicts a clean tailpipe replaces a filter at once."""
    at = with_(READY, particle_count="over_limit", tailpipe="clean")
    gate = gates_of(at).gate("replace")
    assert (gate.way, gate.checks) == (Way.UNKNOWN, ("particle_recheck",))
    assert "replace" in gates_of(with_(at, particle_recheck="over_limit")).may
    low = gates_of(with_(at, particle_recheck="low")).gate("replace")
    assert (low.way, low.checks) == (Way.NOT_REACHED, ("proven_burn",))


@pytest.mark.parametrize(("seen", "way"), [({}, Way.UNKNOWN), ({"tailpipe": "black"}, Way.OPEN)])
def test_replace_count_waits_for_a_look_into_the_tailpipe(seen: dict[str, str], way: Way) -> None:
    """Fails if a tailpipe that nobody looked at counts as one that agrees."""
    assert gates_of(with_(READY, particle_count="over_limit", **seen)).gate("replace").way is way


def test_replace_filter_freer_than_new_is_looked_into() -> None:
    """Fails if a filter that lets too much through is told as not reached."""
    gate = gates_of(with_(READY, off_car_flow="free")).gate("replace")
    assert (gate.way, gate.checks) == (Way.UNKNOWN, ("filter_looked_at",))


@pytest.mark.parametrize(
    ("off", "way"), [(None, Way.UNKNOWN), ("heavy", Way.OPEN), ("as_new", Way.SHUT)]
)
def test_replace_after_cleaning_by_flow_where_the_family_is_not_known(
    off: str | None, way: Way
) -> None:
    """Fails if a cleaned filter of a family without readings can never be judged."""
    at = replace(READY, cleaned=True)
    at = at if off is None else with_(at, off_car_flow=off)
    assert gates_of(at).gate("replace").way is way


@pytest.mark.parametrize(
    ("repaired", "pressure", "way"),
    [
        (True, "low_or_normal", Way.OPEN),
        (False, "low_or_normal", Way.SHUT),
        (None, "low_or_normal", Way.UNKNOWN),
        (True, "high", Way.SHUT),
        (True, None, Way.UNKNOWN),
    ],
)
def test_clear_only_after_a_repair_with_usual_pressure(
    repaired: bool | None, pressure: str | None, way: Way
) -> None:
    """Fails if clearing alone is offered without a repair or with pressure not usual."""
    at = replace(READY, intermittent_repaired=repaired)
    if pressure is not None:
        at = with_(at, raised_pressure=pressure)
    told = gates_of(at)
    assert told.gate("clear").way is way
    assert any("never as a fix" in each for each in told.notices) is (way is Way.OPEN)


def test_offers_follow_the_gates() -> None:
    """Fails if a burn is offered behind a shut gate, or the engine run with a leak."""
    assert "proven_burn" in offers_of(READY, gates_of(READY))
    oil = replace(READY, oil_above_max=True)
    offered = offers_of(oil, gates_of(oil))
    assert "proven_burn" not in offered
    assert "refill" not in offered
    assert {"filter_looked_at", "idle_pressure"} <= offered
    leak = replace(READY, leaks=("coolant",))
    assert "idle_pressure" not in offers_of(leak, gates_of(leak))
    assert "filter_looked_at" in offers_of(leak, gates_of(leak))
    fuel = replace(READY, leaks=("fuel",))
    assert "filter_looked_at" not in offers_of(fuel, gates_of(fuel))


CHECKED = ["off_car_flow", "proven_burn", "particle_count", "particle_recheck", "new_part_reset"]
SEEN = {
    key: st.sampled_from([state for state, _ in vocabulary().finding(key).states])
    for key in (*CHECKED, "tailpipe", "filter_looked_at", "soot_fall", "raised_pressure")
}


@settings(max_examples=200, deadline=None)
@given(
    st.fixed_dictionaries({}, optional=SEEN),
    st.booleans(),
    st.sampled_from([None, 60.0]),
    st.sampled_from([None, 40.0]),
)
def test_gate_never_waits_for_a_check_that_is_done(
    seen: dict[str, str], cleaned: bool, after: float | None, family: float | None
) -> None:
    """Fails if what a gate says would tell has been told and changed nothing."""
    at = replace(with_(READY, **seen), cleaned=cleaned)
    told = gates_of(replace(at, post_burn_mbar=after, family_90th_mbar=family))
    for gate in told.gates:
        assert not set(gate.checks) & set(at.findings), gate


maybe = st.sampled_from([True, False, None])
grams = st.one_of(st.none(), st.floats(0, 60))


@settings(max_examples=200, deadline=None)
@given(st.builds(
    Situation,
    findings=st.sampled_from([IN_ORDER, {}, {**IN_ORDER, "codes_air": "present"}]),
    leaks=st.sampled_from([None, (), ("fuel",)]),
    oil_above_max=maybe,
    shell_cracked=maybe,
    filter_absent=maybe,
    hot_work_area_ready=maybe,
    soot_g=grams,
    litres=st.one_of(st.none(), st.floats(1, 10)),
    conditions_met=maybe,
    cause_fixed=maybe,
    cleaned=st.booleans(),
))  # fmt: skip
def test_gates_hold_for_any_situation(at: Situation) -> None:
    """Fails if anything opens behind a gate that is not, or a burn with any stop standing."""
    told = gates_of(at)
    first = next((n for n, gate in enumerate(told.gates[:3]) if not gate.is_open), None)
    if first is not None:
        assert {gate.way for gate in told.gates[first + 1 :]} == {Way.NOT_REACHED}
    for gate in told.gates:
        assert gate.reason
        assert gate.checks or gate.way is not Way.UNKNOWN
        assert gate.is_open or gate.opens or gate.checks
    if "burn" in told.may:
        assert at.oil is False
        assert at.leaks == ()
        assert at.hot_work_area_ready is True
        assert at.soot_g is not None
        limit = soot_limit_g(at)[0]
        assert limit is not None
        assert at.soot_g <= limit
    json.dumps(as_plain(told), allow_nan=False)


@pytest.mark.parametrize("found", [{"luck": "good"}, {"zero": "good"}])
def test_situation_with_a_finding_not_known_is_refused(found: dict[str, str]) -> None:
    """Fails if a misspelt finding leaves a gate open that it would shut."""
    with pytest.raises(ValueError, match="got"):
        Situation(findings=found)


@pytest.mark.parametrize(
    "wrong", [{"soot_g": -1.0}, {"litres": 0.0}, {"soot_g": float("nan")}, {"own_limit_g": -2.0}]
)
def test_situation_that_cannot_be_is_refused(wrong: dict[str, float]) -> None:
    """Fails if a number that cannot be passes for a measurement."""
    with pytest.raises(ValueError, match="got"):
        Situation(**wrong)  # type: ignore[arg-type]
