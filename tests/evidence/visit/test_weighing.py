"""What is said of one visit: what of it is used, and what the gates make of it."""

from dataclasses import replace

import pytest

from garage.evidence.findings.grade import Grade
from garage.evidence.findings.limits import DEFAULTS
from garage.evidence.findings.measured import Family
from garage.evidence.quantities.catalogue import quantities
from garage.evidence.thresholds import Override
from garage.evidence.visit.measured_of import PRESSURE, numbers_taken
from garage.evidence.visit.said import CodeSaid, ReadingSaid, VisitSaid
from garage.evidence.visit.weighing import visit_weigh


def pressure(value: float, condition: str, **more: object) -> ReadingSaid:
    return ReadingSaid(PRESSURE, f"{value:g} mbar", value, condition=condition, **more)  # type: ignore[arg-type]


def size(quantity: str, value: float) -> ReadingSaid:
    return ReadingSaid(quantity, f"{value:g}", value)


ZERO, IDLE = pressure(0.0, "engine_off"), pressure(4.8, "idle")
RAISED = pressure(30.0, "raised", speed_rpm=2800.0)


@pytest.mark.parametrize(
    ("key", "unit"),
    [
        (PRESSURE, "mbar"),
        ("soot_mass", "g"),
        ("soot_limit", "g"),
        ("filter_volume", "L"),
        ("distance_since_burn", "km"),
        ("burn_interval", "km"),
        ("particle_count", "1/cm3"),
        ("cold_temperature_spread", "°C"),
        ("warm_up_time", "min"),
        ("oil_level", "%"),
        ("coolant_temperature", "°C"),
    ],
)
def test_standard_unit_is_that_of_the_number_graded(key: str, unit: str) -> None:
    # Fails when the catalogue keeps a quantity in another unit than `Measured` takes.
    assert quantities()[key].unit.symbol == unit


def test_last_reading_of_a_thing_holds() -> None:
    said = VisitSaid(readings=(ZERO, IDLE, pressure(6.0, "idle")))
    assert numbers_taken(said).measured.idle_mbar == 6.0


def test_reading_without_a_standard_value_is_told_with_its_reason() -> None:
    odd = ReadingSaid("soot_mass", "12", None, "the display shows no unit")
    taken = numbers_taken(VisitSaid(readings=(odd,)))
    assert taken.measured.modelled_soot_g is None
    assert [(each.what, each.reason) for each in taken.unused] == [
        ("soot mass 12", "the display shows no unit")
    ]


def test_pressure_of_zero_is_a_reading() -> None:
    # Fails where 0 is taken for "not read".
    assert numbers_taken(VisitSaid(readings=(ZERO,))).measured.zero_mbar == 0.0


@pytest.mark.parametrize(("kind", "graded"), [("measured", True), ("", True), ("modelled", False)])
def test_pressure_that_the_vehicle_reckons_is_no_measured_one(kind: str, graded: bool) -> None:
    # Fails where a reckoned pressure is held against reckoned soot as if it had been measured.
    evidence = visit_weigh(VisitSaid(readings=(ZERO, replace(RAISED, kind=kind))))
    assert ("raised_pressure" in evidence.observed) is graded
    assert (evidence.unused == ()) is graded


def test_newer_size_that_cannot_be_leaves_the_size_not_known() -> None:
    good = size("filter_volume", 3.0)
    assert numbers_taken(VisitSaid(lasting=(good,))).measured.litres == 3.0
    bad = replace(good, standard_value=0.0)
    assert numbers_taken(VisitSaid(lasting=(good, bad))).measured.litres is None


@pytest.mark.parametrize(
    ("quantity", "value", "finding", "state"),
    [
        ("burn_interval", 90.0, "burn_interval", "short"),
        ("particle_count", 3e6, "particle_count", "very_high"),
        ("cold_temperature_spread", 40.0, "cold_temperatures", "differ"),
        ("warm_up_time", 30.0, "warm_up", "slow"),
        ("oil_level", 100.0, "oil_level", "within"),
        ("oil_level", 130.0, "oil_level", "above_maximum"),
    ],
)
def test_reading_becomes_its_finding(quantity: str, value: float, finding: str, state: str) -> None:
    assert visit_weigh(VisitSaid(readings=(size(quantity, value),))).observed[finding] == state


def test_oil_below_its_lower_mark_is_not_within_and_told() -> None:
    evidence = visit_weigh(VisitSaid(readings=(size("oil_level", -20.0),)))
    assert "oil_level" not in evidence.observed
    assert [each.finding for each in evidence.ungraded] == ["oil_level"]


