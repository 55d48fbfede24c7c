"""From numbers to findings: the zero rule, the family, and what is not known."""

import json
from dataclasses import replace

import pytest

from garage.evidence.findings.from_measured import findings_from
from garage.evidence.findings.limits import DEFAULTS
from garage.evidence.findings.measured import CODE_GROUPS, Family, Measured
from garage.evidence.findings.weighed import as_plain
from garage.evidence.thresholds import Override

VISIT = Measured(zero_mbar=0.0, idle_mbar=4.8, raised_mbar=30.0, raised_rpm=3000.0, litres=2.5)


def test_idle_of_4_8_mbar_is_unremarkable() -> None:
    """Fails if 4.8 mbar at idle is called anything but usual, or grades the filter."""
    grade = findings_from(VISIT).grade("idle_pressure")
    assert grade.state == "usual"
    assert "unremarkable" in grade.words
    assert "never grades a filter" in grade.words


def test_30_mbar_at_3000_rpm_is_at_the_edge() -> None:
    """Fails if 30 mbar without a family is told as plainly low, or plainly high."""
    grade = findings_from(VISIT).grade("raised_pressure")
    assert grade.state == "low_or_normal"
    assert "at the edge" in grade.words
    assert "low or normal depends on the family" in grade.words
    assert grade.held[0].basis == "common practice, no source"


@pytest.mark.parametrize(("litres", "graded"), [(4.0, True), (20.0, False), (None, True)])
def test_values_of_cars_grade_no_heavy_filter(litres: float | None, graded: bool) -> None:
    """Fails if a large filter's low pressure at idle is taken for a hole."""
    observed = findings_from(replace(VISIT, idle_mbar=0.8, litres=litres)).observed
    assert ("idle_pressure" in observed) is graded
    assert ("raised_pressure" in observed) is graded


@pytest.mark.parametrize(("ninetieth", "state"), [(45.0, "low_or_normal"), (20.0, "upper")])
def test_30_mbar_is_graded_by_the_family_where_known(ninetieth: float, state: str) -> None:
    """Fails if the table is used in place of the family's own range."""
    at = replace(VISIT, family=Family(ninetieth_mbar=ninetieth))
    assert findings_from(at).observed["raised_pressure"] == state


@pytest.mark.parametrize(
    ("zero", "state", "idle", "raised"),
    [
        (None, None, False, False),
        (2.0, "within", True, True),
        (-2.0, "within", True, True),
        (2.1, "small", False, True),
        (5.0, "small", False, True),
        (5.1, "large", False, False),
        (-5.1, "large", False, False),
    ],
)
def test_zero_rule(zero: float | None, state: str | None, idle: bool, raised: bool) -> None:
    """Fails if a pressure is graded that the zero does not let grade, at the very limits."""
    observed = findings_from(replace(VISIT, zero_mbar=zero)).observed
    assert observed.get("zero") == state
    assert ("idle_pressure" in observed) is idle
    assert ("raised_pressure" in observed) is raised
    assert ("pressure_slope" in observed) is idle


@pytest.mark.parametrize(("zero", "graded"), [(1.4, True), (1.5, False), (-1.5, False)])
def test_zero_as_large_as_a_sound_idle_reading_holds_all(zero: float, graded: bool) -> None:
    """Fails if a zero is let pass that a sound filter of the family reads at idle."""
    at = replace(VISIT, zero_mbar=zero, family=Family(ninetieth_mbar=38.0, idle_mbar=1.5))
    observed = findings_from(at).observed
    assert observed["zero"] == ("within" if graded else "large")
    assert ("raised_pressure" in observed) is graded
    assert ("idle_pressure" in observed) is graded


def test_raised_is_corrected_for_the_zero() -> None:
    """Fails if 73 mbar with a zero of +4 is not graded as 69 mbar."""
    at = replace(VISIT, raised_mbar=73.0)
    assert findings_from(at).observed["raised_pressure"] == "high"
    assert findings_from(replace(at, zero_mbar=4.0)).observed["raised_pressure"] == "upper"


@pytest.mark.parametrize(
    ("mbar", "zero", "state"),
    [
        (1.0, 0.0, "near_zero"),
        (1.1, 0.0, "usual"),
        (2.5, 1.5, "near_zero"),
        (8.0, 0.0, "usual"),
        (8.1, 0.0, "raised"),
        (8.1, 0.5, "usual"),
        (15.0, 0.0, "raised"),
        (15.1, 0.0, "high"),
    ],
)
def test_idle_states_at_their_limits(mbar: float, zero: float, state: str) -> None:
    """Fails if a limit at idle has moved, or the zero is not taken off first."""
    at = replace(VISIT, idle_mbar=mbar, zero_mbar=zero)
    assert findings_from(at).observed["idle_pressure"] == state


