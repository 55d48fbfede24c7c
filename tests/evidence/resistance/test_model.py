"""The resistance index."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import lsq_linear

from garage.evidence.resistance.flow import Flow, FlowStatus
from garage.evidence.resistance.model import (
    IndexStatus,
    Reference,
    index_of_model,
    reference_for_engine,
    resistance_index,
)
from garage.evidence.resistance.points import PressurePoint, Zero
from garage.evidence.resistance.worked_model import Deposits
from tests.evidence.resistance.readings import FAST, IDLE, RAISED, flow_of, shown, shown_by

ZERO = Zero(0.0, 0.2)


def pressure_of(linear_per_m3: float, square_per_m4: float, flow: Flow) -> float:
    """mbar by the law itself, written out anew."""
    assert flow.flow_m3_per_h is not None
    assert flow.viscosity_pa_s is not None
    assert flow.density_kg_per_m3 is not None
    volume = flow.flow_m3_per_h / 3600.0
    linear = linear_per_m3 * flow.viscosity_pa_s * volume
    return (linear + square_per_m4 * flow.density_kg_per_m3 * volume**2) / 100.0


@pytest.mark.parametrize(
    ("held", "printed"),
    [(Deposits(), 0.03), (Deposits(18.0), 0.18), (Deposits(30.0), 0.29), (Deposits(0, 120), 0.10)],
)
def test_index_of_the_worked_filter_as_printed(held: Deposits, printed: float) -> None:
    """Against the worked table. Fails where unit or reference is wrong."""
    found = resistance_index(shown_by(held), ZERO)
    assert found.status is IndexStatus.OK
    assert found.resistance_mbar_per_m3_per_h == pytest.approx(printed, abs=0.0055)
    assert found.low is not None
    assert found.high is not None
    assert found.low <= found.resistance_mbar_per_m3_per_h <= found.high


def test_index_does_not_move_with_the_zero() -> None:
    """Fails where the zero is not taken off every point."""
    plain = resistance_index(shown_by(Deposits(18.0)), ZERO)
    offset = resistance_index(shown_by(Deposits(18.0), zero_mbar=4.0), Zero(4.0, 0.2))
    assert offset.resistance_mbar_per_m3_per_h == pytest.approx(plain.resistance_mbar_per_m3_per_h)


def test_index_finds_both_coefficients_again() -> None:
    """Fails where viscosity or density is dropped: made from a = 2e9, b = 1e5 at three flows."""
    points = [shown(pressure_of(2e9, 1e5, each), each) for each in (IDLE, RAISED, FAST)]
    found = resistance_index(points, ZERO)
    assert found.linear_per_m3 == pytest.approx(2e9, rel=1e-6)
    assert found.square_per_m4 == pytest.approx(1e5, rel=1e-6)
    assert found.resistance_mbar_per_m3_per_h == pytest.approx(
        index_of_model(2e9, 1e5, Reference()), rel=1e-6
    )
    assert found.chi_square == pytest.approx(0.0, abs=1e-6)


def test_index_as_bounded_least_squares_of_another_program() -> None:
    """SciPy's bounded solver with whitened rows; flow exact. Fails where the edge is misplaced."""
    flows = [flow_of(10.0, 150.0, 0.0), flow_of(30.0, 200.0, 0.0), flow_of(48.0, 250.0, 0.0)]
    readings = [5.0, 14.0, 22.0]  # grows less than linearly: the square term wants below zero
    points = [shown(p, f) for p, f in zip(readings, flows, strict=True)]
    found = resistance_index(points, ZERO)
    rows = np.array([[pressure_of(1e9, 0.0, f), pressure_of(0.0, 1e5, f)] for f in flows])
    root = np.linalg.cholesky(np.linalg.inv(np.eye(3) * 0.09 + 0.04)).T
    other = lsq_linear(root @ rows, root @ np.array(readings), bounds=(0.0, np.inf))
    assert found.square_per_m4 == pytest.approx(0.0, abs=1e-9)
    assert found.linear_per_m3 == pytest.approx(other.x[0] * 1e9, rel=1e-4)
    assert found.chi_square == pytest.approx(2.0 * other.cost, rel=1e-4)


