"""A sensor against a known gauge."""

import numpy as np
import pytest
from scipy import stats

from garage.evidence.gauges.line import line_through
from garage.evidence.gauges.sensor_check import Known, Point, sensor_checked

REST = [5.0, 8.0, 2.0, 5.0]
STEPS = ((0, 10), (10_000, -10), (20_000, -10), (30_000, 10))


def points(gain: float = 1.0, offset: float = 0.0) -> list[Point]:
    return [Point(x, gain * x + offset + e) for x, e in STEPS]


def test_line_gum_thermometer() -> None:
    """JCGM 100:2008, H.3, points and results from memory; fails if the line is fitted wrong."""
    t = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
    b = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160]
    line = line_through([each - 20 for each in t], b)
    assert line.intercept == pytest.approx(-0.1712, abs=5e-5)
    assert line.slope == pytest.approx(0.00218, abs=5e-6)
    assert line.intercept_uncertainty == pytest.approx(0.0029, abs=5e-5)
    assert line.slope_uncertainty == pytest.approx(0.00067, abs=5e-6)


def test_line_as_scipy_linregress() -> None:
    """Second implementation; fails if an uncertainty drops a degree of freedom."""
    random = np.random.default_rng(4)
    x = random.uniform(0, 3e4, 9).tolist()
    y = [each * 1.01 + 40 + float(random.normal(0, 30)) for each in x]
    line, other = line_through(x, y), stats.linregress(x, y)
    assert line.slope_uncertainty == pytest.approx(other.stderr)
    assert line.intercept_uncertainty == pytest.approx(other.intercept_stderr)


def test_sensor_true() -> None:
    """Fails if a sound sensor is called out, or unseen hysteresis is told as a number."""
    told = sensor_checked(points(), REST)
    assert (told.verdict, told.finding, told.grading) == ("within", "true", "grade")
    assert told.hysteresis.value is None


@pytest.mark.parametrize(("gain", "finding"), [(1.2, "gain"), (0.8, "gain")])
def test_sensor_gain_out(gain: float, finding: str) -> None:
    """Fails if one side of the tolerance is not watched."""
    assert sensor_checked(points(gain), REST).finding == finding


def test_sensor_poor_gauge_cannot_tell() -> None:
    """Fails if the gauge's own uncertainty is left out."""
    told = sensor_checked(points(1.04), REST, known=Known(gauge_uncertainty_pa=300))
    assert told.gain.verdict == "cannot be told"


@pytest.mark.parametrize(
    ("zero", "grading", "finding"),
    [(150, "grade", "true"), (300, "raised speed only", None), (600, "hold", "offset")],
)
def test_sensor_zero_rule(zero: float, grading: str, finding: str | None) -> None:
    """Fails if the bounds of 2 and 5 mbar are moved, or a zero that is taken off is a fault."""
    told = sensor_checked(points(1, zero), [zero + r - 5 for r in REST])
    assert (told.grading, told.finding) == (grading, finding)


def test_sensor_zero_as_large_as_idle_holds() -> None:
    """Fails if a zero that hides a sound idle reading lets grade."""
    assert sensor_checked(points(), [150.0, 152.0], sound_idle_pa=150).grading == "hold"


def test_sensor_hysteresis_out() -> None:
    """Fails if falling points are merged with rising ones."""
    falling = [Point(p.applied_pa, p.indicated_pa + 3_000, False) for p in points()]
    told = sensor_checked([*points(), *falling], REST)
    assert told.finding == "not_linear"


def test_sensor_one_point_tells_zero_only() -> None:
    """Fails if a slope is made of one point."""
    told = sensor_checked([Point(10_000, 9_900)], REST)
    assert (told.zero.verdict, told.gain.value, told.verdict) == ("within", None, "cannot be told")


def test_sensor_at_rest_repeated_zeros_of_a_coarse_display_cannot_tell() -> None:
    """A display of 1 kPa steps shows 0 up to 500 Pa off; fails if repeating hides the rounding."""
    coarse = sensor_checked(points(), [0.0, 0.0, 0.0], known=Known(indicated_step_pa=1_000))
    assert coarse.zero.verdict == "cannot be told"
    assert coarse.zero.limits == pytest.approx((-565.8, 565.8), abs=0.1)  # 1.95996 x 1000 / root 12
    fine = sensor_checked(points(), [0.0, 0.0, 0.0], known=Known(indicated_step_pa=100))
    assert fine.zero.verdict == "within"


def test_sensor_rounding_reaches_gain_linearity_and_hysteresis() -> None:
    """Fails if a measure forgets the display's step."""
    falling = [Point(p.applied_pa, p.indicated_pa, False) for p in points()]
    both = [*points(), *falling]
    fine = sensor_checked(both, REST)
    coarse = sensor_checked(both, REST, known=Known(indicated_step_pa=1_000))
    for name in ("gain", "linearity", "hysteresis"):
        narrow, wide = getattr(fine, name).limits, getattr(coarse, name).limits
        assert wide[1] - wide[0] > narrow[1] - narrow[0]


@pytest.mark.parametrize("wrong", [-1.0, float("nan"), float("inf")])
@pytest.mark.parametrize("name", ["gauge_uncertainty_pa", "indicated_step_pa"])
def test_known_that_cannot_be_is_refused(name: str, wrong: float) -> None:
    with pytest.raises(ValueError, match=name):
        Known(**{name: wrong})
