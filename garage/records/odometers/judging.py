"""Which odometer readings of one vehicle stand, and which are in doubt, and why.

A history without a contradiction stands as it is. In any other every way in which some readings
could be true together is weighed, so that one slip condemns nothing but itself.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

import numpy as np

from garage.lifetimes.arrays import FloatArray
from garage.lifetimes.wording import spoken
from garage.records.choices import DistanceUnit, Doubt, Remark, ResolvedAs
from garage.records.distance import to_km
from garage.records.odometers.dating import USUAL_DATE_CHANCE, date_chances
from garage.records.odometers.evidence import Course, course_make, mend_chances, wrong_stretches
from garage.records.odometers.explaining import Case, explanations_rank, likeliest_kind
from garage.records.odometers.faults import mends_merge, near_mends, value_mends
from garage.records.odometers.path import paths_sum
from garage.records.odometers.readings import History, Judgement, Reading
from garage.records.odometers.standstill import standstills
from garage.records.odometers.trace import (
    BACKWARDS_SLACK_KM,
    HARD_PACE_KM_PER_DAY,
    SOFT_PACE_KM_PER_DAY,
    beyond_reach,
    leaves_trace,
)

#: From this chance on a reading is taken as true, and below its complement as wrong. In between
#: it is one of several, if another reading contradicts it. Judgement, tuned on half of the real
#: histories (docs/odometer.md).
TOLD = 0.9
#: In a history of more than three times as many, at most so many wrong readings in a row are
#: thought of, and a change of the instrument for longer rows. Judgement, for speed alone.
FURTHEST = 12


@dataclass(slots=True)
class _Entry:
    """One reading on its way: as it came, as a person mended it, and its true distance."""

    place: int
    reading: Reading
    km: int
    offset_km: int
    bound: bool
    judgement: Judgement | None = None


def history_judge(history: History) -> list[Judgement]:
    """The verdict on each reading of one vehicle, in the order given.

    A reading is doubted only where the readings contradict one another (`leaves_trace`), a person
    set it aside, or it is dated before the vehicle's first use. What people decided holds.

    Raises
    ------
    ValueError
        Resolutions that are not one a reading.
    """
    if history.resolutions and len(history.resolutions) != len(history.readings):
        raise ValueError(
            f"one resolution a reading, or none at all; got {len(history.resolutions)} for "
            f"{len(history.readings)} readings"
        )
    entries = [_entry(history, place) for place in range(len(history.readings))]
    open_entries = [entry for entry in entries if entry.judgement is None]
    open_entries.sort(key=lambda entry: (entry.reading.read_on, entry.km, entry.place))
    first_day = None if history.first_used_on is None else history.first_used_on.toordinal()
    days = [entry.reading.read_on.toordinal() for entry in open_entries]
    if leaves_trace(days, [entry.km for entry in open_entries], first_day):
        _judge_contradicting(open_entries, first_day)
    _remark_standstills(open_entries)
    return [entry.judgement or _stands(entry) for entry in entries]


def stands_as_typed(
    days: Sequence[int], km: Sequence[int], at_job: Sequence[bool], first_day: int | None
) -> bool:
    """Whether `history_judge` lets each reading stand without a remark: the quick look.

    Of readings in the order of day and km, of which a person decided nothing and no replaced
    instrument moves any; days as ordinals.
    """
    if first_day is not None and days and days[0] < first_day:
        return False
    return not leaves_trace(days, km, first_day) and not standstills(days, km, at_job)


def _stands(entry: _Entry, remark: Remark | None = None) -> Judgement:
    return Judgement(None, "", entry.km, entry.reading.read_on, remark)


def _entry(history: History, place: int) -> _Entry:
    reading = history.readings[place]
    decided = history.resolutions[place] if history.resolutions else None
    if decided is not None and decided.resolved_as == ResolvedAs.MENDED:
        reading = Reading(
            decided.read_on or reading.read_on,
            reading.typed if decided.typed is None else decided.typed,
            decided.unit or reading.unit,
            reading.at_job,
        )
    offset_km = 0
    if history.replacements:
        in_force = [each for each in history.replacements if each.done_on <= reading.read_on]
        offset_km = max(in_force, key=lambda each: each.done_on).offset_km if in_force else 0
    km = _true_km(reading, offset_km)
    bound = decided is not None and decided.resolved_as != ResolvedAs.SET_ASIDE
    entry = _Entry(place, reading, km, offset_km, bound)
    first = history.first_used_on
    if decided is not None and not bound:
        entry.judgement = _doubted(entry, Doubt.SET_ASIDE, "set aside by a person")
    elif first is not None and reading.read_on < first and not bound:
        reason = f"read on {reading.read_on}, but the vehicle was first used on {first}"
        entry.judgement = _doubted(entry, Doubt.BEFORE_FIRST_USE, reason)
    return entry


def _true_km(reading: Reading, offset_km: int) -> int:
    typed = reading.typed
    if type(typed) is int and reading.unit == DistanceUnit.KM:
        return max(0, typed + offset_km)
    return max(0, to_km(Decimal(typed), reading.unit) + offset_km)


def _doubted(entry: _Entry, doubt: Doubt, reason: str) -> Judgement:
    return Judgement(doubt, reason, entry.km, entry.reading.read_on)


def _judge_contradicting(entries: list[_Entry], first_day: int | None) -> None:
    """Fill in the verdicts of readings that contradict one another."""
    possible = []
    for entry in entries:
        age = 0 if first_day is None else entry.reading.read_on.toordinal() - first_day
        if first_day is None or entry.bound or entry.km <= HARD_PACE_KM_PER_DAY * (age + 1):
            possible.append(entry)
        else:
            reason = f"{spoken(entry.km, 'km')} is more than its days of use allow"
            entry.judgement = _doubted(entry, Doubt.IMPOSSIBLE_PACE, reason)
    if not possible:
        return
    case = _weigh(possible, first_day)
    groups = _groups(case)
    for place, entry in enumerate(possible):
        if entry.bound or (place not in groups and not _is_wrong(case, place)):
            continue
        unexplained = _unexplained(case, place)
        partners = groups.get(place, [])
        if partners:
            doubt = Doubt.ONE_OF_SEVERAL
            reason = _one_of_words(case, partners)
        else:
            doubt = likeliest_kind(case, place, unexplained)
            reason = f"{spoken(entry.km, 'km')} is read {_room_words(case, place)}"
        explanations = explanations_rank(case, place, unexplained)
        likeliest = explanations[0]
        if not partners and likeliest.weight >= 0.5 and likeliest.km is not None:
            reason += f"; likeliest: {likeliest.words}"
        entry.judgement = Judgement(
            doubt,
            reason,
            entry.km,
            entry.reading.read_on,
            explanations=explanations,
            partners=tuple(possible[each].place for each in partners),
        )


def _is_wrong(case: Case, place: int) -> bool:
    """More likely wrong than true; by a replaced instrument only if surely not true as read.

    For a replaced instrument takes all later readings with it, and one wrong reading before them
    must not. A reading that no other contradicts is never wrong otherwise.
    """
    true, after = float(case.paths.true[place]), float(case.paths.after_replaced[place])
    if after >= 1 - true - after:
        return true <= 1 - TOLD
    others = (each for each in range(len(case.readings)) if each != place)
    return true < 0.5 and any(
        _contradict(case.course, min(place, each), max(place, each)) for each in others
    )


def _weigh(entries: list[_Entry], first_day: int | None) -> Case:
    days = [entry.reading.read_on.toordinal() for entry in entries]
    km = [entry.km for entry in entries]
    mends = [
        value_mends(float(entry.reading.typed), entry.reading.unit, entry.offset_km)
        for entry in entries
    ]
    bound = [entry.bound for entry in entries]
    near = [near_mends(entry.km, entry.reading.unit) for entry in entries]
    every = [[*first, *second] for first, second in zip(mends, near, strict=True)]
    course = course_make(days, km, [mends_merge(each) for each in every], bound, first_day)
    furthest = len(km) if len(km) <= 3 * FURTHEST else FURTHEST
    chances = mend_chances(course, furthest)
    usual: FloatArray = np.full(len(km), USUAL_DATE_CHANCE)
    paths = paths_sum(course, wrong_stretches(course, chances, usual))
    readings = [entry.reading for entry in entries]
    dates = [date_chances(course, paths, place, readings[place]) for place in range(len(km))]
    total = np.array([sum(each.chance for each in found) for found in dates])
    paths = paths_sum(course, wrong_stretches(course, chances, total))
    return Case(course_make(days, km, every, bound, first_day), paths, readings, every, dates)


def _groups(case: Case) -> dict[int, list[int]]:
    """Partners of every reading that may be true or wrong, together with one it contradicts.

    Of a row of readings that contradict one, only the nearest is its partner: the one wrong
    reading must not take the row with it. Where neighbours among those left cannot both be true,
    they are partners too.
    """
    true = case.paths.true
    unsure = [i for i in range(len(true)) if 1 - TOLD < true[i] < TOLD and not case.course.bound[i]]
    partners: dict[int, list[int]] = {}
    for at, first in enumerate(unsure):
        for second in unsure[at + 1 :]:
            between = [each for each in unsure if first < each < second]
            nearer = [
                each
                for each in between
                if _contradict(case.course, first, each) or _contradict(case.course, each, second)
            ]
            if _contradict(case.course, first, second) and not nearer:
                partners.setdefault(first, []).append(second)
                partners.setdefault(second, []).append(first)
    left = [i for i in range(len(true)) if i not in partners and not _is_wrong(case, i)]
    while clash := _first_clash(case.course, left):
        first, second = clash
        partners[first], partners[second] = [second], [first]
        left = [each for each in left if each not in clash]
    return partners


def _first_clash(course: Course, places: list[int]) -> tuple[int, int] | None:
    """The first neighbours that cannot both be true; what people decided is never one of them."""
    open_places = [each for each in places if not course.bound[each]]
    for first, second in pairwise(open_places):
        step = int(course.km[second] - course.km[first])
        if beyond_reach(step, int(course.days[second] - course.days[first]) + 1):
            return first, second
    return None


def _contradict(course: Course, first: int, second: int) -> bool:
    step = course.km[second] - course.km[first]
    days = course.days[second] - course.days[first] + 1
    return bool(step < -BACKWARDS_SLACK_KM or step > SOFT_PACE_KM_PER_DAY * days)


def _standing(case: Case) -> list[int]:
    return [int(i) for i in np.flatnonzero(case.paths.true >= 0.5)]


def _unexplained(case: Case, place: int) -> Doubt:
    """Against the order of those that stand it is backwards, else too far for the days."""
    course = case.course
    for other in _standing(case):
        step = course.km[place] - course.km[other]
        if (other < place and step < -BACKWARDS_SLACK_KM) or (
            other > place and step > BACKWARDS_SLACK_KM
        ):
            return Doubt.BACKWARDS
    lower = bool((np.diff(course.km) < -BACKWARDS_SLACK_KM).any())
    alone = not _standing(case)
    return Doubt.BACKWARDS if alone and lower else Doubt.IMPOSSIBLE_PACE


def _room_words(case: Case, place: int) -> str:
    standing = _standing(case)
    earlier = [i for i in standing if i < place]
    later = [i for i in standing if i > place]
    km = case.course.km
    if earlier and later:
        return f"between {spoken(km[earlier[-1]], 'km')} and {spoken(km[later[0]], 'km')}"
    if earlier:
        return f"after {spoken(km[earlier[-1]], 'km')}"
    if later:
        return f"before {spoken(km[later[0]], 'km')}"
    return "among readings that contradict one another"


def _one_of_words(case: Case, partners: list[int]) -> str:
    named = [
        f"of {case.readings[each].read_on} ({spoken(case.course.km[each], 'km')})"
        for each in partners[:3]
    ]
    more = "" if len(partners) <= 3 else f" or {len(partners) - 3} more"
    return f"this or the reading {' or '.join(named)}{more} is wrong; which cannot be told"


def _remark_standstills(entries: list[_Entry]) -> None:
    standing = [each for each in entries if each.judgement is None]
    if not any(each.reading.at_job for each in standing):
        return
    days = [each.reading.read_on.toordinal() for each in standing]
    at_job = [each.reading.at_job for each in standing]
    for place in standstills(days, [each.km for each in standing], at_job):
        standing[place].judgement = _stands(standing[place], Remark.STANDSTILL)
