"""Rule 3: which share of failures, and of comebacks, comes here to be seen."""

from datetime import date

import pytest

from garage.lifetimes.capture.share import COMEBACK_PRIOR, PART_PRIOR, CaptureShare
from garage.outcomes.capture import capture_of_comebacks, capture_of_failures
from garage.outcomes.comebacks import index_jobs_follow
from garage.outcomes.lives import lives_follow
from garage.outcomes.usage import Odometers
from garage.records.models import Organisation
from tests.outcomes.histories import EXHAUST, History, done, facts, inspected, replaced
from tests.records.factories import OrganisationFactory

pytestmark = pytest.mark.django_db

BRAKES = "brakes"


def of_failures(organisation: Organisation) -> CaptureShare:
    read = facts(as_of=date(2022, 1, 1))
    return capture_of_failures(read, lives_follow(read, Odometers(read))).by_organisation[
        organisation.pk
    ]


# Of the two failures that the prior is worth, 0.8 came here in truth; of those looked at again it
# is 0.8 / (0.8 + 0.2 * 0.7), for of those elsewhere only 0.7 come back. By hand.
HELD_HERE = 2 * 0.8 / 0.94
HELD_ELSEWHERE = 2 * 0.14 / 0.94


def of_comebacks(organisation: Organisation) -> CaptureShare:
    read = facts(as_of=date(2022, 1, 1))
    return capture_of_comebacks(read, index_jobs_follow(read, Odometers(read))).by_organisation[
        organisation.pk
    ]


@pytest.fixture
def workshop() -> Organisation:
    return OrganisationFactory()


def van_with_a_failure(workshop: Organisation, *, position: str = "") -> History:
    """A factory part known to the records that failed and was replaced here."""
    van = History(workshop, watched_from_new=True)
    van.job("2018-01-01", 80_000, ops=[replaced("failed", position=position)])
    return van


# --- failures of parts ---


def test_without_a_look_the_share_is_the_prior() -> None:
    # Mean 0.8 and a stay-away share of 0.3 are judgement; the weight of two is decision 0009.
    workshop = OrganisationFactory()
    van_with_a_failure(workshop)
    share = of_failures(workshop)
    assert (PART_PRIOR.mean, PART_PRIOR.weight, PART_PRIOR.stay_away) == (0.8, 2, 0.3)
    assert (share.here, share.elsewhere, share.value) == (0, 0, pytest.approx(0.8))


def test_a_failure_repaired_here_counts_once_the_vehicle_is_looked_at_again(
    workshop: Organisation,
) -> None:
    van = van_with_a_failure(workshop)
    van.service("2019-01-01", 100_000, ops=[inspected(found="same")])
    share = of_failures(workshop)
    assert (share.here, share.elsewhere) == (1, 0)
    assert share.value == pytest.approx((1 + HELD_HERE) / (1 + HELD_HERE + HELD_ELSEWHERE / 0.7))


def test_a_failure_found_out_at_a_later_look_counts_as_repaired_elsewhere(
    workshop: Organisation,
) -> None:
    van = History(workshop, watched_from_new=True)
    van.service("2018-01-01", 80_000, ops=[inspected(found="same")])
    van.service("2019-01-01", 100_000, ops=[inspected(found="another")])
    share = of_failures(workshop)
    assert (share.here, share.elsewhere) == (0, 1)
    # q = h / (h + e / (1 - g)), the prior's among them: one found out stands for 1 / 0.7.
    assert share.value == pytest.approx(HELD_HERE / (HELD_HERE + (1 + HELD_ELSEWHERE) / 0.7))


def test_a_look_at_a_job_for_the_same_trouble_tells_nothing(workshop: Organisation) -> None:
    # After a repair here its comebacks come here and are looked at; after one elsewhere, there.
    van = van_with_a_failure(workshop)
    van.job("2018-02-01", 82_000, ops=[done("regenerate_stationary"), inspected(found="same")])
    assert of_failures(workshop).here == 0
    van.service("2019-01-01", 100_000, ops=[inspected(found="same")])
    assert of_failures(workshop).here == 1


def test_one_found_gone_at_a_job_for_the_same_trouble_waits_for_another_look(
    workshop: Organisation,
) -> None:
    van = History(workshop, watched_from_new=True)
    van.service("2018-01-01", 80_000, ops=[inspected(found="same")])
    van.job("2019-01-01", 100_000, ops=[inspected(found="another")])
    assert of_failures(workshop).elsewhere == 0
    van.service("2020-01-01", 120_000, ops=[inspected(found="same")])
    assert of_failures(workshop).elsewhere == 1


def test_a_look_before_the_failure_is_no_look_again(workshop: Organisation) -> None:
    van = van_with_a_failure(workshop)
    van.service("2017-01-01", 60_000, ops=[inspected(found="same")])
    assert of_failures(workshop).here == 0


def test_a_later_job_without_a_look_is_none(workshop: Organisation) -> None:
    van = van_with_a_failure(workshop)
    van.service("2019-01-01", 100_000, ops=[inspected()])
    assert of_failures(workshop).here == 0


@pytest.mark.parametrize(("position", "here"), [("bank 1", 1), ("bank 2", 0)])
def test_a_look_tells_of_its_own_position(workshop: Organisation, position: str, here: int) -> None:
    van = van_with_a_failure(workshop, position="bank 1")
    van.service("2019-01-01", 100_000, ops=[inspected(found="same", position=position)])
    assert of_failures(workshop).here == here


