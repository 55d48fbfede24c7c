"""Which part sat where by the jobs, in order: the import's rules, sentence by sentence."""

from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from garage.records.choices import OperationKind, Origin
from garage.records.fitting import FitmentDraft, PartLine, Visit, fitments_follow

FILTER, TURBO = 1, 2
FIRST_USE = date(2016, 3, 1)

REPLACE = PartLine(
    kind="replace",
    part_kind_id=FILTER,
    position="",
    part_origin="new_original",
    part_brand="",
    part_mark="",
    removed_because="failed",
    found_in_place="",
    last_sound_km=None,
)
CLEAN_OFF = REPLACE._replace(kind="clean_off_vehicle", part_origin="", removed_because="failed")
INSPECT = REPLACE._replace(kind="inspect", part_origin="", removed_because="")
SAME = INSPECT._replace(found_in_place="same")
ANOTHER = INSPECT._replace(found_in_place="another")


def visit(number: int, *lines: PartLine, km: int | None = -1) -> Visit:
    """The `number`th job, one a year, at 20 000 km a year unless `km` says otherwise."""
    opened_on = FIRST_USE + timedelta(days=365 * number)
    return Visit(number, opened_on, 20_000 * number if km == -1 else km, lines)


def follow(*visits: Visit, factory: tuple[int, ...] = ()) -> list[FitmentDraft]:
    return fitments_follow(visits, factory_part_kinds=factory, first_used_on=FIRST_USE)


# --- "A `replace` closes the open fitment of that part kind and position and opens the next" ---


def test_replace_closes_the_open_fitment_and_opens_the_next() -> None:
    first, second = follow(
        visit(3, REPLACE._replace(part_brand="Q", last_sound_km=55_000)), factory=(FILTER,)
    )
    assert first == FitmentDraft(
        FILTER,
        "",
        "factory",
        "factory",
        fitted_on=FIRST_USE,
        fitted_km=0,
        removed_on=date(2019, 3, 1),
        removed_km=60_000,
        removed_at_id=3,
        removed_because="failed",
        last_sound_km=55_000,
    )
    assert second == FitmentDraft(
        FILTER,
        "",
        "new_original",
        "fitted_here",
        brand="Q",
        fitted_on=date(2019, 3, 1),
        fitted_km=60_000,
        fitted_at_id=3,
    )


@pytest.mark.parametrize("other", [{"part_kind_id": TURBO}, {"position": "bank 2"}])
def test_replace_leaves_other_parts_and_positions_alone(other: dict[str, object]) -> None:
    untouched = REPLACE._replace(**other)
    assert [d.removed_at_id for d in follow(visit(1, REPLACE), visit(2, REPLACE))] == [1, 2, None]
    drafts = follow(visit(1, untouched), visit(2, REPLACE))
    assert [draft.removed_at_id for draft in drafts] == [1, None, 2, None]


# --- "with none open it records the removed part as a fitment of unknown start" ---


def test_replace_with_none_open_records_the_removed_part_too() -> None:
    removed, fitted = follow(visit(3, REPLACE))
    assert (removed.start, removed.origin) == ("unknown", "unknown")
    assert (removed.fitted_on, removed.fitted_km, removed.fitted_at_id) == (None, None, 3)
    assert (removed.removed_at_id, removed.removed_km) == (3, 60_000)
    assert removed.removed_because == "failed"
    assert (fitted.start, fitted.fitted_at_id, fitted.removed_at_id) == ("fitted_here", 3, None)


@pytest.mark.parametrize("because", ["failed", "sound", "planned", "damaged_by_other_fault"])
def test_replace_says_why_the_part_came_out(because: str) -> None:
    removed, _ = follow(visit(1, REPLACE._replace(removed_because=because)))
    assert removed.removed_because == because


def test_nothing_said_of_why_is_not_known() -> None:
    removed, _ = follow(visit(1, REPLACE._replace(removed_because="")))
    assert removed.removed_because == "unknown"


def test_replace_of_no_named_origin_fits_a_part_of_unknown_origin() -> None:
    _, fitted = follow(visit(1, REPLACE._replace(part_origin="")))
    assert fitted.origin == "unknown"


def test_replacing_twice_in_one_job_tells_two_parts_apart() -> None:
    drafts = follow(visit(1, REPLACE, REPLACE))
    assert [draft.start for draft in drafts] == ["unknown", "fitted_here", "fitted_here"]
    assert [draft.removed_at_id for draft in drafts] == [1, 1, None]


