"""Cumulative incidence against printed values, other programs and its own laws."""

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from garage.lifetimes.curves.cumulative_incidence import cumulative_incidence
from garage.lifetimes.curves.product_limit import product_limit
from garage.lifetimes.risk_table import LivesArrays, RiskTable
from garage.lifetimes.status import Status
from tests.lifetimes.conftest import CheckCase, Rows, table_of
from tests.lifetimes.jackknife import jackknife_variance

Case = Callable[[str], CheckCase]
ReadRows = Callable[[str], Rows]

ELEVEN_EXITS = [1, 2, 3, 4, 5, 6, 7, 8, 6, 7, 8]
ELEVEN_CAUSES = [1, 1, 2, 0, 1, 1, 3, 0, 2, 3, 0]


def test_eleven_subjects_equal_the_printed_table() -> None:
    # Therneau, A package for survival analysis in R, vignette of package survival 3.8-6.
    curves = cumulative_incidence(table_of(ELEVEN_EXITS, ELEVEN_CAUSES, causes=3))
    assert curves.clock.tolist() == [1, 2, 3, 5, 6, 7]
    np.testing.assert_allclose(
        curves.incidence[0], [0.0909, 0.1818, 0.1818, 0.2857, 0.3896, 0.3896], atol=6e-5
    )
    np.testing.assert_allclose(
        curves.incidence[1], [0, 0, 0.0909, 0.0909, 0.1948, 0.1948], atol=6e-5
    )
    assert curves.at("cause 3", 7).value == pytest.approx(0.208, abs=6e-4)


def test_eleven_subjects_case(check_case: Case) -> None:
    case = check_case("AJ-01")
    table = table_of(case.data["time"], case.data["cause"], causes=3)
    curves = cumulative_incidence(table)
    case.holds("event times", curves.clock)
    case.holds("F1 at 1,2,3,5,6,7 = 1/11, 2/11, 2/11, 2/7, 30/77, 30/77", curves.incidence[0])
    case.holds("F2 = 0, 0, 1/11, 1/11, 15/77, 15/77", curves.incidence[1])
    case.holds("F3 at 7 = 16/77", curves.at("cause 3", 7).value)
    case.holds(
        "SE of F1, F2, F3 at 7 (infinitesimal jackknife, R survfit)",
        curves.standard_error[:, -1],
    )
    counted = cumulative_incidence(table, variance="counting-process")
    at = np.searchsorted(counted.clock, range(1, 9), side="right") - 1
    case.holds("variance of F1 at 1..8 (cmprsk)", counted.standard_error[0, at] ** 2)


def test_one_minus_survival_of_a_cause_exceeds_its_incidence_case(check_case: Case) -> None:
    case = check_case("CR-01")
    table = table_of(case.data["time"], case.data["cause"], causes=3)
    curves = cumulative_incidence(table)
    alone = [product_limit(table.cause_alone(cause)) for cause in table.causes]

    def failed_alone(number: int, clock: int) -> float:
        value = alone[number].at(clock).value
        assert value is not None
        return 1 - value

    case.holds("1-KM cause 1 at 1..8", [failed_alone(0, t) for t in range(1, 9)])
    case.holds("CIF cause 1 at 1..8", [curves.at("cause 1", t).value for t in range(1, 9)])
    case.holds(
        "1-KM cause 2 at 8 = 7/27, CIF = 15/77",
        [failed_alone(1, 8), curves.at("cause 2", 8).value],
    )
    case.holds(
        "sum of the three 1-KM at 8, sum of CIF + S = 1",
        [
            sum(failed_alone(number, 8) for number in range(3)),
            curves.incidence[:, -1].sum() + curves.event_free[-1],
        ],
    )