@pytest.mark.parametrize(
    ("mbar", "state"),
    [
        (-5.0, "negative"),
        (-1.0, "very_low"),
        (4.9, "very_low"),
        (5.0, "low_or_normal"),
        (30.1, "upper"),
        (70.0, "upper"),
        (70.1, "high"),
        (200.0, "high"),
        (200.1, "very_high"),
    ],
)
def test_raised_states_at_their_limits(mbar: float, state: str) -> None:
    """Fails if a limit of the field values has moved."""
    assert findings_from(replace(VISIT, raised_mbar=mbar)).observed["raised_pressure"] == state


def test_very_low_is_held_against_the_clean_value_first() -> None:
    """Fails if the plain 5 mbar is used where a clean value is known: 40 per cent of 20 is 8."""
    at = replace(VISIT, family=Family(clean_mbar=20.0), raised_mbar=7.9)
    assert findings_from(at).observed["raised_pressure"] == "very_low"
    assert findings_from(replace(at, raised_mbar=8.0)).observed["raised_pressure"] != "very_low"
    small = replace(VISIT, family=Family(clean_mbar=6.0), raised_mbar=4.0)
    assert findings_from(small).observed["raised_pressure"] == "low_or_normal"


@pytest.mark.parametrize("litres", [None, 3.1])
def test_very_low_without_family_needs_a_small_filter(litres: float | None) -> None:
    """Fails if the plain figure is used for a large filter or one of unknown size."""
    grade = findings_from(replace(VISIT, litres=litres, raised_mbar=3.0)).grade("raised_pressure")
    assert grade.state is None
    assert "cannot be told" in grade.words


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"raised_rpm": None}, "speed was not noted"),
        ({"raised_rpm": 1500.0}, "1500 rpm"),
        ({"one_hose": True}, "one-hose"),
        ({"litres": 12.0}, "only against its family"),
        ({"raised_mbar": None}, "not read"),
    ],
)
def test_raised_not_graded_says_why(change: dict[str, object], said: str) -> None:
    """Fails if a value is graded that the table does not fit, or the reason is not told."""
    grade = findings_from(replace(VISIT, **change)).grade("raised_pressure")  # type: ignore[arg-type]
    assert grade.state is None
    assert said in grade.words


@pytest.mark.parametrize(
    ("idle", "raised", "state"),
    [
        (4.0, 28.0, "as_a_filter"),
        (4.0, 112.0, "as_a_hole"),
        (4.0, 60.0, None),
        (0.5, 1.0, "none"),
        (1.5, 20.0, None),
    ],
)
def test_growth_as_the_worked_model_says(idle: float, raised: float, state: str | None) -> None:
    """Fails if 7 times is not a filter, 28 not a hole, or a poor idle is used (worked model)."""
    at = replace(VISIT, idle_mbar=idle, raised_mbar=raised)
    assert findings_from(at).grade("pressure_slope").state == state


@pytest.mark.parametrize(
    ("soot", "change", "state"),
    [
        (7.5, {"litres": 3.0}, "low"),
        (7.6, {"litres": 3.0}, "in_range"),
        (15.0, {"litres": 3.0}, "in_range"),
        (15.1, {"litres": 3.0}, "over_limit"),
        (15.1, {"litres": 3.0, "silicon_carbide": True}, "in_range"),
        (15.1, {"litres": None, "own_soot_limit_g": 40.0}, "low"),
        (15.1, {"litres": None}, None),
    ],
)
def test_reckoned_soot_against_its_limit(
    soot: float, change: dict[str, object], state: str | None
) -> None:
    """Fails if the limit is not 5 g/L, 8 g/L of silicon carbide, or the vehicle's own."""
    at = replace(VISIT, modelled_soot_g=soot, **change)  # type: ignore[arg-type]
    assert findings_from(at).grade("modelled_soot").state == state


def test_soot_fall_needs_heat_above_550() -> None:
    """Fails if a fall at 550 °C counts as burned: the row asks for more than that."""
    at = replace(VISIT, soot_fall_inlet_c=550.0)
    assert findings_from(at).observed["soot_fall"] == "without_heat"
    assert findings_from(replace(at, soot_fall_inlet_c=551.0)).observed["soot_fall"] == "burned"


