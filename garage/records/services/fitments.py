"""Bring the fitments of vehicles in line with their jobs, keeping the rows that still hold."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from operator import attrgetter, itemgetter
from typing import Any

from garage.records.bulk_write import keys_reserve, models_update, rows_insert
from garage.records.fitting import FitmentDraft, PartLine, Visit, fitments_follow
from garage.records.models import Fitment, Operation, PartKind, Vehicle
from garage.records.services.odometer import InstrumentOffsets
from garage.records.vehicle_batches import among

BATCH_ROWS = 2_000
#: Fields that a draft states; the key and the link to the cleaned part are set apart.
STATED = (
    "origin",
    "brand",
    "mark",
    "fitted_on",
    "fitted_km",
    "removed_on",
    "removed_km",
    "removed_at_id",
    "removed_because",
    "last_sound_km",
    "last_seen_same_at_id",
)
STATED_FIELDS = tuple(name.removesuffix("_id") for name in STATED)
stated_values = attrgetter(*STATED)
NEW_FIELDS = (
    *("id", "vehicle", "part_kind", "position", "start", "fitted_at", "cleaned_from"),
    *STATED_FIELDS,
)
#: What a line says of the part, in the order of its fields; `last_sound_km` is the last.
SAID = PartLine._fields[:-1]
Key = tuple[int, str, str, int, int]


@dataclass(slots=True)
class _New:
    """A fitment that is not recorded yet; a model object takes much longer to make."""

    vehicle_id: int
    draft: FitmentDraft
    pk: int | None = None


def fitments_derive(
    *, vehicle_ids: Collection[int], offsets: InstrumentOffsets, km_at_jobs: Mapping[int, int]
) -> None:
    """Derive the fitments of these vehicles from their jobs anew.

    `km_at_jobs` is the true km at each job whose reading stands, as `odometers_settle` says it.
    """
    from_new = list(PartKind.objects.filter(fitted_from_new=True).values_list("pk", flat=True))
    visits = _visits(vehicle_ids, offsets, km_at_jobs)
    recorded: dict[int, dict[Key, Fitment]] = defaultdict(dict)
    for fitment in Fitment.objects.filter(among("vehicle_id", vehicle_ids)).order_by("id"):
        begun = (
            fitment.part_kind_id,
            fitment.position,
            fitment.start,
            fitment.fitted_at_id or 0,
        )
        rows = recorded[fitment.vehicle_id]
        rows[(*begun, sum(known[:4] == begun for known in rows))] = fitment

    gone: list[int] = []
    changed: list[Fitment] = []
    new: list[_New] = []
    links: list[tuple[Fitment, Fitment | _New | None]] = []
    wanted = set(vehicle_ids)
    placed: dict[int, Fitment | _New] = {}
    vehicles = Vehicle.objects.filter(among("pk", vehicle_ids)).order_by("pk")
    for vehicle_id, watched_from_new, first_used_on in vehicles.values_list(
        "pk", "watched_from_new", "first_used_on"
    ):
        if vehicle_id not in wanted:
            continue
        drafts = fitments_follow(
            visits.get(vehicle_id, ()),
            factory_part_kinds=from_new if watched_from_new else (),
            first_used_on=first_used_on,
        )
        rows = recorded[vehicle_id]
        for key, draft in _numbered(drafts):
            row = rows.pop(key, None)
            if row is None:
                begun_now = placed[id(draft)] = _New(vehicle_id, draft)
                new.append(begun_now)
                continue
            if _take_over(row, draft):
                changed.append(row)
            placed[id(draft)] = row
            links.append((row, placed[id(draft.cleaned_from)] if draft.cleaned_from else None))
        gone += [row.pk for row in rows.values()]
    _write(gone, changed, new, links, placed)


def _write(
    gone: list[int],
    changed: list[Fitment],
    new: list[_New],
    links: list[tuple[Fitment, Fitment | _New | None]],
    placed: Mapping[int, Fitment | _New],
) -> None:
    # One open fitment a position: what closes is written before what opens.
    for start in range(0, len(gone), BATCH_ROWS):
        Fitment.objects.filter(pk__in=gone[start : start + BATCH_ROWS]).delete()
    for closed in (True, False):
        rows = [row for row in changed if (row.removed_at_id is not None) is closed]
        models_update(rows, STATED_FIELDS)
    for begun, key in zip(new, keys_reserve(Fitment, len(new)), strict=True):
        begun.pk = key
    relinked = [
        (row, cleaned)
        for row, cleaned in links
        if row.cleaned_from_id != (None if cleaned is None else cleaned.pk)
    ]
    # A part has one next life: every link that changes is untied before any is tied again.
    for start in range(0, len(relinked), BATCH_ROWS):
        batch = [row.pk for row, _ in relinked[start : start + BATCH_ROWS]]
        Fitment.objects.filter(pk__in=batch).update(cleaned_from=None)
    for row, cleaned in relinked:
        row.cleaned_from_id = None if cleaned is None else cleaned.pk
    rows_insert(Fitment, NEW_FIELDS, [_values(begun, placed) for begun in new])
    tied = [row for row, cleaned in relinked if cleaned is not None]
    models_update(tied, ["cleaned_from"])


def _values(begun: _New, placed: Mapping[int, Fitment | _New]) -> tuple[Any, ...]:
    """A new fitment's values in the order of NEW_FIELDS."""
    draft = begun.draft
    cleaned = None if draft.cleaned_from is None else placed[id(draft.cleaned_from)].pk
    return (
        begun.pk,
        begun.vehicle_id,
        draft.part_kind_id,
        draft.position,
        draft.start,
        draft.fitted_at_id,
        cleaned,
        *stated_values(draft),
    )


