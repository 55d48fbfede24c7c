"""Thresholds: one place each, overridden within their bounds, with who says so."""

import pytest

from garage.evidence.codes.onboard.decode import DEFAULTS as ONBOARD
from garage.evidence.codes.resets import DEFAULTS as RESETS
from garage.evidence.drives.limits import DEFAULTS as DRIVES
from garage.evidence.findings.gate_burn import soot_limit_g
from garage.evidence.findings.limits import DEFAULTS, limits_shared
from garage.evidence.findings.situation import Situation
from garage.evidence.gauges.limits import DEFAULTS as GAUGES
from garage.evidence.quantities.readings_together import DEFAULTS as TOGETHER
from garage.evidence.resistance.limits import DEFAULTS as RESISTANCE
from garage.evidence.thresholds import Basis, Override, Threshold, Thresholds

ZERO = Threshold("zero_mbar", 2.0, "mbar", "zero", Basis.PRACTICE, least=0.1, most=10.0)


def test_override_stands_in_place_with_its_source_and_leaves_the_shipped() -> None:
    shipped = Thresholds([ZERO])
    own = shipped.overridden([Override("zero_mbar", 1.0, "own gauge")])
    assert (own["zero_mbar"], own.told("zero_mbar").source) == (1.0, "own gauge")
    assert own.is_own("zero_mbar")
    # Fails where what a workshop says itself is told as published.
    assert own.told("zero_mbar").basis.words == "own value"
    assert (shipped["zero_mbar"], shipped.is_own("zero_mbar")) == (2.0, False)


def test_later_override_wins() -> None:
    first = Thresholds([ZERO]).overridden([Override("zero_mbar", 1.0, "organisation")])
    assert first.overridden([Override("zero_mbar", 3.0, "family")])["zero_mbar"] == 3.0


@pytest.mark.parametrize(("key", "value"), [("zero", 1.0), ("zero_mbar", 0.05), ("zero_mbar", 11)])
def test_override_that_cannot_be_is_refused(key: str, value: float) -> None:
    with pytest.raises(ValueError, match="got"):
        Thresholds([ZERO]).overridden([Override(key, value, "x")])


def test_threshold_has_one_place() -> None:
    with pytest.raises(ValueError, match="came twice"):
        Thresholds([ZERO, ZERO])


def test_override_reaches_the_limit_of_a_burn() -> None:
    own = DEFAULTS.overridden([Override("soot_unknown_g_per_l", 4.0, "own data sheet")])
    assert soot_limit_g(Situation(litres=3.0), own)[0] == pytest.approx(12.0)


@pytest.mark.parametrize("limits", [GAUGES, RESISTANCE])
def test_shared_limits_are_those_of_the_findings(limits: Thresholds) -> None:
    shared = set(limits) & set(DEFAULTS)
    assert shared
    assert all(limits.told(key) is limits_shared(key)[0] for key in shared)


@pytest.mark.parametrize(
    "limits", [DEFAULTS, GAUGES, RESISTANCE, DRIVES, TOGETHER, ONBOARD, RESETS]
)
def test_every_threshold_says_where_it_is_from(limits: Thresholds) -> None:
    for key in limits:
        told = limits.told(key)
        assert told.basis is Basis.JUDGEMENT or told.basis is Basis.PRACTICE or told.source
        assert told.least <= told.value <= told.most < float("inf")
        if key.endswith("_probability"):
            assert told.most <= 1.0


def test_range_that_was_not_given_is_about_the_value() -> None:
    given = Threshold("fall_g", 3.0, "g", "fall", Basis.JUDGEMENT)
    assert (given.bounded.least, given.bounded.most) == pytest.approx((0.3, 30.0))
    assert Threshold("a_share", 0.3, "", "a share", Basis.JUDGEMENT).bounded.most == 1.0
    assert ZERO.bounded is ZERO


def test_no_own_value_asks_for_more_pressure_on_a_sensor_than_is_safe() -> None:
    with pytest.raises(ValueError, match="got 30001"):
        GAUGES.overridden([Override("applied_most_pa", 30_001.0, "x")])
