"""The stay-away share of an organisation, from its call list and the looks at those who came back.

The estimate itself is tested where it lives; here it is what is put into it.
"""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

import pytest

from garage.lifetimes.capture.answers import Returned, SilentAnswers
from garage.lifetimes.capture.share import PART_PRIOR, CaptureShare, all_captured, capture_share
from garage.lifetimes.capture.stay_away import StayAwayShare, stay_away_share
from garage.lifetimes.laws.weibull import WeibullLaw
from garage.lifetimes.laws.weibull_fit import weibull_fit
from garage.outcomes import stay_away
from garage.outcomes.capture import Captures, capture_of_failures
from garage.outcomes.choices import Curve
from garage.outcomes.facts import CallFact, CallListFact, Facts, FitmentFact, Look, VehicleFacts
from garage.outcomes.lives import Life, Silence
from garage.outcomes.stay_away import (
    OutcomesSoFar,
    StayAway,
    eligible_returns,
    stay_away_of_failures,
    values_of,
)
from garage.outcomes.usage import Odometers
from garage.outcomes.visits import visits_follow
from garage.records.models import PartKind
from tests.outcomes.customers import AS_OF, RECORDS_DAYS, Customers, day, part, vehicle
from tests.outcomes.worlds import life, together

LAW = WeibullLaw(2.5, 150_000.0)
LOOKS = capture_share(30, 8)
KM_A_DAY = 50
PART = PartKind(pk=1, code="particulate_filter", system="exhaust_aftertreatment")
#: A silence of 500 days at a draw on the last day.
DRAWN = CallListFact(1, 1, AS_OF, AS_OF - timedelta(days=500), population=200, answers=())


class World:
    """Customers by law, from whom hazard and gap are learnt, and a few vehicles written by hand."""

    def __init__(self) -> None:
        facts, self.lives = Customers().with_parts(600, law=LAW)
        self.vehicles = list(facts.vehicles)
        self.answers: list[CallFact] = []
        self.captures = Captures({1: LOOKS})

    def silent_van(
        self,
        number: int,
        jobs: Sequence[int],
        elsewhere: bool | None,
        *,
        comes_again: bool = False,
        fitted_km: int = 0,
    ) -> VehicleFacts:
        """A vehicle 50 km a day old whose keeper told; its part is in place at its last job."""
        van = vehicle(number, jobs)
        van.readings += [(day(0), 0), (day(jobs[-1]), KM_A_DAY * jobs[-1])]
        self.vehicles.append(van)
        self.lives.append(
            life(
                KM_A_DAY * jobs[-1],
                fitment_id=number,
                vehicle_id=number,
                start_km=fitted_km,
                entry_km=fitted_km,
                silence=Silence(KM_A_DAY * jobs[-1], RECORDS_DAYS - jobs[-1], KM_A_DAY),
            )
        )
        self.answers.append(CallFact(number, AS_OF, elsewhere, comes_again))
        return van

    def known(self, *lists: CallListFact) -> OutcomesSoFar:
        drawn = lists or (replace(DRAWN, answers=tuple(self.answers)),)
        facts = Facts(AS_OF, PART, frozenset(), self.vehicles)
        visits = visits_follow(facts, self.lives)
        return OutcomesSoFar(facts, Odometers(facts), self.lives, self.captures, visits, drawn)


@pytest.fixture
def world() -> World:
    return World()


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[tuple[SilentAnswers, Returned, CaptureShare]]:
    """What the estimator was asked, each time."""
    calls: list[tuple[SilentAnswers, Returned, CaptureShare]] = []

    def estimate(silent: SilentAnswers, returned: Returned, looks: CaptureShare) -> StayAwayShare:
        calls.append((silent, returned, looks))
        return stay_away_share(silent, returned, looks)

    monkeypatch.setattr(stay_away, "stay_away_share", estimate)
    return calls


