"""Rates of comebacks: how often, within which days and km, after which operation."""

from datetime import date
from itertools import count

import numpy as np
import pytest

from garage.lifetimes.capture.share import all_captured, capture_share
from garage.outcomes.capture import Captures
from garage.outcomes.comeback_rates import ALL_FAMILIES, ComebackRates, comeback_rates
from garage.outcomes.comebacks import COMEBACK, OTHER_END, WITHDRAWN, IndexJob

ALL_SEEN = Captures({1: all_captured()})
_ids = count(1)


def index(outcome: int, after_days: int, after_km: int | None = None, **said: object) -> IndexJob:
    number = next(_ids)
    plain: dict[str, object] = {
        "job_id": number,
        "vehicle_id": number,
        "organisation_id": 1,
        "family": "Alder 16",
        "operation": "replace",
        "closed_on": date(2020, 1, 1),
        "outcome": outcome,
        "after_days": after_days,
        "after_km": after_km,
        "answered_elsewhere": None,
    }
    return IndexJob(**{**plain, **said})  # type: ignore[arg-type]


def rates(jobs: list[IndexJob], captures: Captures = ALL_SEEN) -> list[ComebackRates]:
    return comeback_rates(jobs, captures, lambda *_: np.random.default_rng(1))


def within_days(jobs: list[IndexJob], captures: Captures = ALL_SEEN) -> dict[int, float | None]:
    return {each.at: each.figure.value for each in rates(jobs, captures)[0].within_days}


def test_rates_are_given_at_the_designs_days_and_km() -> None:
    (row, _) = rates([index(WITHDRAWN, 400, 30_000)])
    assert [each.at for each in row.within_days] == [7, 30, 90, 365]
    assert [each.at for each in row.within_km] == [500, 2_000, 10_000, 20_000]


def test_a_rate_is_the_share_that_came_back_within_the_window() -> None:
    jobs = [index(COMEBACK, days) for days in (5, 20, 20, 80)] + [
        index(WITHDRAWN, 400) for _ in range(6)
    ]
    found = within_days(jobs)
    assert found == pytest.approx({7: 0.1, 30: 0.3, 90: 0.4, 365: 0.4})


def test_the_silent_leave_the_later_windows_but_count_in_the_earlier() -> None:
    # 10 at risk; 5 leave at day 50; then 1 of 5 comes back at day 60: 1/10 and 1/10 + 9/10 of 1/4.
    jobs = [
        index(COMEBACK, 5),
        *(index(WITHDRAWN, 50) for _ in range(5)),
        index(COMEBACK, 60),
        *(index(WITHDRAWN, 400) for _ in range(3)),
    ]
    found = within_days(jobs)
    assert found[30] == pytest.approx(0.1)
    assert found[90] == pytest.approx(0.1 + 0.9 / 4)


def test_another_end_competes_and_does_not_censor() -> None:
    rest = [index(WITHDRAWN, 400) for _ in range(4)]
    before = [index(OTHER_END, 10) for _ in range(5)]
    censored = [index(WITHDRAWN, 10) for _ in range(5)]
    came_back = [index(COMEBACK, 20)]
    # Five of ten sold can come back no more: 1 of 10. Five of ten unseen are as the others: 1/5.
    assert within_days(came_back + before + rest)[30] == pytest.approx(0.1)
    assert within_days(came_back + censored + rest)[30] == pytest.approx(0.2)


def test_a_rate_is_divided_by_the_capture_share() -> None:
    jobs = [index(COMEBACK, 5), *(index(WITHDRAWN, 400) for _ in range(19))]
    share = capture_share(10, 10)
    found = within_days(jobs, Captures({1: share}))
    assert share.value is not None
    assert found[30] == pytest.approx(0.05 / share.value)


def test_a_rate_never_exceeds_1() -> None:
    jobs = [index(COMEBACK, 5) for _ in range(10)]
    assert within_days(jobs, Captures({1: capture_share(1, 40)}))[30] == 1


def test_all_families_come_first_and_operations_from_the_strongest() -> None:
    jobs = [
        index(WITHDRAWN, 10, operation="clear_codes"),
        index(WITHDRAWN, 10, family="Birch 20"),
        index(WITHDRAWN, 10),
    ]
    assert [(each.engine_family, each.operation, each.jobs) for each in rates(jobs)] == [
        (ALL_FAMILIES, "replace", 2),
        (ALL_FAMILIES, "clear_codes", 1),
        ("Alder 16", "replace", 1),
        ("Alder 16", "clear_codes", 1),
        ("Birch 20", "replace", 1),
    ]


def test_counts_stand_beside_the_rates() -> None:
    row = rates(
        [
            index(COMEBACK, 5, vehicle_id=7),
            index(COMEBACK, 5, vehicle_id=7),
            index(OTHER_END, 9),
            index(WITHDRAWN, 9),
        ]
    )[0]
    assert (row.jobs, row.comebacks, row.other_ends, row.vehicles) == (4, 2, 1, 3)
    figure = row.within_days[1].figure
    assert (figure.n, figure.failed) == (4, 2)
    assert figure.source


def test_jobs_without_an_odometer_are_absent_from_km_alone_and_counted() -> None:
    jobs = [index(COMEBACK, 5, 300), index(WITHDRAWN, 400, 30_000), index(COMEBACK, 5, None)]
    row = rates(jobs)[0]
    assert (row.jobs, row.without_km) == (3, 1)
    assert (row.within_days[0].figure.n, row.within_km[0].figure.n) == (3, 2)
    assert row.within_km[0].figure.value == pytest.approx(1 / 2)


def test_without_any_odometer_there_is_no_rate_by_km_and_it_says_so() -> None:
    row = rates([index(COMEBACK, 5, None)])[0]
    assert {each.figure.value for each in row.within_km} == {None}
    assert all(each.figure.reason for each in row.within_km)


def test_no_jobs_no_rates() -> None:
    assert rates([]) == []


def test_intervals_hold_the_rate_and_are_wider_for_fewer() -> None:
    def widths(number: int) -> float:
        jobs = [
            index(COMEBACK if n % 4 == 0 else WITHDRAWN, 20 if n % 4 == 0 else 400)
            for n in range(number)
        ]
        figure = rates(jobs)[0].within_days[1].figure
        assert figure.value == pytest.approx(0.25)
        assert figure.lower is not None
        assert figure.upper is not None
        assert figure.lower < 0.25 < figure.upper
        return figure.upper - figure.lower

    assert widths(40) > widths(400)