@pytest.mark.parametrize("read", [IDLE, RAISED])
def test_zero_comes_first_where_a_pressure_was_read_without_it(read: ReadingSaid) -> None:
    weighed = visit_weigh(VisitSaid(readings=(read,))).weighed
    assert weighed.next_checks[0].finding == "zero"
    assert any("zero with the engine off is not read" in each for each in weighed.cannot_tell)
    nothing = visit_weigh(VisitSaid()).weighed
    assert nothing.next_checks[0].finding != "zero"


def test_short_distance_between_burns_speaks_for_ash_too() -> None:
    before = visit_weigh(VisitSaid()).weighed.filter.probability("ash_limited")
    short = visit_weigh(VisitSaid(readings=(size("burn_interval", 90.0),))).weighed.filter
    assert short.probability("ash_limited") > before


def test_coolant_counts_at_cruise_alone() -> None:
    cold = ReadingSaid("coolant_temperature", "60 °C", 60.0, condition="load")
    assert visit_weigh(VisitSaid(readings=(cold,))).observed["warm_up"] == "slow"
    idling = replace(cold, condition="idle")
    assert "warm_up" not in visit_weigh(VisitSaid(readings=(idling,))).observed


@pytest.mark.parametrize(
    ("status", "present"),
    [(None, True), (0x0F, True), (0x08, True), (0x50, False), (0x00, False)],
)
def test_code_stands_unless_its_status_says_otherwise(status: int | None, present: bool) -> None:
    evidence = visit_weigh(VisitSaid(codes=(CodeSaid("P2463", status),)))
    assert ("codes_loading" in evidence.observed) is present
    assert (evidence.unused == ()) is present


@pytest.mark.parametrize(("seen", "known"), [({}, False), ({"self_tests": "not_finished"}, False)])
def test_absent_group_is_known_only_where_own_tests_are_finished(
    seen: dict[str, str], known: bool
) -> None:
    codes = (CodeSaid("P2463"),)
    assert ("codes_air" in visit_weigh(VisitSaid(codes=codes, findings=seen)).observed) is known
    finished = VisitSaid(codes=codes, findings={"self_tests": "finished"})
    assert visit_weigh(finished).observed["codes_air"] == "absent"


def test_no_codes_written_is_not_none_stored() -> None:
    evidence = visit_weigh(VisitSaid(findings={"self_tests": "finished"}))
    assert "codes_air" not in evidence.observed


def test_own_limit_moves_a_grade() -> None:
    said = VisitSaid(readings=(pressure(1.8, "engine_off"),))
    assert visit_weigh(said).observed["zero"] == "within"
    strict = DEFAULTS.overridden([Override("zero_good_mbar", 1.5, "own gauge")])
    assert visit_weigh(said, limits=strict).observed["zero"] == "small"


def test_what_a_log_says_takes_the_place_of_nothing_read() -> None:
    logged = Grade("soot_fall", "without_heat", "fell 20 g in 1 min, inlet at most 240 °C")
    evidence = visit_weigh(VisitSaid(grades=(logged,)))
    assert evidence.observed["soot_fall"] == "without_heat"
    assert [each for each in evidence.grades if each.finding == "soot_fall"] == [logged]


def test_what_was_seen_holds_before_what_a_log_says() -> None:
    logged = Grade("burn_end", "completed", "as logged")
    said = VisitSaid(grades=(logged,), findings={"burn_end": "broken_off"})
    assert visit_weigh(said).observed["burn_end"] == "broken_off"


def after_a_burn() -> VisitSaid:
    """Sensing and cause in order, soot in range, pressure above the family's after a burn."""
    seen = {
        "underneath": "whole",
        "hoses": "sound",
        "response": "prompt",
        "oil_level": "within",
        "hot_work_area": "ready",
        "burn_conditions": "met",
        "cause_put_right": "put_right",
    }
    readings = (ZERO, replace(RAISED, standard_value=45.0, km_since_burn=5.0), size("soot_mass", 3))
    return VisitSaid(
        readings=readings,
        lasting=(size("filter_volume", 3.0),),
        findings=seen,
        family=Family(ninetieth_mbar=38.0),
    )


def clean_gate(said: VisitSaid) -> str:
    return visit_weigh(said).gates.gate("clean").way.value


def test_pressure_after_a_burn_above_the_familys_opens_the_cleaning() -> None:
    said = after_a_burn()
    assert clean_gate(said) == "open"
    higher = replace(said, family=Family(ninetieth_mbar=50.0))
    assert clean_gate(higher) == "shut"