def test_index_interval_covers_the_truth_about_as_often_as_it_says() -> None:
    """1000 drawn visits. Fails where the zero's or the flow's uncertainty is left out."""
    random = np.random.default_rng(7)
    truth = index_of_model(2e9, 1e5, Reference())
    covered = 0
    for _ in range(1000):
        offset = random.normal(0.0, 0.2)
        common = random.normal(0.0, 0.02 * 0.5**0.5)
        points = []
        for mass, temperature in ((10.0, 150.0), (48.0, 250.0), (70.0, 290.0)):
            error = common + random.normal(0.0, 0.02 * 0.5**0.5)
            true_flow = flow_of(mass, temperature)
            read = flow_of(mass * (1.0 + error), temperature)
            noise = random.normal(0.0, 0.3)
            points.append(shown(pressure_of(2e9, 1e5, true_flow) + noise + offset, read))
        found = resistance_index(points, ZERO)
        assert found.low is not None
        assert found.high is not None
        covered += found.low <= truth <= found.high
    assert 930 <= covered <= 985  # widened where points happen to scatter, so rather more


def test_index_without_zero_is_held_back() -> None:
    """Fails where a zero of nothing is taken for granted."""
    found = resistance_index(shown_by(Deposits(18.0)), None)
    assert found.status is IndexStatus.NO_ZERO
    assert found.resistance_mbar_per_m3_per_h is None
    assert found.low is None


def test_index_without_flow_is_not_known() -> None:
    """Fails where a pressure alone makes an index."""
    unknown = replace(RAISED, status=FlowStatus.NOT_KNOWN, flow_m3_per_h=None)
    found = resistance_index([shown(47.0, unknown)], ZERO)
    assert found.status is IndexStatus.NO_FLOW
    assert found.n == 0


def test_index_of_one_flow_is_a_range() -> None:
    """The truth of a filter and of a hole both lie in it. Fails where one law is presumed."""
    found = resistance_index([shown(pressure_of(2e9, 0.0, IDLE), IDLE)], ZERO)
    assert found.status is IndexStatus.ONE_FLOW
    assert found.resistance_mbar_per_m3_per_h is None
    assert found.low is not None
    assert found.high is not None
    linear = index_of_model(2e9, 0.0, Reference())
    square = linear * 28.5 / 6.87
    assert found.low < linear
    assert found.high > square


def test_index_of_one_flow_at_the_reference_is_narrow() -> None:
    """Fails where the two laws differ even at the reference itself."""
    found = resistance_index([shown(46.8, RAISED)], ZERO)
    assert found.low == pytest.approx(0.183, rel=0.1)
    assert found.high == pytest.approx(0.183, rel=0.1)


def test_index_of_pressures_below_zero_sends_to_the_sensor() -> None:
    """Fails where swapped hoses read as a free filter."""
    found = resistance_index([shown(-7.0, IDLE), shown(-47.0, RAISED)], ZERO)
    assert found.status is IndexStatus.NO_PRESSURE
    assert found.resistance_mbar_per_m3_per_h is None


def test_index_of_scattered_points_is_wider_and_says_so() -> None:
    """Fails where a misfit beyond the uncertainties goes unsaid."""
    masses = (10.0, 30.0, 48.0, 60.0)
    flows = [flow_of(each, 200.0, 0.001) for each in masses]
    noise = (6.0, -8.0, 9.0, -7.0)
    clean = [shown(pressure_of(2e9, 0.0, each), each) for each in flows]
    off = [
        replace(each, pressure_mbar=each.pressure_mbar + more)
        for each, more in zip(clean, noise, strict=True)
    ]
    steady, scattered = resistance_index(clean, ZERO), resistance_index(off, ZERO)
    assert steady.status is IndexStatus.OK
    assert scattered.status is IndexStatus.SCATTERED
    assert steady.low is not None
    assert steady.high is not None
    assert scattered.low is not None
    assert scattered.high is not None
    assert scattered.high - scattered.low > 3.0 * (steady.high - steady.low)