def test_a_job_whose_reading_is_in_doubt_keeps_dates_but_no_km() -> None:
    sound = follow(visit(1, REPLACE), visit(2, REPLACE))
    assert (sound[1].fitted_km, sound[1].removed_km) == (20_000, 40_000)
    at_fitting = follow(visit(1, REPLACE, km=None), visit(2, REPLACE))
    assert (at_fitting[1].fitted_km, at_fitting[1].removed_km) == (None, 40_000)
    assert at_fitting[1].fitted_on == sound[1].fitted_on
    at_removal = follow(visit(1, REPLACE), visit(2, REPLACE, km=None))
    assert (at_removal[1].fitted_km, at_removal[1].removed_km) == (20_000, None)
    assert at_removal[1].removed_on == sound[1].removed_on


def test_a_reading_lower_within_the_slack_makes_no_negative_life() -> None:
    drafts = follow(visit(1, REPLACE, km=20_000), visit(2, REPLACE, km=19_970))
    assert (drafts[1].fitted_km, drafts[1].removed_km) == (20_000, 20_000)


@pytest.mark.parametrize(
    ("last_sound_km", "kept"), [(20_000, 20_000), (40_000, 40_000), (40_001, None), (19_999, None)]
)
def test_last_sound_must_lie_within_the_life(last_sound_km: int, kept: int | None) -> None:
    line = REPLACE._replace(last_sound_km=last_sound_km)
    drafts = follow(visit(1, REPLACE), visit(2, line))
    assert drafts[1].last_sound_km == kept


# --- "A failure found but not repaired ... ends no life" ---


@pytest.mark.parametrize(
    "kind", sorted(set(OperationKind.values) - {"replace", "clean_off_vehicle"})
)
def test_no_other_operation_ends_or_begins_a_life(kind: str) -> None:
    line = REPLACE._replace(kind=kind, part_origin="", removed_because="")
    drafts = follow(visit(1, REPLACE), visit(2, line))
    assert drafts == follow(visit(1, REPLACE))
    assert follow(visit(1, line)) == []


# --- "`clean_off_vehicle` closes it as it says and opens one of origin `cleaned`" ---


def test_clean_off_vehicle_begins_a_linked_life_of_origin_cleaned() -> None:
    _, dirty, cleaned = follow(visit(1, REPLACE._replace(part_brand="Q")), visit(2, CLEAN_OFF))
    assert (dirty.removed_at_id, dirty.removed_km, dirty.removed_because) == (2, 40_000, "failed")
    assert (cleaned.origin, cleaned.start, cleaned.fitted_km) == ("cleaned", "fitted_here", 40_000)
    assert cleaned.cleaned_from is dirty
    assert cleaned.brand == "Q"
    assert cleaned.removed_at_id is None


@pytest.mark.parametrize("because", ["failed", "sound", "planned"])
def test_clean_off_vehicle_closes_as_it_says(because: str) -> None:
    drafts = follow(visit(1, REPLACE), visit(2, CLEAN_OFF._replace(removed_because=because)))
    assert drafts[1].removed_because == because


def test_clean_off_vehicle_with_none_open_records_the_dirty_part_too() -> None:
    dirty, cleaned = follow(visit(2, CLEAN_OFF))
    assert (dirty.start, dirty.origin, dirty.removed_at_id) == ("unknown", "unknown", 2)
    assert cleaned.cleaned_from is dirty


def test_a_part_cleaned_twice_is_linked_in_a_chain() -> None:
    _, new, once, twice = follow(visit(1, REPLACE), visit(2, CLEAN_OFF), visit(3, CLEAN_OFF))
    assert once.cleaned_from is new
    assert twice.cleaned_from is once


def test_a_replaced_part_is_cleaned_from_nothing() -> None:
    assert all(d.cleaned_from is None for d in follow(visit(1, REPLACE), visit(2, REPLACE)))


# --- "A part found to be `another` ends the open fitment ... opens one with an unknown start" ---