def test_answers_are_sorted_by_what_they_tell(world: World, asked: list) -> None:
    world.silent_van(2001, [100, 2000], True)
    world.silent_van(2002, [100, 2000], False)
    world.silent_van(2003, [100, 2000], False)
    world.silent_van(2004, [100, 2000], True, comes_again=True)
    world.silent_van(2005, [100, 2000], False, comes_again=True)
    world.silent_van(2006, [100, 2000], None)
    found = stay_away_of_failures(world.known())[1]
    ((silent, _, looks),) = asked
    sizes = (silent.gone_elsewhere.size, silent.gone_without.size, silent.returning_elsewhere)
    assert sizes == (1, 2, 1)
    # Five of six told of the part, of 200 who are silent.
    assert (silent.asked_share, found.told, found.drawn_on) == (5 / 200, 5, AS_OF)
    assert looks is LOOKS


def test_hazard_is_that_from_the_middle_of_a_gap_to_the_call(world: World, asked: list) -> None:
    """By hand: the part went 70 000 km to the last job, and 50 km a day from then on."""
    world.silent_van(2001, [100, 2000], True, fitted_km=30_000)
    known = world.known()
    stay_away_of_failures(known)
    ((silent, _, _),) = asked
    fit = weibull_fit(together(world.lives, world.captures, known.visits).table(Curve.EXPECTED))
    visit_law = known.visits.by_organisation[1].fit.law
    assert fit.law is not None
    assert visit_law is not None
    here = LOOKS.value
    until_left = KM_A_DAY * round(here * 0.5 / visit_law.visit_rate)
    begin, end = 70_000 + until_left, 70_000 + KM_A_DAY * (RECORDS_DAYS - 2000)
    low, high = fit.law.cumulative_hazard([begin, end])
    assert silent.gone_elsewhere == pytest.approx([here * (high - low)], rel=0.002)
    assert silent.failures == fit.failed


def test_vehicle_that_ended_could_fail_until_then(world: World, asked: list) -> None:
    until_now = world.silent_van(2001, [100, 2000], False)
    until_sold = world.silent_van(2002, [100, 2000], False)
    until_sold.ended_on = day(2600)
    stay_away_of_failures(world.known())
    ((silent, _, _),) = asked
    assert until_now.ended_on is None
    long, short = silent.gone_without
    assert 0 < short < long


def test_keeper_of_a_part_whose_clock_is_not_known_is_left_out(world: World, asked: list) -> None:
    world.silent_van(2001, [100, 2000], False)
    world.silent_van(2002, [100, 2000], False)
    world.lives[-1] = replace(world.lives[-1], start_km=None)
    stay_away_of_failures(world.known())
    assert asked[0][0].gone_without.size == 1


# --- those who came back ---


def back(number: int, *, looks: Sequence[int], elsewhere: bool) -> VehicleFacts:
    """Came on days 100, 900 and 1700; the known part was there at the first."""
    van = vehicle(number, [100, 900, 1700])
    first = part(number)
    ended = {"removed_at_id": 100 * number + 1, "removed_because": "replaced_elsewhere"}
    van.fitments.append(replace(first, **ended) if elsewhere else first)
    van.looks += [Look(100 * number + place, "", "same") for place in looks]
    return van


@pytest.mark.parametrize(
    ("looks", "elsewhere", "expected"),
    [
        # Two returns; a look covers itself and those before it.
        ([], False, Returned(0, 0.0)),
        ([1], False, Returned(0, 1 / 2)),
        ([2], False, Returned(0, 1.0)),
        # A part found replaced elsewhere at the second job has been returned with once.
        ([1], True, Returned(1, 1.0)),
        ([], True, Returned(1, 0.0)),
    ],
)
def test_returns_looked_at_are_counted(
    world: World, asked: list, looks: list[int], elsewhere: bool, expected: Returned
) -> None:
    world.silent_van(2001, [100, 2000], False)
    for each in world.vehicles:
        each.fitments.clear()
    world.vehicles.append(back(3001, looks=looks, elsewhere=elsewhere))
    stay_away_of_failures(world.known())
    assert asked[0][1] == expected