@pytest.mark.parametrize("sex", ["F", "M"])
def test_progression_and_death_case(check_case: Case, check_rows: ReadRows, sex: str) -> None:
    case = check_case("AJ-03")
    rows = [each for each in check_rows("mgus2.csv") if each["sex"] == sex]
    table = RiskTable.from_lives(
        LivesArrays([0] * len(rows), [int(r["etime"]) for r in rows], [int(r["ev"]) for r in rows]),
        unit="months",
        causes=("progression", "death"),
    )
    curves = cumulative_incidence(table)
    ages = (60, 120, 240)
    times = "60,120,240 months" if sex == "F" else "60,120,240"
    case.holds(f"{sex}: F_pcm at {times}", [curves.at("progression", t).value for t in ages])
    case.holds(f"{sex}: F_death", [curves.at("death", t).value for t in ages])
    years = curves.mean_time(240)
    assert years.free is not None
    assert years.by_cause is not None
    printed = case.expected(
        "years in state over 20 years: F s0, M s0, F pcm, M pcm, F death, M death"
    )
    measured = [years.free / 12, *(each / 12 for each in years.by_cause)]
    np.testing.assert_allclose(measured, printed[("F", "M").index(sex) :: 2], atol=1e-5)


def absorbers(rows: Rows) -> RiskTable:
    modes = {"censored": 0, "mode_1": 1, "mode_2": 2}
    return table_of(
        [int(r["distance"]) for r in rows], [modes[r["failure_mode"]] for r in rows], causes=2
    )


def test_shock_absorber_modes_case(check_case: Case, check_rows: ReadRows) -> None:
    case = check_case("AJ-05")
    table = absorbers(check_rows("fetched/shock_absorber_km.csv"))
    curves = cumulative_incidence(table)
    case.holds("event km", curves.clock)
    case.holds("F mode 1", curves.incidence[0])
    case.holds("F mode 2", curves.incidence[1])
    case.holds("SE mode 1 (infinitesimal jackknife)", curves.standard_error[0])
    case.holds("SE mode 2", curves.standard_error[1])
    counted = cumulative_incidence(table, variance="counting-process")
    points = [10_000, 15_000, 20_000, 25_000, 28_000]
    at = np.searchsorted(counted.clock, points, side="right") - 1
    case.holds(
        "var mode 1 at 10,15,20,25,28 thousand km (cmprsk)", counted.standard_error[0, at] ** 2
    )


def test_shock_absorber_modes_against_one_minus_survival_case(
    check_case: Case, check_rows: ReadRows
) -> None:
    case = check_case("CR-03")
    table = absorbers(check_rows("fetched/shock_absorber_km.csv"))
    curves = cumulative_incidence(table)
    points = [10_000, 15_000, 20_000, 25_000, 28_000]
    for number in (1, 2):
        cause = f"cause {number}"
        alone = product_limit(table.cause_alone(cause))
        name = f"mode {number}: 1-KM" + (" at 10,15,20,25,28 thousand km" if number == 1 else "")
        values = np.array([alone.at(km).value for km in points], float)
        case.holds(name, 1 - values)
        case.holds(f"mode {number}: CIF", [curves.at(cause, km).value for km in points])


def slow_variance(entry: list[int], exit_: list[int], cause: list[int], clock: int) -> float:
    """Infinitesimal jackknife by brute force: the estimate's derivative in each life's weight."""

    def estimate(weights: np.ndarray) -> float:
        free, failed = 1.0, 0.0
        for t in sorted({e for e, c in zip(exit_, cause, strict=True) if c and e <= clock}):
            at_risk = sum(w for w, a, b in zip(weights, entry, exit_, strict=True) if a < t <= b)
            hits = [
                sum(
                    w
                    for w, b, c in zip(weights, exit_, cause, strict=True)
                    if b == t and c == which
                )
                for which in (1, 2)
            ]
            failed += free * hits[0] / at_risk
            free *= 1 - sum(hits) / at_risk
        return failed

    return jackknife_variance(estimate, len(exit_))


def test_delta_variance_equals_a_jackknife_by_brute_force() -> None:
    rng = np.random.default_rng(11)
    exit_ = rng.integers(1, 12, 40).tolist()
    cause = rng.integers(0, 3, 40).tolist()
    curves = cumulative_incidence(table_of(exit_, cause, causes=2))
    for clock, error in zip(curves.clock, curves.standard_error[0], strict=True):
        slow = slow_variance([0] * 40, exit_, cause, int(clock))
        assert error**2 == pytest.approx(slow, rel=1e-5, abs=1e-9)