def test_square_share_of_a_hole_is_all_and_of_a_filter_none() -> None:
    """Fails where the terms are exchanged."""
    hole = resistance_index([shown(pressure_of(0.0, 5e5, f), f) for f in (IDLE, RAISED)], ZERO)
    wall = resistance_index([shown(pressure_of(2e9, 0.0, f), f) for f in (IDLE, RAISED)], ZERO)
    assert hole.square_share == pytest.approx(1.0, abs=1e-6)
    assert wall.square_share == pytest.approx(0.0, abs=1e-6)
    assert wall.square_share_high is not None
    assert wall.square_share_high < 0.5


def test_reference_goes_with_the_engine() -> None:
    """Fails where a 3 L engine is judged at a 2 L engine's flow."""
    assert reference_for_engine(2.0) == Reference()
    assert reference_for_engine(3.0).flow_m3_per_h == pytest.approx(384.0)


@pytest.mark.parametrize("uncertainty_mbar", [0.0, -1.0, float("nan")])
def test_index_refuses_a_point_without_uncertainty(uncertainty_mbar: float) -> None:
    """Fails where a weight would be endless."""
    with pytest.raises(ValueError, match="uncertainty_mbar"):
        resistance_index([PressurePoint(5.0, uncertainty_mbar, IDLE)], ZERO)


@settings(max_examples=60, deadline=None)
@given(st.floats(0.5, 20.0), st.floats(1.0, 200.0), st.floats(1.1, 5.0))
def test_index_goes_in_proportion_with_pressure(
    idle_mbar: float, raised_mbar: float, times: float
) -> None:
    """All pressures and uncertainties times k: index and limits times k."""
    one = resistance_index([shown(idle_mbar, IDLE), shown(raised_mbar, RAISED)], ZERO)
    more = resistance_index(
        [
            shown(idle_mbar * times, IDLE, 0.3 * times),
            shown(raised_mbar * times, RAISED, 0.3 * times),
        ],
        Zero(0.0, 0.2 * times),
    )
    for first, second in (
        (one.resistance_mbar_per_m3_per_h, more.resistance_mbar_per_m3_per_h),
        (one.low, more.low),
        (one.high, more.high),
    ):
        assert first is not None
        assert second == pytest.approx(first * times, rel=1e-5, abs=1e-9)


@settings(max_examples=150, deadline=None)
@given(
    st.lists(
        st.tuples(st.floats(-50.0, 400.0), st.floats(1.0, 200.0), st.floats(0.01, 20.0)),
        min_size=1,
        max_size=6,
    ),
    st.floats(0.0, 10.0),
)
def test_index_lies_within_its_limits_whatever_came(
    readings: list[tuple[float, float, float]], zero_uncertainty_mbar: float
) -> None:
    """Any pressures: figures are finite, in order and not below zero. Fails on a lost edge."""
    points = [shown(p, flow_of(m, 200.0), u) for p, m, u in readings]
    found = resistance_index(points, Zero(0.0, zero_uncertainty_mbar))
    if found.low is None or found.high is None:
        assert found.status in {IndexStatus.NO_PRESSURE}
        return
    assert 0.0 <= found.low <= found.high < float("inf")
    index = found.resistance_mbar_per_m3_per_h
    if index is not None:
        assert found.low <= index * (1 + 1e-9) + 1e-12
        assert index <= found.high * (1 + 1e-9) + 1e-12
    if found.square_share is not None and found.square_share_low is not None:
        assert found.square_share_high is not None
        assert found.square_share_low - 0.01 <= found.square_share
        assert found.square_share <= found.square_share_high + 0.01