def test_part_first_known_when_it_came_out_tells_of_no_return(world: World, asked: list) -> None:
    world.silent_van(2001, [100, 2000], False)
    for each in world.vehicles:
        each.fitments.clear()
    van = back(3001, looks=[2], elsewhere=True)
    fitment: FitmentFact = van.fitments[0]
    van.fitments[0] = replace(fitment, fitted_at_id=fitment.removed_at_id)
    world.vehicles.append(van)
    stay_away_of_failures(world.known())
    assert asked[0][1] == Returned(0, 0.0)


def test_only_gaps_that_began_as_long_ago_as_the_silence_count() -> None:
    silent_since = (DRAWN.silent_since - day(0)).days
    van = vehicle(1, [100, silent_since, silent_since + 1, silent_since + 100])
    # The gap from the second job on began on the last day that counts, the next one later.
    assert eligible_returns(van, DRAWN) == {1, 2}
    assert eligible_returns(van, replace(DRAWN, drawn_on=day(silent_since))) == {1}


# --- whose ---


def test_without_answers_about_this_part_nothing_is_measured(world: World) -> None:
    world.silent_van(2001, [100, 2000], True)
    answers = tuple(world.answers)
    other_part = replace(DRAWN, answers=answers, part_kind_id=2)
    not_told = replace(DRAWN, answers=(replace(answers[0], part_replaced_elsewhere=None),))
    assert stay_away_of_failures(world.known(other_part, not_told)) == {}


def test_list_that_most_told_of_is_taken_and_of_like_ones_the_newest(world: World) -> None:
    for number in (2001, 2002):
        world.silent_van(number, [100, 2000], False)
    one, two = tuple(world.answers[:1]), tuple(world.answers)
    newest = replace(DRAWN, answers=one)
    older = replace(DRAWN, answers=two, drawn_on=AS_OF - timedelta(days=30))
    oldest = replace(DRAWN, answers=two, drawn_on=AS_OF - timedelta(days=60))
    found = stay_away_of_failures(world.known(newest, older, oldest))
    assert found[1].drawn_on == older.drawn_on


def test_who_sees_all_repairs_has_no_stay_away_share(world: World) -> None:
    world.silent_van(2001, [100, 2000], True)
    world.captures = Captures({1: all_captured()})
    assert stay_away_of_failures(world.known()) == {}


def test_too_few_failures_for_a_law_measure_nothing(world: World) -> None:
    world.lives = [each for each in world.lives if not each.failed_here]
    world.silent_van(2001, [100, 2000], True)
    assert stay_away_of_failures(world.known()) == {}


def test_one_organisations_answers_change_its_own_capture_share_alone() -> None:
    facts = Facts(
        date(2026, 1, 1),
        PART,
        frozenset(),
        [vehicle(1, [1]), vehicle(2, [1], organisation=2)],
    )
    lives: list[Life] = []
    judged = capture_of_failures(facts, lives).by_organisation
    asked = capture_of_failures(facts, lives, {1: 0.1}).by_organisation
    assert (asked[1].stay_away, asked[2].stay_away) == (0.1, PART_PRIOR.stay_away)
    assert asked[2] == judged[2]
    assert asked[1] == capture_share(0, 0, prior=replace(PART_PRIOR, stay_away=0.1))


def test_answers_that_teach_nothing_leave_the_judgement() -> None:
    def share(found: int) -> StayAway:
        silent = SilentAnswers([], [0.1], 0, asked_share=0.1, failures=50)  # type: ignore[arg-type]
        return StayAway(stay_away_share(silent, Returned(found, 0.5), LOOKS), AS_OF, 1)

    assert set(values_of({1: share(0), 2: share(3)})) == {2}
