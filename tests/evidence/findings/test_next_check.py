"""The next check: information against values worked out apart, and the order of the ranking."""

import math
from pathlib import Path

import numpy as np
import pytest

from garage.evidence.findings import first_checks
from garage.evidence.findings.engine import evidence_weigh
from garage.evidence.findings.likelihoods_read import likelihoods
from garage.evidence.findings.limits import DEFAULTS
from garage.evidence.findings.next_check import bits_by_list, mutual_information_bits
from garage.evidence.findings.posterior import joint_after, model_of
from garage.evidence.findings.vocabulary import vocabulary
from garage.evidence.thresholds import Override


def test_information_of_a_binary_symmetric_channel() -> None:
    """Fails unless 1 - H(0.11) = 0.5001 bit (information theory textbooks: about one half)."""
    channel = np.array([[0.89, 0.11], [0.11, 0.89]])
    entropy = -0.11 * math.log2(0.11) - 0.89 * math.log2(0.89)
    bits = mutual_information_bits(np.array([0.5, 0.5]), channel)
    assert bits == pytest.approx(1 - entropy)
    assert bits == pytest.approx(0.5, abs=0.001)


def test_information_of_a_finding_that_never_differs_is_none() -> None:
    """Fails if a check that comes out alike in every state is worth anything."""
    same = np.array([[0.3, 0.7], [0.3, 0.7]])
    assert mutual_information_bits(np.array([0.2, 0.8]), same) == pytest.approx(0.0, abs=1e-12)


def test_information_equals_the_expected_fall_of_entropy() -> None:
    """Fails unless bits are entropy before less expected entropy after, reckoned the slow way."""
    model = model_of(likelihoods())
    joint = joint_after(model, {"zero": "within"}, 0.5)
    filter_ = model.joint.marginal("filter", joint)
    fall = _entropy(filter_)
    for state in model.order["particle_count"]:
        shares = model.of_state("particle_count", state)
        chance = float(joint @ shares)
        fall -= chance * _entropy(model.joint.marginal("filter", joint * shares / chance))
    assert bits_by_list(model, joint, ["particle_count"])["filter"] == pytest.approx(fall)


def _entropy(chances: np.ndarray) -> float:
    return float(-np.sum(chances * np.log2(chances)))


def test_ranking_where_nothing_comes_first_is_by_bits_a_minute() -> None:
    """Fails if a dear check comes before a cheap one that tells more for its time."""
    ranked = evidence_weigh({"zero": "within"}).next_checks
    rates = [each.bits_per_minute for each in ranked]
    assert rates == sorted(rates, reverse=True)
    assert all(each.bits_per_minute == each.bits / each.minutes for each in ranked)


def test_ranking_leaves_out_what_is_done_and_what_may_not_be_done() -> None:
    """Fails if a check is asked for again, or offered although the gates stop it."""
    ranked = evidence_weigh({"zero": "within"}).next_checks
    gives = {finding for each in ranked for finding in each.gives}
    burns = {each.key for each in vocabulary().findings if each.needs == "burn"}
    assert gives == vocabulary().keys() - burns - {"zero"}
    few = evidence_weigh({}, offers={"hoses", "zero"}).next_checks
    assert {each.finding for each in few} == {"hoses", "zero"}


def test_codes_are_one_check() -> None:
    """Fails if reading the codes is counted as ten checks of five minutes."""
    codes = [c for c in evidence_weigh({}).next_checks if c.finding.startswith("codes_")]
    assert [len(each.gives) for each in codes] == [10]


def test_more_findings_never_tell_less() -> None:
    """Fails if a check that gives two findings is worth less than one of them alone."""
    model = model_of(likelihoods())
    joint = joint_after(model, {}, 0.5)
    one = bits_by_list(model, joint, ["codes_air"])
    two = bits_by_list(model, joint, ["codes_air", "codes_fuel"])
    assert all(two[of] >= one[of] - 1e-12 for of in one)  # codes tell nothing of the sensing


def test_information_on_the_cause_counts_by_its_weight() -> None:
    """Fails if the weight of the cause is not used: warm-up tells most of the cause."""
    weights = {}
    for weight in (0.0, 0.5, 1.0):
        limits = DEFAULTS.overridden([Override("upstream_weight", weight, "test")])
        ranked = evidence_weigh({}, thresholds=limits).next_checks
        weights[weight] = next(each.bits for each in ranked if each.finding == "warm_up")
    assert weights[1.0] - weights[0.5] == pytest.approx(weights[0.5] - weights[0.0])
    assert weights[1.0] > 2 * weights[0.0]


def test_sensing_is_trusted_before_a_remarkable_pressure_is_followed() -> None:
    """Fails if the filter is looked into before hoses and response, or where pressure is usual."""
    high = evidence_weigh({"zero": "within", "raised_pressure": "high"}).next_checks
    assert [each.finding for each in high[:2]] == ["response", "hoses"]
    usual = evidence_weigh({"zero": "within", "raised_pressure": "low_or_normal"}).next_checks
    assert "hoses" not in [each.finding for each in usual[:2]]


def test_state_that_leads_is_shown_directly_before_money_is_spent() -> None:
    """Fails if a valve is blamed on a code alone while its own check is not asked for."""
    found = {"codes_recirculation": "present", "smoke": "black", "burn_interval": "short"}
    weighed = evidence_weigh(found)
    assert weighed.upstream.leading == "recirculation"
    assert weighed.next_checks[0].finding == "recirculation_check"
    assert "before money is spent" in weighed.next_checks[0].reason
    strict = DEFAULTS.overridden([Override("confirm_share", 0.999, "test")])
    assert evidence_weigh(found, thresholds=strict).next_checks[0].finding != "recirculation_check"


@pytest.mark.parametrize(
    ("was", "now"),
    [
        ('offset = "sensor_check"', 'offset = "luck"'),
        ('offset = "sensor_check"', ""),
        ("[sensing]", "[engine]"),
    ],
)
def test_proofs_with_one_fault_are_refused(was: str, now: str) -> None:
    """Fails if a fault may lead without a check that shows it."""
    text = (Path(first_checks.__file__).parent / "proofs.toml").read_text(encoding="utf-8")
    assert first_checks.proofs_from(text, vocabulary())["upstream"]["additive"] == "additive"
    with pytest.raises(ValueError, match="got"):
        first_checks.proofs_from(text.replace(was, now, 1), vocabulary())