def test_another_ends_the_open_fitment_and_opens_one_of_unknown_start() -> None:
    _, ended, found = follow(visit(1, REPLACE), visit(2, SAME), visit(4, ANOTHER))
    assert (ended.removed_at_id, ended.removed_because) == (4, "replaced_elsewhere")
    assert ended.last_seen_same_at_id == 2
    # Somewhere after the last look: neither day nor km is known.
    assert (ended.removed_on, ended.removed_km) == (None, None)
    assert (found.start, found.origin, found.fitted_at_id) == ("unknown", "unknown", 4)
    assert (found.fitted_on, found.fitted_km, found.removed_at_id) == (None, None, None)


def test_same_ends_nothing() -> None:
    with_look = follow(visit(1, REPLACE), visit(4, SAME))
    assert [draft.removed_at_id for draft in with_look] == [1, None]
    assert with_look[1].last_seen_same_at_id == 4


def test_not_looked_says_nothing() -> None:
    assert follow(visit(1, REPLACE), visit(4, INSPECT)) == follow(visit(1, REPLACE))


def test_another_with_none_open_opens_one_alone() -> None:
    (found,) = follow(visit(2, ANOTHER))
    assert (found.start, found.fitted_at_id) == ("unknown", 2)


def test_same_with_none_open_opens_one_of_unknown_start() -> None:
    (found,) = follow(visit(2, SAME))
    assert (found.start, found.origin, found.last_seen_same_at_id) == ("unknown", "unknown", 2)


def test_another_found_while_replacing_ends_both() -> None:
    line = REPLACE._replace(found_in_place="another")
    _, recorded, stranger, fitted = follow(visit(1, REPLACE), visit(4, line))
    assert (recorded.removed_at_id, recorded.removed_because) == (4, "replaced_elsewhere")
    assert recorded.removed_km is None
    assert (stranger.start, stranger.removed_because, stranger.removed_km) == (
        "unknown",
        "failed",
        80_000,
    )
    assert (fitted.start, fitted.removed_at_id) == ("fitted_here", None)


def test_same_found_while_replacing_is_the_last_look() -> None:
    line = REPLACE._replace(found_in_place="same")
    _, removed, _ = follow(visit(1, REPLACE), visit(4, line))
    assert (removed.last_seen_same_at_id, removed.removed_because) == (4, "failed")


def test_another_is_not_the_factory_part_whatever_the_row_says() -> None:
    (found,) = follow(visit(2, ANOTHER._replace(part_origin="factory")))
    assert (found.start, found.origin) == ("unknown", "unknown")
    (used,) = follow(visit(2, ANOTHER._replace(part_origin="used")))
    assert used.origin == "used"


# --- "A vehicle that is watched from new has a factory fitment of each part kind ... from new" ---


def test_factory_fitments_begin_at_first_use_with_no_km() -> None:
    drafts = follow(factory=(FILTER, TURBO))
    assert [draft.part_kind_id for draft in drafts] == [FILTER, TURBO]
    for draft in drafts:
        assert (draft.start, draft.origin) == ("factory", "factory")
        assert (draft.fitted_on, draft.fitted_km, draft.fitted_at_id) == (FIRST_USE, 0, None)
        assert draft.removed_at_id is None


def test_without_being_watched_from_new_nothing_is_assumed() -> None:
    assert follow(visit(1, INSPECT)) == []


def test_factory_fitment_of_each_position_that_jobs_name() -> None:
    jobs = [visit(1, REPLACE._replace(position=f"bank {bank}")) for bank in (2, 1)]
    drafts = follow(*jobs, factory=(FILTER,))
    factory = [draft for draft in drafts if draft.start == "factory"]
    assert [draft.position for draft in factory] == ["bank 1", "bank 2"]
    assert len(drafts) == 4


# --- rule 4: an `inspect` row with origin `factory` states a factory fit ---


def test_inspect_with_origin_factory_states_a_factory_fit() -> None:
    (found,) = follow(visit(5, INSPECT._replace(part_origin="factory")))
    assert (found.start, found.origin, found.fitted_km) == ("factory", "factory", 0)
    assert found.fitted_on == FIRST_USE


@pytest.mark.parametrize("origin", sorted(set(Origin.values) - {"factory"}))
def test_inspect_with_another_origin_states_a_part_of_unknown_start(origin: str) -> None:
    (found,) = follow(visit(5, INSPECT._replace(part_origin=origin)))
    assert (found.start, found.origin, found.fitted_km) == ("unknown", origin, None)


