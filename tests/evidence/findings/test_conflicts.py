"""Contradictory evidence: one test a row of the table, and what an open conflict does."""

import pytest

from garage.evidence.findings.conflicts import (
    Conflict,
    Kind,
    conflict_rules,
    conflict_rules_from,
    conflicts_found,
)
from garage.evidence.findings.engine import evidence_weigh
from garage.evidence.findings.vocabulary import vocabulary
from garage.evidence.findings.weighed import Settled

NOW = {each.key for each in vocabulary().findings if each.needs != "burn"}

# conflict, what shows it, the same with one finding changed that no longer does, its first check
ROWS = [
    (
        "model_high_pressure_low",
        {"modelled_soot": "over_limit", "raised_pressure": "low_or_normal"},
        {"raised_pressure": "high"},
        "zero",
    ),
    (
        "model_low_pressure_high",
        {"modelled_soot": "low", "raised_pressure": "high"},
        {"modelled_soot": "in_range"},
        "zero",
    ),
    (
        "burn_counted_pressure_not_lower",
        {"recent_burn": "not_lower"},
        {"recent_burn": "lower"},
        "soot_fall",
    ),
    (
        "soot_fell_without_heat",
        {"soot_fall": "without_heat"},
        {"soot_fall": "burned"},
        "raised_pressure",
    ),
    ("pressure_back_after_burn", {"refill": "back_up"}, {"refill": "stays"}, "injector_return"),
    (
        "burn_proven_pressure_unchanged",
        {"proven_burn": "unchanged"},
        {"proven_burn": "to_usual"},
        "off_car_flow",
    ),
    (
        "near_zero_no_growth",
        {"idle_pressure": "near_zero", "pressure_slope": "none"},
        {"pressure_slope": "as_a_filter"},
        "hoses",
    ),
    (
        "negative_at_raised",
        {"raised_pressure": "negative"},
        {"raised_pressure": "very_low"},
        "hoses",
    ),
    ("zero_not_zero", {"zero": "large"}, {"zero": "within"}, "sensor_check"),
    ("slow_or_stuck", {"response": "stuck"}, {"response": "prompt"}, "hoses"),
    (
        "efficiency_code_high_pressure",
        {"codes_efficiency": "present", "raised_pressure": "high"},
        {"raised_pressure": "upper"},
        "particle_count",
    ),
    (
        "damage_agreed",
        {"codes_efficiency": "present", "tailpipe": "black", "raised_pressure": "very_low"},
        {"tailpipe": "clean"},
        "particle_count",
    ),
    (
        "one_hose_filter_free",
        {"layout": "one_hose", "raised_pressure": "high", "off_car_flow": "as_new"},
        {"layout": "two_hose"},
        "before_and_behind",
    ),
    (
        "black_pipe_low_count",
        {"tailpipe": "black", "particle_count": "low"},
        {"tailpipe": "clean"},
        "tailpipe_recheck",
    ),
    (
        "clean_pipe_high_count",
        {"tailpipe": "clean", "particle_count": "over_limit"},
        {"particle_count": "low"},
        "particle_recheck",
    ),
    (
        "high_only_loaded",
        {"loaded_pressure": "only_then_high"},
        {"loaded_pressure": "as_expected"},
        "layout",
    ),
    (
        "family_threefold",
        {"family_compare": "differs_threefold"},
        {"family_compare": "alike"},
        "unit_check",
    ),
]


def _seen(observed: dict[str, str]) -> dict[str, Conflict]:
    return {each.key: each for each in conflicts_found(observed, NOW)}


def test_every_rule_has_its_row_here() -> None:
    """Fails if a rule is added without a test of it."""
    assert [row[0] for row in ROWS] == [rule.key for rule in conflict_rules()]


@pytest.mark.parametrize(("key", "shown", "changed", "first"), ROWS)
def test_conflict_row(key: str, shown: dict[str, str], changed: dict[str, str], first: str) -> None:
    """Fails if the row is not seen, names another check first, or is seen without its finding."""
    seen = _seen(shown)[key]
    assert seen.is_open
    assert seen.checks_left[0] == first
    assert dict(seen.found) == shown
    assert key not in _seen({**shown, **changed})


