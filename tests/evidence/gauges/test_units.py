"""Units of pressure against the printed factors of NIST SP 811, appendix B.8."""

from fractions import Fraction

import pytest

from garage.evidence.gauges.units import PA_PER_UNIT, pa_per_unit


@pytest.mark.parametrize(
    ("unit", "printed", "tolerance"),
    [
        ("psi", 6894.757, 0.0006),
        ("bar", 100_000, 0),
        ("mbar", 100, 0),
        ("kPa", 1000, 0),
        ("inHg", 3386.389, 0.0006),
        ("inH2O", 249.0889, 0.00006),
        ("mmHg", 133.3224, 0.00006),
        ("mmH2O", 9.80665, 0.000006),
    ],
)
def test_unit_is_the_printed_factor(unit: str, printed: float, tolerance: float) -> None:
    # Fails when a factor is mistyped or a spelling points to another unit.
    factor = pa_per_unit(unit)
    assert factor is not None
    assert abs(float(factor) - printed) <= tolerance


def test_psi_is_exact_from_pound_gravity_and_inch() -> None:
    # NIST SP 811: 0.453 592 37 kg x 9.806 65 m/s2 / (0.0254 m)^2.
    assert float(PA_PER_UNIT["psi"]) == pytest.approx(6894.757293168361, abs=1e-9)


@pytest.mark.parametrize("text", ["mBar", " mbar ", "hPa", "h Pa"])
def test_spellings_of_one_unit(text: str) -> None:
    assert pa_per_unit(text) == Fraction(100)


@pytest.mark.parametrize("text", ["", "stone", "bar g", "5"])
def test_unit_that_is_not_known_is_none(text: str) -> None:
    assert pa_per_unit(text) is None