def _numbered(drafts: Iterable[FitmentDraft]) -> Iterable[tuple[Key, FitmentDraft]]:
    """Each draft with its key; drafts of one key are told apart by their order."""
    seen: dict[tuple[int, str, str, int], int] = defaultdict(int)
    for draft in drafts:
        yield (*draft.key, seen[draft.key]), draft
        seen[draft.key] += 1


def _take_over(row: Fitment, draft: FitmentDraft) -> bool:
    """Let a recorded fitment state what the draft does; False if that is what it states."""
    if stated_values(row) == stated_values(draft):
        return False
    for name in STATED:
        setattr(row, name, getattr(draft, name))
    return True


def _visits(
    vehicle_ids: Collection[int], offsets: InstrumentOffsets, km_at_jobs: Mapping[int, int]
) -> dict[int, list[Visit]]:
    """The jobs at which something was done to a part of the catalogue, in their order."""
    visits: dict[int, list[Visit]] = defaultdict(list)
    found = _lines(vehicle_ids, offsets)
    for (job_id, vehicle_id, opened_on), lines in groupby(found, key=itemgetter(0, 1, 2)):
        km = km_at_jobs.get(job_id)
        visits[vehicle_id].append(Visit(job_id, opened_on, km, [line for *_, line in lines]))
    for each in visits.values():
        each.sort(key=lambda visit: (visit.opened_on, visit.km or 0, visit.job_id))
    return visits


def _lines(
    vehicle_ids: Collection[int], offsets: InstrumentOffsets
) -> Iterator[tuple[int, int, date, PartLine]]:
    """Job, vehicle, day and what was done to a part, in the order of the jobs' keys."""
    for job_id, vehicle_id, opened_on, last_sound_km, *said in (
        Operation.objects.filter(among("job__vehicle_id", vehicle_ids), part_kind__isnull=False)
        .order_by("job_id", "line")
        .values_list("job_id", "job__vehicle_id", "job__opened_on", "last_sound_km", *SAID)
    ):
        km = last_sound_km
        if km is not None:
            # As the instrument of the job's day shows it, like the job's own reading.
            km = max(0, km + offsets.km_on(vehicle_id, opened_on))
        yield job_id, vehicle_id, opened_on, PartLine(*[*said, km])
