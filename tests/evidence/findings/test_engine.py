"""Weighing: three lists that each add to 1, what is settled, and what is withheld."""

import itertools
import json
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from garage.evidence.findings.engine import evidence_weigh
from garage.evidence.findings.likelihoods import Likelihoods
from garage.evidence.findings.likelihoods_read import likelihoods
from garage.evidence.findings.limits import DEFAULTS
from garage.evidence.findings.vocabulary import LISTS, vocabulary
from garage.evidence.findings.weighed import Effect, Settled, as_plain
from garage.evidence.thresholds import Override

SOUND = {
    "zero": "within",
    "hoses": "sound",
    "response": "prompt",
    "raised_pressure": "low_or_normal",
}
observations = st.fixed_dictionaries(
    {},
    optional={
        each.key: st.sampled_from([state for state, _ in each.states])
        for each in vocabulary().findings
    },
)


@settings(max_examples=25, deadline=None)
@given(observations)
def test_each_list_adds_to_one_and_prints_as_json(observed: dict[str, str]) -> None:
    """Fails if a list does not add to 1, is not ranked, or a number JSON has not comes out."""
    weighed = evidence_weigh(observed)
    for each in weighed.lists:
        chances = [state.probability for state in each.states]
        assert math.isclose(sum(chances), 1.0, abs_tol=1e-9)
        assert chances == sorted(chances, reverse=True)
    json.dumps(as_plain(weighed), allow_nan=False)


@settings(max_examples=15, deadline=None)
@given(observations)
def test_order_of_findings_does_not_matter(observed: dict[str, str]) -> None:
    """Fails if the same findings in another order give another answer."""
    assert as_plain(evidence_weigh(dict(reversed(observed.items())))) == as_plain(
        evidence_weigh(observed)
    )


def test_nothing_found_gives_the_prior_and_settles_nothing() -> None:
    """Fails if the prior alone settles a list, as it would the sensing at 80 per cent."""
    weighed = evidence_weigh({})
    assert [each.settled for each in weighed.lists] == [None, None, None]
    assert weighed.sensing.probability("in_order") == pytest.approx(0.80)
    assert weighed.upstream.probability("none") == pytest.approx(0.22)


def test_joint_agrees_with_a_slow_sum_by_hand() -> None:
    """Fails if the arrays differ from Bayes' rule written out in loops over the tables."""
    observed = {
        "zero": "small",
        "particle_count": "over_limit",
        "use": "short_trips",
        "refill": "back_up",
    }
    shares = likelihoods()
    totals = {of: dict.fromkeys(vocabulary().states(of), 0.0) for of in LISTS}
    for states in itertools.product(*(vocabulary().states(of) for of in LISTS)):
        held = dict(zip(LISTS, states, strict=True))
        chance = _prior(shares, held)
        for finding, state in observed.items():
            table = shares.table(finding)
            row = table.row_of(held)
            assert row is not None
            chance *= table.rows[row].share(state)
        for of in LISTS:
            totals[of][held[of]] += chance
    weighed = evidence_weigh(observed)
    for each in weighed.lists:
        whole = sum(totals[each.of].values())
        for state in each.states:
            assert state.probability == pytest.approx(totals[each.of][state.state] / whole)


def _prior(shares: Likelihoods, held: dict[str, str]) -> float:
    prior = shares.prior
    row = next(row for row in prior.filter_rows if row.fits({"upstream": held["upstream"]}))
    return (
        dict(prior.sensing)[held["sensing"]]
        * dict(prior.upstream)[held["upstream"]]
        * row.share(held["filter"])
    )


def test_offset_makes_pressure_say_little_of_the_filter() -> None:
    """Fails if a pressure through a sensor that is off still speaks of the filter."""
    high = {"raised_pressure": "high"}
    trusted = evidence_weigh({"sensor_check": "true", "zero": "within", **high}).filter
    doubted = evidence_weigh({"sensor_check": "offset", "zero": "large", **high}).filter
    bare = evidence_weigh({}).filter.probability("sound")
    assert trusted.probability("sound") < 0.1 < bare
    assert doubted.probability("sound") == pytest.approx(bare, abs=0.05)
    assert doubted.settled is None


@pytest.mark.parametrize(
    "fault",
    [
        {"hoses": "swapped"},
        {"hoses": "off"},
        {"hoses": "blocked"},
        {"sensor_check": "offset"},
        {"sensor_check": "gain"},
        {"unit_check": "mistaken"},
    ],
)
def test_sensing_fault_found_holds_the_filter_until_pressure_is_read_again(
    fault: dict[str, str],
) -> None:
    """Fails if the filter is settled by a pressure read through sensing found at fault."""
    easy = DEFAULTS.overridden([Override("settled_share", 0.5, "test")])
    other = {"tailpipe": "clean", "codes_loading": "absent", "modelled_soot": "low"}
    weighed = evidence_weigh({**SOUND, **other, **fault}, thresholds=easy)
    assert weighed.filter.settled is None
    assert "put it right" in weighed.filter.reason
    assert evidence_weigh({**SOUND, **other}, thresholds=easy).filter.settled == "sound"
    proof = {"filter_looked_at": "damaged", "particle_count": "very_high"}
    assert evidence_weigh({**SOUND, **fault, **proof}).filter.settled == "broken_through"


def test_sensing_likely_at_fault_holds_the_filter() -> None:
    """Fails if only a fault that was seen holds the filter, not one that is most likely."""
    easy = DEFAULTS.overridden([Override("settled_share", 0.5, "test")])
    found = {"zero": "small", "codes_sensor": "present", "raised_pressure": "upper"}
    other = {"use": "mixed", "codes_loading": "absent", "modelled_soot": "low", "refill": "stays"}
    weighed = evidence_weigh({**found, **other}, thresholds=easy)
    assert weighed.sensing.leading == "offset"
    assert weighed.filter.states[0].probability > 0.5
    assert weighed.filter.settled is None