@pytest.mark.parametrize(("key", "shown", "changed", "first"), ROWS)
def test_conflict_row_holds_its_lists_and_leads_the_checks(
    key: str, shown: dict[str, str], changed: dict[str, str], first: str
) -> None:
    """Fails if a contradiction is averaged into a settled list, or another check comes first."""
    weighed = evidence_weigh({"zero": "within", **shown})
    seen = next(each for each in weighed.conflicts if each.key == key)
    for each in weighed.lists:
        if each.of in seen.holds:
            assert each.status is Settled.HELD
            assert each.settled is None
    named = [check for each in weighed.conflicts for check in each.checks_left]
    assert weighed.next_checks[0].finding == named[0], "what a conflict asks for comes first"


def test_only_damage_is_an_agreement() -> None:
    """Fails if findings that agree are called a conflict, or the reverse."""
    agreed = [rule.key for rule in conflict_rules() if rule.kind is Kind.AGREEMENT]
    assert agreed == ["damage_agreed"]


def test_conflict_closes_when_its_check_explains_it() -> None:
    """Fails if a conflict stays open once a hose was found off, or closes on a sound one."""
    shown = {"idle_pressure": "near_zero", "raised_pressure": "very_low"}
    assert not _seen({**shown, "hoses": "off"})["near_zero_no_growth"].is_open
    still = _seen({**shown, "hoses": "sound"})["near_zero_no_growth"]
    assert (still.is_open, still.checks_left) == (True, ("particle_count",))


def test_conflict_closes_when_all_its_checks_are_done() -> None:
    """Fails if a conflict holds for ever although nothing is left to check."""
    shown = {"idle_pressure": "near_zero", "raised_pressure": "very_low", "hoses": "sound"}
    assert not _seen({**shown, "particle_count": "low"})["near_zero_no_growth"].is_open


def test_zero_far_off_holds_until_it_is_read_again() -> None:
    """Fails if grading is let go while the zero is still off, whatever was checked."""
    done = {"zero": "large", "sensor_check": "offset", "hoses": "sound"}
    assert evidence_weigh(done).filter.status is Settled.HELD
    assert evidence_weigh(done).sensing.settled == "offset"


def test_pressure_that_grows_as_through_a_filter_is_no_near_zero_conflict() -> None:
    """Fails if a small reading that does grow with speed is told as one that does not."""
    shown = {"idle_pressure": "near_zero", "raised_pressure": "very_low"}
    assert "near_zero_no_growth" in _seen(shown)
    assert "near_zero_no_growth" not in _seen({**shown, "pressure_slope": "as_a_filter"})


def test_conflict_check_behind_a_gate_waits() -> None:
    """Fails if a burn is recommended although no gate has opened it."""
    weighed = evidence_weigh({"zero": "within", "recent_burn": "not_lower", "soot_fall": "burned"})
    seen = weighed.conflicts[0]
    assert (seen.checks_left, seen.checks_waiting) == ((), ("proven_burn",))
    assert "proven_burn" not in [each.finding for each in weighed.next_checks]
    assert "behind a gate" in weighed.filter.reason


@pytest.mark.parametrize(
    ("was", "now"),
    [
        ('checks = ["hoses"]', 'checks = ["luck"]'),
        ('holds = ["sensing"]', 'holds = ["engine"]'),
        ('["negative"]', '["blue"]'),
        ('checks = ["hoses"]', "checks = []"),
    ],
)
def test_rule_with_one_fault_is_refused(was: str, now: str) -> None:
    """Fails if a rule may name what the vocabulary has not."""
    text = (
        '[x]\nkind = "conflict"\ntitle = "t"\nreading = "r"\nclosed_by = []\n'
        'when = [{ raised_pressure = ["negative"] }]\nchecks = ["hoses"]\nholds = ["sensing"]\n'
    )
    assert conflict_rules_from(text)[0].key == "x"
    with pytest.raises(ValueError, match=r"got|has|needs"):
        conflict_rules_from(text.replace(was, now))