@pytest.mark.parametrize("found_in_place", ["", "same"])
def test_a_part_found_before_may_be_stated_a_factory_part_later(found_in_place: str) -> None:
    stated = INSPECT._replace(part_origin="factory", found_in_place=found_in_place)
    (found,) = follow(visit(1, SAME), visit(5, stated))
    assert (found.start, found.origin, found.fitted_km) == ("factory", "factory", 0)
    assert found.last_seen_same_at_id == (5 if found_in_place else 1)


def test_a_part_after_another_is_never_stated_a_factory_part() -> None:
    stated = INSPECT._replace(part_origin="factory")
    drafts = follow(visit(1, SAME), visit(2, ANOTHER), visit(5, stated))
    assert [draft.start for draft in drafts] == ["unknown", "unknown"]
    # Nor where the keeper's first job here already found another than was known.
    (found,) = follow(visit(2, ANOTHER), visit(5, stated))
    assert found.start == "unknown"


def test_inspect_does_not_contradict_a_part_fitted_here() -> None:
    stated = INSPECT._replace(part_origin="factory")
    assert follow(visit(1, REPLACE), visit(5, stated)) == follow(visit(1, REPLACE))


# --- order, and doing it again ---


def test_operations_of_one_job_are_told_in_their_order() -> None:
    look_first = follow(visit(1, REPLACE), visit(2, ANOTHER, REPLACE))
    assert [draft.removed_because for draft in look_first] == [
        "failed",
        "replaced_elsewhere",
        "failed",
        "",
    ]
    fit_first = follow(visit(1, REPLACE), visit(2, REPLACE, SAME))
    assert fit_first[-1].last_seen_same_at_id == 2
    assert fit_first[1].last_seen_same_at_id is None


lines = st.sampled_from(
    [
        line._replace(position=position, part_origin=origin)
        for line in (REPLACE, CLEAN_OFF, INSPECT, SAME, ANOTHER)
        for position in ("", "bank 1")
        for origin in ("", "factory", "used")
    ]
)
histories = st.lists(st.lists(lines, min_size=0, max_size=3), max_size=8)


@given(histories, st.booleans())
def test_any_history_gives_a_chain_without_gaps(
    jobs: list[list[PartLine]], watched_from_new: bool
) -> None:
    visits = [visit(number, *each) for number, each in enumerate(jobs, start=1)]
    factory = (FILTER,) if watched_from_new else ()
    drafts = follow(*visits, factory=factory)
    assert drafts == follow(*visits, factory=factory)
    for position in ("", "bank 1"):
        chain = [draft for draft in drafts if draft.position == position]
        assert sum(draft.removed_at_id is None for draft in chain) <= 1
        for before, after in pairwise(chain):
            # What ends one begins the next, in the same job.
            assert before.removed_at_id == after.fitted_at_id
        for draft in chain:
            if draft.fitted_km is not None and draft.removed_km is not None:
                assert draft.removed_km >= draft.fitted_km
            if draft.start == "unknown":
                assert draft.fitted_km is None
            if draft.origin == "cleaned" and draft.start == "fitted_here":
                assert draft.cleaned_from is not None


# --- The number or mark on a part ---


def test_a_part_fitted_bears_its_mark_and_keeps_it_when_cleaned() -> None:
    fitted, cleaned = follow(visit(2, REPLACE._replace(part_mark="P 17")), visit(5, CLEAN_OFF))[1:]
    assert (fitted.mark, cleaned.mark) == ("P 17", "P 17")


def test_a_part_cleaned_may_be_marked_anew() -> None:
    marked = visit(2, REPLACE._replace(part_mark="P 17"))
    cleaned = follow(marked, visit(5, CLEAN_OFF._replace(part_mark="C 2")))[2]
    assert cleaned.mark == "C 2"


def test_a_mark_read_later_is_kept_where_none_was_written() -> None:
    (found,) = follow(visit(1, SAME), visit(2, SAME._replace(part_mark="P 17")))
    assert found.mark == "P 17"


def test_the_mark_written_at_fitting_stands() -> None:
    fitted = visit(1, REPLACE._replace(part_mark="P 17"))
    assert follow(fitted, visit(2, SAME._replace(part_mark="P 71")))[1].mark == "P 17"


def test_another_part_found_bears_the_mark_that_was_read() -> None:
    fitted = visit(1, REPLACE._replace(part_mark="P 17"))
    old, new = follow(fitted, visit(2, ANOTHER._replace(part_mark="Q 4")))[1:]
    assert (old.mark, new.mark) == ("P 17", "Q 4")