def test_codes_absent_only_with_finished_self_tests() -> None:
    """Fails if "none found" after a clear passes for healthy."""
    none = dict.fromkeys(CODE_GROUPS, False)
    for finished, state in ((True, "absent"), (False, None), (None, None)):
        at = replace(VISIT, code_groups=none, self_tests_finished=finished)
        assert findings_from(at).grade("codes_loading").state == state
    present = replace(VISIT, code_groups={"loading": True}, self_tests_finished=False)
    assert findings_from(present).observed["codes_loading"] == "present"
    assert "not read" in findings_from(VISIT).grade("codes_loading").words


@pytest.mark.parametrize(
    ("count", "since", "state"),
    [
        (1000.0, 200.0, "low"),
        (250000.0, 200.0, "low"),
        (250001.0, 200.0, "over_limit"),
        (1e6, 200.0, "very_high"),
        (1e6, 49.0, None),
        (1e6, 50.0, "very_high"),
    ],
)
def test_particle_count(count: float, since: float, state: str | None) -> None:
    """Fails if a count within 50 km of a burn is graded, or a limit moved."""
    at = replace(VISIT, particles_per_cm3=count, distance_since_burn_km=since)
    assert findings_from(at).grade("particle_count").state == state


@pytest.mark.parametrize(
    ("km", "state"), [(150.0, "short"), (200.0, "usual"), (1200.0, "usual"), (1300.0, "long")]
)
def test_burn_interval(km: float, state: str) -> None:
    """Fails if 200 or 1 200 km fall out of the usual."""
    assert findings_from(replace(VISIT, burn_interval_km=km)).observed["burn_interval"] == state


@pytest.mark.parametrize(
    ("own", "state"), [(25.0, "alike"), (80.0, "differs_threefold"), (2.5, "differs_threefold")]
)
def test_clean_value_beside_the_family(own: float, state: str) -> None:
    """Fails if a tenfold slip of unit, up or down, is not seen."""
    at = replace(VISIT, own_clean_mbar=own, family=Family(clean_mbar=25.0))
    assert findings_from(at).observed["family_compare"] == state


def test_cold_sensors_and_warm_up() -> None:
    """Fails if 10 °C between sensors, 15 min or 75 °C fall on the wrong side."""
    good = replace(VISIT, cold_temperatures_spread_c=10.0, warm_up_min=15.0, cruise_coolant_c=75.0)
    observed = findings_from(good).observed
    assert (observed["cold_temperatures"], observed["warm_up"]) == ("agree", "usual")
    assert findings_from(replace(good, warm_up_min=16.0)).observed["warm_up"] == "slow"
    assert findings_from(replace(good, cruise_coolant_c=74.0)).observed["warm_up"] == "slow"
    cold = findings_from(replace(good, cold_temperatures_spread_c=10.5)).observed
    assert cold["cold_temperatures"] == "differ"


def test_limits_overridden_are_used_and_told() -> None:
    """Fails if an organisation's own limit is not used, or its source not said."""
    own = DEFAULTS.overridden([Override("zero_good_mbar", 0.5, "own gauge")])
    read = findings_from(replace(VISIT, zero_mbar=1.0), own)
    assert read.observed["zero"] == "small"
    assert read.grade("zero").held[0].source == "own gauge"


def test_nothing_measured_gives_no_finding_and_a_reason_each() -> None:
    """Fails if something not measured comes out as a finding, or without a reason."""
    read = findings_from(Measured())
    assert dict(read.observed) == {}
    assert all(each.words for each in read.grades)
    json.dumps(as_plain(read), allow_nan=False)


@pytest.mark.parametrize(
    "wrong",
    [
        {"raised_rpm": 0.0},
        {"litres": -1.0},
        {"modelled_soot_g": -0.1},
        {"idle_mbar": float("nan")},
        {"zero_mbar": float("inf")},
        {"code_groups": {"luck": True}},
    ],
)
def test_measured_that_cannot_be_is_refused(wrong: dict[str, object]) -> None:
    """Fails if a value that cannot be is taken as read."""
    with pytest.raises(ValueError, match="got"):
        Measured(**wrong)  # type: ignore[arg-type]


@pytest.mark.parametrize("wrong", [(0.0, None, None), (None, 30.0, 20.0)])
def test_family_that_cannot_be_is_refused(wrong: tuple[float | None, ...]) -> None:
    """Fails if a clean value of 0 or percentiles in the wrong order are taken."""
    with pytest.raises(ValueError, match="got"):
        Family(*wrong)


def test_corrected_value_at_a_limit_does_not_fall_over_it_by_rounding() -> None:
    """Fails if 2.14 less 1.14 mbar, just above 1 in binary, is graded above 1."""
    at = replace(VISIT, idle_mbar=2.14, zero_mbar=1.14)
    assert findings_from(at).observed["idle_pressure"] == "near_zero"