def test_a_part_removed_sound_is_no_failure(workshop: Organisation) -> None:
    van = History(workshop, watched_from_new=True)
    van.job("2018-01-01", 80_000, ops=[replaced("sound")])
    van.service("2019-01-01", 100_000, ops=[inspected(found="same")])
    assert of_failures(workshop).here == 0


def test_a_failure_at_an_odometer_in_doubt_came_here_all_the_same(workshop: Organisation) -> None:
    van = History(workshop, watched_from_new=True)
    van.service("2017-01-01", 60_000)
    van.job("2018-01-01", 800_000, ops=[replaced("failed")])
    van.service("2019-01-01", 100_000, ops=[inspected(found="same")])
    van.service("2020-01-01", 120_000)
    assert of_failures(workshop).here == 1


def test_a_part_that_arrived_failed_was_never_in_view_to_be_missed(
    workshop: Organisation,
) -> None:
    van = History(workshop)
    van.job("2018-01-01", 80_000, ops=[inspected("factory"), replaced("failed")])
    van.service("2019-01-01", 100_000, ops=[inspected(found="same")])
    assert of_failures(workshop).here == 0


def test_a_part_that_no_row_told_of_before_could_not_have_been_missed(
    workshop: Organisation,
) -> None:
    van = History(workshop)
    van.service("2017-01-01", 60_000)
    van.job("2018-01-01", 80_000, ops=[replaced("failed")])
    van.service("2019-01-01", 100_000, ops=[inspected(found="same")])
    assert of_failures(workshop).here == 0


def test_who_sees_all_repairs_has_a_share_of_1_whatever_the_looks_say() -> None:
    fleet = OrganisationFactory(sees_all_repairs=True)
    van = History(fleet, watched_from_new=True)
    van.service("2019-01-01", 100_000, ops=[inspected(found="another")])
    assert of_failures(fleet).value == 1
    assert of_comebacks(fleet).value == 1


def test_each_organisation_has_its_own_share(workshop: Organisation) -> None:
    other = OrganisationFactory()
    van_with_a_failure(workshop).service("2019-01-01", 100_000, ops=[inspected(found="same")])
    van_with_a_failure(other)
    assert (of_failures(workshop).here, of_failures(other).here) == (1, 0)


# --- comebacks ---


def van_repaired(workshop: Organisation) -> History:
    van = History(workshop)
    van.job("2018-01-01", 80_000, ops=[done("clear_codes")])
    return van


def test_comebacks_have_a_prior_of_their_own(workshop: Organisation) -> None:
    van_repaired(workshop)
    assert (COMEBACK_PRIOR.mean, COMEBACK_PRIOR.weight) == (0.75, 2)
    assert of_comebacks(workshop).value == pytest.approx(0.75)


@pytest.mark.parametrize(
    ("answer", "elsewhere"),
    [([EXHAUST], 1), ([BRAKES, EXHAUST], 1), ([BRAKES], 0), ([], 0), (None, 0)],
)
def test_the_keepers_answer_at_the_next_job_tells_of_a_comeback_elsewhere(
    workshop: Organisation, answer: list[str] | None, elsewhere: int
) -> None:
    van = van_repaired(workshop)
    van.job("2019-01-01", 100_000, system=BRAKES, repaired_elsewhere=answer)
    share = of_comebacks(workshop)
    assert (share.here, share.elsewhere) == (0, elsewhere)


@pytest.mark.parametrize(("answer", "here"), [([], 1), (None, 0)])
def test_a_comeback_here_counts_where_the_keeper_was_asked(
    workshop: Organisation, answer: list[str] | None, here: int
) -> None:
    van = van_repaired(workshop)
    van.job("2018-02-01", 82_000, repaired_elsewhere=answer)
    van.service("2019-01-01", 100_000)
    assert of_comebacks(workshop).here == here


def test_a_comeback_here_counts_only_where_a_later_job_followed(workshop: Organisation) -> None:
    # One met elsewhere shows only at a later job; like is counted with like.
    van = van_repaired(workshop)
    van.job("2018-02-01", 82_000, repaired_elsewhere=[])
    assert of_comebacks(workshop).here == 0


def test_a_repair_elsewhere_after_the_comeback_here_is_not_this_jobs(
    workshop: Organisation,
) -> None:
    van = van_repaired(workshop)
    van.job("2018-02-01", 82_000, ops=[done("repair")], repaired_elsewhere=[])
    van.service("2019-01-01", 100_000)
    van.vehicle.jobs.filter(opened_on__year=2019).update(repaired_elsewhere=[EXHAUST])
    share = of_comebacks(workshop)
    assert (share.here, share.elsewhere) == (1, 0)


def test_a_repair_elsewhere_is_counted_once_for_the_job_it_followed(
    workshop: Organisation,
) -> None:
    van = van_repaired(workshop)
    van.job("2018-02-01", 82_000, ops=[done("clear_codes")], repaired_elsewhere=[])
    van.job("2019-01-01", 100_000, system=BRAKES, repaired_elsewhere=[EXHAUST])
    share = of_comebacks(workshop)
    assert (share.here, share.elsewhere) == (1, 1)


def test_a_gap_that_nobody_asked_about_leaves_it_unknown(workshop: Organisation) -> None:
    van = van_repaired(workshop)
    van.service("2018-06-01", 90_000)
    van.job("2019-01-01", 100_000, system=BRAKES, repaired_elsewhere=[EXHAUST])
    assert of_comebacks(workshop).elsewhere == 0
