"""Shares of findings: read, refused, and learnt from confirmed outcomes."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from garage.evidence.findings import likelihoods_read
from garage.evidence.findings.engine import evidence_weigh
from garage.evidence.findings.joint import joint_states
from garage.evidence.findings.likelihoods import Confirmed
from garage.evidence.findings.likelihoods_read import likelihoods, likelihoods_from

TEXT = (Path(likelihoods_read.__file__).parent / "likelihoods.toml").read_text(encoding="utf-8")


def test_prior_over_all_combinations_adds_to_one() -> None:
    """Fails if a share is lost between the lists: 9 by 5 by 14 combinations."""
    joint = joint_states()
    prior = likelihoods().prior.joint(joint)
    assert joint.size == 630
    assert prior.sum() == pytest.approx(1.0, abs=1e-12)
    assert prior.min() > 0


@pytest.mark.parametrize(
    ("cause", "state"), [("thermostat", "soot_loaded"), ("oil", "ash_limited")]
)
def test_prior_couples_cause_and_filter(cause: str, state: str) -> None:
    """Fails if a cause no longer makes what it does to the filter more likely."""
    joint = joint_states()
    prior = likelihoods().prior.joint(joint)

    def share(of: str) -> float:
        held = joint.where("upstream", frozenset((of,)))
        both = held & joint.where("filter", frozenset((state,)))
        return float(prior[both].sum() / prior[held].sum())

    assert share(cause) > 1.5 * share("none")


def test_sound_filters_fail_a_count_less_often_than_all_vehicles_do() -> None:
    """Fails if sound filters alone would fail more inspections than were seen to be failed."""
    (table,) = (each for each in likelihoods().tables if each.finding == "particle_count")
    sound = dict(table.rows[-1].shares)
    # 2.95 % of 4.5 million diesels, broken filters among them: German inspections of 2024.
    assert sound["over_limit"] + sound["very_high"] < 0.0295


def test_black_tailpipe_is_weak_evidence() -> None:
    """Fails if old soot in a tailpipe weighs as much as what is measured."""
    odds = {}
    for key, seen in (("before", {}), ("black", {"tailpipe": "black"})):
        share = evidence_weigh(seen).filter.probability("broken_through")
        odds[key] = share / (1.0 - share)
    assert 1.25 < odds["black"] / odds["before"] < 4.0
    with_code = evidence_weigh({"tailpipe": "black", "codes_efficiency": "present"}).filter
    assert (with_code.leading, with_code.settled) == ("broken_through", None)


@pytest.mark.parametrize(
    ("was", "now", "said"),
    [
        ("within = 0.93, small = 0.06", "within = 0.93, small = 0.16", "add to 1"),
        ("small = 0.06, large = 0.01", "small = 0.06, large = 0.0", "between"),
        ("within = 0.93", "inside = 0.93", "needs a share"),
        ('sensing = ["offset"] }', 'sensing = ["tired"] }', "names states"),
        ('sensing = ["hose_blocked"]', 'sensing = ["offset"]', "counts somewhere"),
        ("strength = 15", "strength = 0", "above 0"),
    ],
)
def test_likelihoods_with_one_fault_are_refused(was: str, now: str, said: str) -> None:
    """Fails if the loader lets shares pass that do not add up or rows that never count."""
    with pytest.raises(ValueError, match=said):
        likelihoods_from(TEXT.replace(was, now, 1))


def test_likelihoods_finding_without_table_is_refused() -> None:
    """Fails if a finding could be observed and silently weigh nothing."""
    with pytest.raises(ValueError, match=r"missing .*use"):
        likelihoods_from(TEXT[: TEXT.index("[findings.use]")])


def test_learning_comes_to_the_observed_shares() -> None:
    """Fails if the prior is never outgrown: 7 of 10 seen over, at 10 000 vehicles."""
    seen = [
        Confirmed("injector_return", "over", upstream="injection", count=7000),
        Confirmed("injector_return", "within", upstream="injection", count=3000),
    ]
    row = likelihoods().updated(seen).table("injector_return").rows[0]
    assert row.share("over") == pytest.approx(0.7, abs=0.001)
    assert row.confirmed == 10000


def test_learning_one_vehicle_moves_as_a_dirichlet_does() -> None:
    """Fails unless (share * strength + 1) / (strength + 1): 0.88 of 12 and one more (by hand)."""
    seen = [Confirmed("injector_return", "over", upstream="injection")]
    row = likelihoods().updated(seen).table("injector_return").rows[0]
    assert row.share("over") == pytest.approx((0.88 * 12 + 1) / 13)


@settings(max_examples=40, deadline=None)
@given(st.lists(st.floats(0, 500), min_size=3, max_size=3))
def test_learning_keeps_shares_whole_and_other_rows_unmoved(counts: list[float]) -> None:
    """Fails if a row stops adding to 1, or an outcome leaks into another row or finding."""
    seen = [
        Confirmed("zero", state, sensing="offset", count=count)
        for state, count in zip(("within", "small", "large"), counts, strict=True)
    ]
    before, after = likelihoods(), likelihoods().updated(seen)
    rows = after.table("zero").rows
    assert np.isclose(sum(share for _, share in rows[0].shares), 1.0)
    assert rows[1:] == before.table("zero").rows[1:]
    others = [table for table in after.tables if table.finding != "zero"]
    assert others == [table for table in before.tables if table.finding != "zero"]


def test_learning_order_does_not_matter() -> None:
    """Fails if updating twice differs from updating once with both."""
    one = Confirmed("hoses", "off", sensing="hose_off", count=3)
    two = Confirmed("hoses", "sound", sensing="hose_off", count=2)
    twice = likelihoods().updated([one]).updated([two]).table("hoses").rows[0]
    once = likelihoods().updated([two, one]).table("hoses").rows[0]
    assert [share for _, share in twice.shares] == pytest.approx(
        [share for _, share in once.shares]
    )


def test_learning_leaves_out_what_does_not_tell_a_row() -> None:
    """Fails if a filter confirmed with the sensing unknown is guessed into a row of pressure."""
    seen = [Confirmed("raised_pressure", "high", filter="soot_loaded", count=4)]
    after = likelihoods().updated(seen)
    assert (after.confirmed, after.left_out) == (0, 4)
    assert after.tables == likelihoods().tables


@pytest.mark.parametrize(
    "outcome",
    [
        Confirmed("nothing", "x"),
        Confirmed("zero", "x", sensing="offset"),
        Confirmed("zero", "large", sensing="tired"),
        Confirmed("zero", "large", sensing="offset", count=-1),
        Confirmed("zero", "large", sensing="offset", count=float("nan")),
    ],
)
def test_learning_from_what_cannot_be_is_refused(outcome: Confirmed) -> None:
    """Fails if a wrong name or count is taken as a confirmed vehicle."""
    with pytest.raises(ValueError, match=r"got|no state|known"):
        likelihoods().updated([outcome])
