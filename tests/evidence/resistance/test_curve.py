"""The fitted filter drawn over flow."""

import pytest

from garage.evidence.resistance.curve import curve_of
from garage.evidence.resistance.gas import air_viscosity_pa_s
from garage.evidence.resistance.model import IndexStatus, resistance_index
from garage.evidence.resistance.points import Zero
from garage.evidence.resistance.visit_said import FlowFrom, PointTaken
from garage.evidence.resistance.worked_model import Deposits
from tests.evidence.resistance.readings import shown_by

LOADED = shown_by(Deposits(soot_g=18.0))
TAKEN = tuple(
    PointTaken(condition, None, "", point.pressure_mbar, temperature, FlowFrom.EXHAUST_FLOW, point)
    for condition, temperature, point in zip(
        ("idle", "raised"), (150.0, 250.0), LOADED, strict=True
    )
)


def test_curve_passes_through_the_points_brought_to_one_temperature() -> None:
    curve = curve_of(resistance_index(LOADED, Zero(0.0, 0.2)), TAKEN)
    for point in curve.points:
        near = min(curve.steps, key=lambda step: abs(step.flow_m3_per_h - point.flow_m3_per_h))
        # A tenth: half a step of the curve beside the point.
        assert point.pressure_mbar == pytest.approx(
            near.pressure_mbar * point.flow_m3_per_h / near.flow_m3_per_h, rel=0.1
        )
        assert near.low_mbar <= point.pressure_mbar <= near.high_mbar


def test_cold_point_is_lifted_by_the_viscosity_of_the_reference() -> None:
    # The worked model has no term in the square: pressure goes by viscosity alone.
    curve = curve_of(resistance_index(LOADED, Zero(0.0, 0.2)), TAKEN)
    lifted = curve.points[0].pressure_mbar / LOADED[0].pressure_mbar
    assert lifted == pytest.approx(air_viscosity_pa_s(250.0) / air_viscosity_pa_s(150.0), rel=1e-6)


def test_no_curve_is_drawn_where_none_was_fitted() -> None:
    one = resistance_index(LOADED[:1], Zero(0.0, 0.2))
    assert one.status is IndexStatus.ONE_FLOW
    assert curve_of(one, TAKEN[:1]).steps == ()
