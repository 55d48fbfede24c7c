"""The Nelson-Aalen estimate against other programs and its own laws."""

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from garage.lifetimes.curves.nelson_aalen import nelson_aalen
from garage.lifetimes.curves.product_limit import product_limit
from garage.lifetimes.risk_table import LivesArrays, RiskTable
from garage.lifetimes.status import Status
from tests.lifetimes.conftest import CheckCase, Rows, table_of

Case = Callable[[str], CheckCase]
ReadRows = Callable[[str], Rows]


def test_ties_of_six_subjects_equal_the_exact_fractions() -> None:
    # Therneau, software validation vignette: Breslow and Efron columns at beta = 0.
    table = table_of([1, 1, 6, 6, 8, 9], [1, 0, 1, 1, 0, 1])
    assert nelson_aalen(table).hazard.tolist() == pytest.approx([1 / 6, 2 / 3, 5 / 3])
    one_by_one = nelson_aalen(table, ties="fleming-harrington").hazard
    assert one_by_one.tolist() == pytest.approx([1 / 6, 3 / 4, 7 / 4])


def test_remission_case(check_case: Case) -> None:
    case = check_case("NA-01")
    curve = nelson_aalen(table_of(case.data["time"], case.data["event"]))
    case.holds("H(t) at event times", curve.hazard)
    case.holds("var = sum d/n^2", curve.variance)
    case.holds("K&M Table 4.2 values", curve.hazard)


def test_six_subjects_case(check_case: Case) -> None:
    case = check_case("NA-02")
    table = table_of(case.data["time"], case.data["event"])
    case.holds("Nelson-Aalen H at 1, 6, 9 = 1/6, 2/3, 5/3", nelson_aalen(table).hazard)
    case.holds(
        "Fleming-Harrington H at 1, 6, 9 = 1/6, 3/4, 7/4",
        nelson_aalen(table, ties="fleming-harrington").hazard,
    )


def test_shock_absorbers_and_bus_engines_case(check_case: Case, check_rows: ReadRows) -> None:
    case = check_case("NA-05")
    rows = check_rows("fetched/shock_absorber_km.csv")
    absorbers = nelson_aalen(
        table_of([int(r["distance"]) for r in rows], [int(r["status"]) for r in rows])
    )
    case.holds("shock absorber H at event km", absorbers.hazard)
    case.holds("shock absorber var", absorbers.variance)
    rows = [r for r in check_rows("fetched/rust_bus_engines.csv") if r["group"] == "4"]
    engines = nelson_aalen(
        table_of(
            *([int(r[name]) for r in rows] for name in ("exit_miles", "replaced", "entry_miles"))
        )
    )
    case.holds("Rust group 4: H at its event miles (first five)", engines.hazard[:5])
    case.holds("those miles", engines.clock[:5])


def test_weighted_entries_case(check_case: Case) -> None:
    case = check_case("LT-05")
    table = table_of(*(case.data[name] for name in ("time", "event", "entry", "count")))
    curve = nelson_aalen(table)
    inside = [curve.at(t).value for t in (3, 9, 18, 27, 40, 55)]
    # Beyond the last life nothing is watched: the curve refuses where the source repeats.
    assert curve.at(60).status is Status.BEYOND_WATCH
    case.holds("Nelson-Aalen H at 3,9,18,27,40,55,60", [*inside, inside[-1]])


def test_capture_share_scales_hazard_and_its_error() -> None:
    lives = LivesArrays([0] * 10, [4] * 2 + [9] * 8, [1] * 2 + [0] * 8, capture=[0.5] * 10)
    curve = nelson_aalen(RiskTable.from_lives(lives, unit="km"))
    seen = nelson_aalen(table_of([4] * 2 + [9] * 8, [1] * 2 + [0] * 8))
    np.testing.assert_allclose(curve.hazard, 2 * seen.hazard)
    np.testing.assert_allclose(curve.variance, 4 * seen.variance)


def test_no_failures_gives_zero_with_an_upper_limit() -> None:
    curve = nelson_aalen(table_of([50] * 20, [0] * 20))
    assert curve.status is Status.NO_FAILURES
    point = curve.at(50)
    assert (point.value, point.lower) == (0.0, 0.0)
    assert point.upper == pytest.approx(-np.log(0.025) / 20)


def test_no_lives_has_no_value() -> None:
    curve = nelson_aalen(RiskTable.empty("km"))
    assert (curve.at(1).value, curve.at(1).status) == (None, Status.NO_LIVES)


@pytest.mark.parametrize("wrong", [{"limits": "log-log"}, {"ties": "efron"}])
def test_wrong_arguments_are_refused(wrong: dict[str, str]) -> None:
    with pytest.raises(ValueError, match="got"):
        nelson_aalen(table_of([5], [1]), **wrong)  # type: ignore[arg-type]


lives_lists = st.lists(
    st.tuples(st.integers(0, 30), st.integers(1, 40), st.booleans()), min_size=1, max_size=40
)


@settings(max_examples=60, deadline=None)
@given(lives_lists)
def test_hazard_lies_between_the_share_failed_and_minus_its_logarithm(
    lives: list[tuple[int, int, bool]],
) -> None:
    # -log S >= sum of hazards >= 1 - S, for any risk sets.
    table = table_of(
        [a + b for a, b, _ in lives], [int(c) for *_, c in lives], [a for a, *_ in lives]
    )
    hazard, survival = nelson_aalen(table).hazard, product_limit(table).survival
    assert np.all(hazard >= 1 - survival - 1e-12)
    left = survival > 0
    assert np.all(hazard[left] <= -np.log(survival[left]) + 1e-12)
