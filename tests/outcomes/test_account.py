"""Rule 7: the account of lives closes."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from garage.outcomes.account import account_of
from garage.outcomes.choices import FAILURES, Ending, LifeClass
from garage.records.models import Fitment
from tests.outcomes.histories import EXHAUST, History, Op, lives
from tests.outcomes.worlds import life
from tests.records.factories import OrganisationFactory


def test_classes_add_up_to_the_fitments_and_endings_to_the_used() -> None:
    used = [life(50_000, failed=True), life(60_000), life(70_000, ending=Ending.REMOVED_UNFAILED)]
    left_out = [life(0, life_class=each) for each in LifeClass if each != LifeClass.USED]
    account = account_of([*used, *left_out])
    assert (account.fitments, account.used, account.failed) == (8, 3, 1)
    assert set(account.classes.values()) == {1, 3}
    assert account.closes


def test_every_class_and_ending_is_named_even_where_it_is_empty() -> None:
    account = account_of([])
    assert list(account.classes) == [each.value for each in LifeClass]
    assert list(account.endings) == [each.value for each in Ending]
    assert set(account.classes.values()) | set(account.endings.values()) == {0}
    assert account.closes


@pytest.mark.parametrize("ending", sorted(Ending))
def test_an_ending_counts_once_and_as_failed_where_it_is_a_failure(ending: Ending) -> None:
    account = account_of([life(50_000, ending=ending)])
    assert account.endings[ending] == 1
    assert account.failed == (ending in FAILURES)


def test_endings_are_those_of_the_used_alone() -> None:
    account = account_of([life(50_000, failed=True, life_class=LifeClass.ENTERED_IN_TROUBLE)])
    assert (account.failed, sum(account.endings.values()), account.closes) == (0, 0, True)


@pytest.mark.parametrize(
    "wrong",
    [{"fitments": 2}, {"classes": {LifeClass.USED: 2}}, {"endings": {Ending.STILL_IN_PLACE: 2}}],
)
def test_an_account_that_does_not_add_up_does_not_close(wrong: dict[str, Any]) -> None:
    account = account_of([life(50_000)])
    assert account.closes
    assert not replace(account, **wrong).closes


# --- any history: random vehicles, jobs and operations ---


@dataclass(frozen=True)
class Visit:
    gap_days: int
    distance_km: int | None
    slipped: bool
    planned: bool | None
    system: str
    ops: tuple[Op, ...]


def _ops() -> st.SearchStrategy[Op]:
    said = st.fixed_dictionaries(
        {},
        optional={
            "part_origin": st.sampled_from(["factory", "new_original", "used", "unknown"]),
            "found_in_place": st.sampled_from(["same", "another"]),
            "position": st.sampled_from(["", "bank 1"]),
            "removed_because": st.sampled_from(
                ["failed", "sound", "planned", "damaged_by_other_fault", "unknown"]
            ),
        },
    )
    kind = st.sampled_from(["inspect", "replace", "clean_off_vehicle", "clear_codes"])
    return st.builds(Op, kind, said)


VISITS = st.lists(
    st.builds(
        Visit,
        gap_days=st.integers(1, 700),
        distance_km=st.none() | st.integers(0, 60_000),
        slipped=st.integers(0, 9).map(lambda dice: dice == 0),
        planned=st.sampled_from([True, False, None]),
        system=st.sampled_from([EXHAUST, "brakes"]),
        ops=st.lists(_ops(), max_size=2).map(tuple),
    ),
    min_size=1,
    max_size=6,
)
FLEETS = st.lists(
    st.tuples(VISITS, st.sampled_from([True, False, None]), st.integers(0, 4)),
    min_size=1,
    max_size=3,
)


def tell(visits: Iterable[Visit], watched_from_new: bool | None, ended: int) -> None:
    van = History(OrganisationFactory(), watched_from_new=watched_from_new)
    day, km = date(2012, 1, 1), 20_000
    for visit in visits:
        day += timedelta(days=visit.gap_days)
        km += visit.distance_km or 0
        shown = None if visit.distance_km is None else km * (10 if visit.slipped else 1)
        van.job(day.isoformat(), shown, ops=visit.ops, planned=visit.planned, system=visit.system)
    if ended == 0:
        van.vehicle.ended_on, van.vehicle.ended_because = day - timedelta(days=90), "sold"
        van.vehicle.save()


class AnyHistory(TestCase):
    """Laws that hold whatever happened to the vehicles."""

    @settings(max_examples=40, suppress_health_check=[HealthCheck.too_slow])
    @given(fleet=FLEETS, later_days=st.integers(0, 900))
    def test_the_account_closes_over_all_fitments(
        self, fleet: list[tuple[list[Visit], bool | None, int]], later_days: int
    ) -> None:
        for visits, watched_from_new, ended in fleet:
            tell(visits, watched_from_new, ended)
        found = lives(as_of=date(2024, 1, 1) + timedelta(days=later_days))
        account = account_of(found)
        assert account.closes
        assert account.fitments == Fitment.objects.count() == len(found)

    @settings(max_examples=40, suppress_health_check=[HealthCheck.too_slow])
    @given(fleet=FLEETS)
    def test_lives_run_forward_and_failures_are_never_carried_on(
        self, fleet: list[tuple[list[Visit], bool | None, int]]
    ) -> None:
        for visits, watched_from_new, ended in fleet:
            tell(visits, watched_from_new, ended)
        for each in lives(as_of=date(2030, 1, 1)):
            assert 0 <= each.entry_km <= each.seen_km <= each.presumed_km
            if each.used:
                assert each.start_km is not None
                assert each.presumed_km > each.entry_km
            if each.failed and each.used:
                assert each.seen_km == each.presumed_km > each.entry_km