@pytest.mark.parametrize(
    "changed",
    [
        {"km_since_burn": 200.0},
        {"km_since_burn": None},
        {"condition": "load"},
        {"layout": "one_hose"},
        {"speed_rpm": None},
        {"speed_rpm": 1500.0},
        {"kind": "modelled"},
    ],
)
def test_reading_that_is_not_one_after_a_burn_opens_no_cleaning(changed: dict[str, object]) -> None:
    said = after_a_burn()
    zero, raised, soot = said.readings
    odd = replace(said, readings=(zero, replace(raised, **changed), soot))
    assert clean_gate(odd) != "open"


@pytest.mark.parametrize(
    ("finding", "state"),
    [("soot_fall", "without_heat"), ("burn_end", "broken_off"), ("burn_end", "none_begun")],
)
def test_burn_that_is_disproved_makes_no_reading_one_after_it(finding: str, state: str) -> None:
    said = after_a_burn()
    odd = replace(said, findings={**said.findings, finding: state})
    assert clean_gate(odd) != "open"


def test_reading_kept_after_a_completed_burn_is_one_whatever_its_distance() -> None:
    said = after_a_burn()
    zero, raised, soot = said.readings
    kept = replace(raised, km_since_burn=None, after_burn=True)
    assert clean_gate(replace(said, readings=(zero, kept, soot))) == "open"


def test_filter_cleaned_already_shuts_the_cleaning() -> None:
    assert clean_gate(replace(after_a_burn(), cleaned=True)) == "shut"


@pytest.mark.parametrize(("after_mbar", "way"), [(45.0, "open"), (30.0, "shut")])
def test_pressure_after_a_cleaning_needs_no_burn(after_mbar: float, way: str) -> None:
    said = after_a_burn()
    zero, raised, soot = said.readings
    cleaned = replace(raised, standard_value=after_mbar, km_since_burn=None)
    said = replace(said, readings=(zero, cleaned, soot), cleaned=True)
    assert visit_weigh(said).gates.gate("replace").way.value == way


@pytest.mark.parametrize(
    ("codes", "state", "leading"),
    [
        (["P242F"], "ash", "ash_limited"),
        (["3720/15"], "ash", "ash_limited"),
        (["P2463"], "present", "soot_loaded"),
        (["P242F", "P2463"], "present", "soot_loaded"),
    ],
)
def test_code_of_ash_alone_speaks_for_ash_before_soot(
    codes: list[str], state: str, leading: str
) -> None:
    evidence = visit_weigh(VisitSaid(codes=tuple(CodeSaid(each) for each in codes)))
    assert evidence.observed["codes_loading"] == state
    assert (evidence.weighed.filter.leading, evidence.weighed.filter.settled) == (leading, None)


def test_code_of_too_little_pressure_speaks_for_a_hole_or_a_hose_and_for_no_load() -> None:
    before = visit_weigh(VisitSaid()).weighed
    low = visit_weigh(VisitSaid(codes=(CodeSaid("P244A"),))).weighed
    high = visit_weigh(VisitSaid(codes=(CodeSaid("P244B"),))).weighed
    assert low.filter.probability("broken_through") > before.filter.probability("broken_through")
    assert low.sensing.probability("hose_off") > before.sensing.probability("hose_off")
    assert low.filter.probability("soot_loaded") < before.filter.probability("soot_loaded")
    assert high.filter.probability("soot_loaded") > before.filter.probability("soot_loaded")


@pytest.mark.parametrize(
    ("seen", "way"),
    [({}, "unknown until checked"), ({"fault_repaired": "nothing_repaired"}, "shut")],
)
def test_clearing_opens_only_behind_a_repair(seen: dict[str, str], way: str) -> None:
    said = replace(after_a_burn(), readings=(ZERO, RAISED, size("soot_mass", 3)))
    with_answer = replace(said, findings={**said.findings, **seen})
    assert visit_weigh(with_answer).gates.gate("clear").way.value == way
    repaired = replace(said, findings={**said.findings, "fault_repaired": "repaired"})
    assert visit_weigh(repaired).gates.gate("clear").way.value == "open"


@pytest.mark.parametrize(("substrate", "way"), [(None, "shut"), ("cordierite", "shut")])
def test_soot_limit_is_higher_only_where_silicon_carbide_is_recorded(
    substrate: str | None, way: str
) -> None:
    said = replace(after_a_burn(), readings=(ZERO, RAISED, size("soot_mass", 20)))
    told = {} if substrate is None else {"substrate": substrate}
    assert (
        visit_weigh(replace(said, findings={**said.findings, **told})).gates.gate("burn").way.value
        == way
    )
    carbide = replace(said, findings={**said.findings, "substrate": "silicon_carbide"})
    assert visit_weigh(carbide).gates.gate("burn").way.value == "open"