def test_same_pressure_does_not_part_ash_and_soot() -> None:
    """Fails if pressure favours ash or soot by more than a little (worked model: the same)."""
    trusted = {"zero": "within", "hoses": "sound"}
    odds = [
        result.probability("soot_loaded") / result.probability("ash_limited")
        for result in (
            evidence_weigh(trusted).filter,
            evidence_weigh({**trusted, "raised_pressure": "high"}).filter,
        )
    ]
    assert odds[1] == pytest.approx(odds[0], rel=0.15)
    said = evidence_weigh({"zero": "within", "raised_pressure": "high"}).cannot_tell
    assert any("Ash or soot" in each for each in said)


def test_proven_burn_parts_ash_and_soot() -> None:
    """Fails if the one test that parts them does not."""
    found = {"zero": "within", "hoses": "sound", "raised_pressure": "high"}
    fell = evidence_weigh({**found, "proven_burn": "to_usual"}).filter
    stayed = evidence_weigh({**found, "proven_burn": "partly"}).filter
    assert fell.probability("soot_loaded") > 5 * fell.probability("ash_limited")
    assert stayed.probability("ash_limited") > stayed.probability("soot_loaded")


def test_ash_is_not_settled_without_a_proof() -> None:
    """Fails if ash is settled on signs alone, without burn, look or weight."""
    found = {
        "zero": "within",
        "hoses": "sound",
        "raised_pressure": "high",
        "burn_interval": "shrinking",
        "oil_use": "high",
        "oil_kind": "wrong",
        "burn_end": "completed",
    }
    easy = DEFAULTS.overridden([Override("settled_share", 0.6, "test")])
    signs = evidence_weigh(found, thresholds=easy).filter
    assert signs.leading == "ash_limited"
    assert signs.probability("ash_limited") >= 0.6
    assert (signs.settled, signs.status) == (None, Settled.OPEN)
    weighed = evidence_weigh({**found, "off_car_flow": "heavy"}, thresholds=easy)
    assert weighed.filter.settled == "ash_limited"


def test_idle_alone_does_not_grade() -> None:
    """Fails if an idle value settles the filter, good zero or not."""
    for state in ("near_zero", "usual", "raised", "high"):
        assert evidence_weigh({"zero": "within", "idle_pressure": state}).filter.settled is None


def test_zero_not_read_holds_the_filter() -> None:
    """Fails if pressure settles the filter without a zero; the same with it settles."""
    with_it = evidence_weigh(SOUND)
    without = evidence_weigh({k: s for k, s in SOUND.items() if k != "zero"})
    assert with_it.filter.settled == "sound"
    assert without.filter.settled is None
    assert without.next_checks[0].finding == "zero"


def test_settled_share_is_a_threshold() -> None:
    """Fails if an organisation's own share is not used."""
    strict = DEFAULTS.overridden([Override("settled_share", 0.995, "own rule")])
    result = evidence_weigh(SOUND, thresholds=strict).filter
    assert result.settled is None
    assert result.parted_by is not None
    assert "next:" in result.reason


def test_cause_alone_is_told_for_and_against() -> None:
    """Fails if a finding does not say which state it speaks for and which against."""
    weighed = evidence_weigh({"injector_return": "over", "use": "mixed"})
    lead = weighed.upstream.states[0]
    assert lead.state == "injection"
    assert [each.finding for each in lead.speaks_for] == ["injector_return"]
    assert lead.speaks_for[0].ratio > 3
    use = next(s for s in weighed.upstream.states if s.state == "use_pattern")
    assert "use" in [each.finding for each in use.against]


def test_ratio_is_after_over_without() -> None:
    """Fails if the told ratio is not the factor by which the finding moved the probability."""
    found = {"zero": "within", "injector_return": "over"}
    effect = evidence_weigh(found).upstream.states[0].speaks_for[0]
    moved = evidence_weigh(found).upstream.probability("injection")
    assert effect.ratio == pytest.approx(
        moved / evidence_weigh({"zero": "within"}).upstream.probability("injection")
    )


def test_alike_findings_count_less_than_twice() -> None:
    """Fails if findings that measure one thing are counted as if independent."""
    loose = DEFAULTS.overridden([Override("same_evidence_share", 0.0, "test")])
    found = {
        "zero": "within",
        "idle_pressure": "high",
        "raised_pressure": "high",
        "codes_loading": "present",
    }
    sound = evidence_weigh(found).filter.probability("sound")
    assert sound > evidence_weigh(found, thresholds=loose).filter.probability("sound")


def test_crack_cannot_be_told_without_a_count() -> None:
    """Fails if a sound filter is reported without saying what a crack needs."""
    said = evidence_weigh(SOUND).cannot_tell
    assert any("hairline crack" in each for each in said)
    counted = evidence_weigh({**SOUND, "particle_count": "low"}).cannot_tell
    assert not any("hairline crack" in each for each in counted)


def test_no_codes_is_said_to_prove_nothing() -> None:
    """Fails if absent codes are let stand as proof of a sound filter."""
    assert (
        "No codes is not proof of a sound filter."
        in evidence_weigh({"codes_loading": "absent"}).cannot_tell
    )


def test_plain_refuses_a_number_that_json_has_not() -> None:
    """Fails if NaN could reach a page."""
    with pytest.raises(ValueError, match="not known is None"):
        as_plain(Effect("zero", "large", float("nan"), ""))