def test_capture_shares_by_cause_divide_their_own_failures() -> None:
    # By hand: 10 lives, 2 of cause 1 seen with chance 1/2 at 4, hazard 0.4; then one of the
    # 6.0 the estimate keeps free, of 8 watched, fails of cause 2 at 6: 0.6 / 8.
    lives = LivesArrays(
        [0] * 10, [4, 4, 6, *[9] * 7], [1, 1, 2, *[0] * 7], capture=[0.5, 0.5, *[1.0] * 8]
    )
    curves = cumulative_incidence(RiskTable.from_lives(lives, unit="km", causes=("a", "b")))
    assert curves.incidence[:, -1].tolist() == pytest.approx([0.4, 0.6 / 8])


def test_cause_that_never_struck_has_an_exact_upper_limit() -> None:
    point = cumulative_incidence(table_of([5] * 20, [1] * 2 + [0] * 18, causes=2)).at("cause 2", 4)
    assert (point.value, point.failed, point.status) == (0.0, 0, Status.OK)
    assert point.upper == pytest.approx(0.1684, abs=5e-5)


def test_early_small_risk_set_gives_a_status_and_no_figure() -> None:
    exit_, cause, entry = [5, 90, 95, *[100] * 100], [1, 2, 0, *[0] * 100], [0, 0, 0, *[50] * 100]
    curves = cumulative_incidence(table_of(exit_, cause, entry, causes=2))
    for result in (curves.at("cause 1", 60), curves.at("cause 2", 95)):
        assert (result.value, result.status) == (None, Status.SMALL_RISK_SET)
    assert curves.mean_time(60).free is None
    assert curves.at("cause 1", 4).value == 0.0


def test_no_lives_and_beyond_watch_have_no_value() -> None:
    none = cumulative_incidence(RiskTable.empty("km", ("a", "b")))
    assert none.at("a", 5).status is Status.NO_LIVES
    some = cumulative_incidence(table_of([5, 9], [1, 0], causes=2))
    assert (some.at("cause 1", 10).value, some.at("cause 1", 10).status) == (
        None,
        Status.BEYOND_WATCH,
    )
    with pytest.raises(ValueError, match="the causes of these curves"):
        some.at("cause 9", 5)


lives_lists = st.lists(
    st.tuples(st.integers(0, 30), st.integers(1, 40), st.integers(0, 3)), min_size=1, max_size=40
)


@settings(max_examples=80, deadline=None)
@given(lives_lists, st.sampled_from(["delta", "counting-process"]))
def test_incidences_and_the_share_free_add_up_to_one(
    lives: list[tuple[int, int, int]], variance: str
) -> None:
    table = table_of(
        [a + b for a, b, _ in lives], [c for *_, c in lives], [a for a, *_ in lives], causes=3
    )
    curves = cumulative_incidence(table, variance=variance)  # type: ignore[arg-type]
    np.testing.assert_allclose(curves.incidence.sum(axis=0) + curves.event_free, 1)
    assert np.all(np.diff(curves.incidence, axis=1) >= -1e-15)
    assert np.all(np.isfinite(curves.standard_error))
    assert np.all(curves.lower <= curves.incidence + 1e-12)
    assert np.all(curves.upper >= curves.incidence - 1e-12)


@settings(max_examples=40, deadline=None)
@given(lives_lists)
def test_single_cause_is_one_minus_survival_with_greenwoods_error(
    lives: list[tuple[int, int, int]],
) -> None:
    table = table_of(
        [a + b for a, b, _ in lives], [min(c, 1) for *_, c in lives], [a for a, *_ in lives]
    )
    curves, survival = cumulative_incidence(table), product_limit(table)
    np.testing.assert_allclose(curves.incidence[0], 1 - survival.survival, atol=1e-12)
    left = survival.survival > 0
    np.testing.assert_allclose(
        curves.standard_error[0][left], survival.standard_error[left], atol=1e-8
    )
