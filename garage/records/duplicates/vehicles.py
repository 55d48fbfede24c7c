"""Vehicles that may be one: VINs a slip apart, marks that changed hands with the records."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import combinations, pairwise

from rapidfuzz.distance import OSA

from garage.records.duplicates.candidates import LEAST_SHOWN, Candidate, Evidence, weighed

#: Signs that are read or typed for each other. Common practice, no source.
CONFUSED = frozenset(
    frozenset(pair)
    for pair in ("0D", "08", "0U", "1L", "17", "1T", "2Z", "5S", "6G", "8B", "UV", "VW", "MN", "CG")
)
#: More vehicles than this under one key are no slip but a maker's own numbering. Judgement.
MOST_A_KEY = 40

# Weights in log-odds: judgement, set so that each case below falls where a person puts it.
PRIOR = -2.0
VIN_CONFUSED = 5.0
VIN_SWAPPED = 4.5
VIN_SLIP = 3.0
VIN_FAR = -5.0
MARK_SAME = 3.5
MARK_APART = -2.5
FAMILY_SAME = 0.8
FAMILY_DIFFERS = -3.0
FIRST_USE_SAME = 1.5
FIRST_USE_DIFFERS = -1.5
ODOMETERS_AGREE = 0.5
ODOMETERS_CONTRADICT = -2.0


@dataclass(frozen=True)
class MarkHeld:
    """A registration mark as it is searched for, and when the vehicle bore it (None: not known)."""

    key: str
    from_on: date | None
    until_on: date | None


@dataclass(frozen=True)
class VehicleToCompare:
    """What a vehicle is told by. `readings` are (day, km) of readings that stand, in order."""

    id: int
    vin: str
    family_id: int | None
    first_used_on: date | None
    marks: tuple[MarkHeld, ...]
    readings: tuple[tuple[date, int], ...]


def vehicle_candidates(vehicles: Sequence[VehicleToCompare]) -> list[Candidate]:
    """Pairs that may be one vehicle, the likeliest first.

    Only pairs that share a mark, or whose VINs are one slip apart, are compared: one sign
    exchanged, or two neighbours swapped.
    """
    by_id = {vehicle.id: vehicle for vehicle in vehicles}
    found = []
    for one_id, other_id in sorted(_pairs(vehicles)):
        candidate = weighed(one_id, other_id, _evidence(by_id[one_id], by_id[other_id]))
        if candidate.likelihood >= LEAST_SHOWN:
            found.append(candidate)
    return sorted(found, key=lambda each: (-each.likelihood, each.one_id, each.other_id))


def _pairs(vehicles: Iterable[VehicleToCompare]) -> set[tuple[int, int]]:
    """Pairs under a common key: a mark, or a VIN with one sign left out at one place.

    Two VINs one exchange apart are equal without the exchanged sign; two with swapped neighbours
    are equal without either of them at its place or the next.
    """
    keys: dict[tuple[str, str], set[int]] = defaultdict(set)
    for vehicle in vehicles:
        for mark in vehicle.marks:
            keys["mark", mark.key].add(vehicle.id)
        for place in range(len(vehicle.vin)):
            keys["vin", vehicle.vin[:place] + vehicle.vin[place + 1 :]].add(vehicle.id)
    return {
        (min(pair), max(pair))
        for ids in keys.values()
        if 1 < len(ids) <= MOST_A_KEY
        for pair in combinations(ids, 2)
    }


def _evidence(one: VehicleToCompare, other: VehicleToCompare) -> Iterator[Evidence]:
    yield Evidence(PRIOR, "two records are two vehicles unless something says otherwise")
    if one.vin and other.vin:
        yield _of_vins(one.vin, other.vin)
    yield from _of_marks(one.marks, other.marks)
    if one.family_id is not None and other.family_id is not None:
        same = one.family_id == other.family_id
        yield Evidence(
            FAMILY_SAME if same else FAMILY_DIFFERS,
            "the same engine family" if same else "different engine families",
        )
    if one.first_used_on is not None and other.first_used_on is not None:
        same = one.first_used_on == other.first_used_on
        yield Evidence(
            FIRST_USE_SAME if same else FIRST_USE_DIFFERS,
            "first used on the same day" if same else "first used on different days",
        )
    if one.readings and other.readings:
        yield _of_odometers(one.readings, other.readings)


def _of_vins(one: str, other: str) -> Evidence:
    if OSA.distance(one, other) > 1 or len(one) != len(other):
        return Evidence(VIN_FAR, "VINs that differ in more than one place")
    differing = [place for place in range(len(one)) if one[place] != other[place]]
    if len(differing) == 2:
        return Evidence(VIN_SWAPPED, "VINs with two neighbours exchanged")
    place = differing[0]
    if frozenset((one[place], other[place])) in CONFUSED:
        return Evidence(
            VIN_CONFUSED,
            f"VINs that differ in one sign often misread ({one[place]} for {other[place]})",
        )
    return Evidence(VIN_SLIP, f"VINs that differ in one sign ({one[place]} for {other[place]})")


def _of_marks(one: Iterable[MarkHeld], other: Sequence[MarkHeld]) -> Iterator[Evidence]:
    shared = [(a, b) for a in one for b in other if a.key == b.key]
    if not shared:
        return
    overlap = any(
        (a.until_on is None or b.from_on is None or b.from_on <= a.until_on)
        and (b.until_on is None or a.from_on is None or a.from_on <= b.until_on)
        for a, b in shared
    )
    key = shared[0][0].key
    if overlap:
        yield Evidence(MARK_SAME, f"the same registration mark at the same time ({key})")
    else:
        yield Evidence(MARK_APART, f"the same registration mark, one after the other ({key})")


def _of_odometers(one: Sequence[tuple[date, int]], other: Sequence[tuple[date, int]]) -> Evidence:
    merged = sorted([*one, *other])
    rises = all(before[1] <= after[1] for before, after in pairwise(merged))
    return Evidence(
        ODOMETERS_AGREE if rises else ODOMETERS_CONTRADICT,
        "their odometers can be one story" if rises else "their odometers contradict each other",
    )
