"""Bring the fitments of vehicles in line with their jobs, keeping the rows that still hold."""

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import fields

from garage.records.bulk_write import keys_reserve, models_insert, models_update
from garage.records.fitting import FitmentDraft, PartLine, Visit, fitments_follow
from garage.records.models import Fitment, Job, OdometerReading, Operation, PartKind, Vehicle
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
#: What a line says of the part, in the order of its fields.
SAID = tuple(field.name for field in fields(PartLine) if field.name != "last_sound_km")
Key = tuple[int, str, str, int, int]


def fitments_derive(*, vehicle_ids: Collection[int]) -> None:
    """Derive the fitments of these vehicles from their jobs anew."""
    from_new = list(PartKind.objects.filter(fitted_from_new=True).values_list("pk", flat=True))
    visits = _visits(vehicle_ids)
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
    new: list[Fitment] = []
    links: list[tuple[Fitment, Fitment | None]] = []
    wanted = set(vehicle_ids)
    vehicles = Vehicle.objects.filter(among("pk", vehicle_ids)).order_by("pk")
    for vehicle_id, watched_from_new, first_used_on in vehicles.values_list(
        "pk", "watched_from_new", "first_used_on"
    ):
        if vehicle_id not in wanted:
            continue
        drafts = fitments_follow(
            visits[vehicle_id],
            factory_part_kinds=from_new if watched_from_new else (),
            first_used_on=first_used_on,
        )
        rows = recorded[vehicle_id]
        placed: dict[int, Fitment] = {}
        for key, draft in _numbered(drafts):
            row = rows.pop(key, None)
            if row is None:
                row = _fresh(vehicle_id, draft)
                new.append(row)
            elif _take_over(row, draft):
                changed.append(row)
            placed[id(draft)] = row
            links.append((row, placed[id(draft.cleaned_from)] if draft.cleaned_from else None))
        gone += [row.pk for row in rows.values()]
    _write(gone, changed, new, links)


def _write(
    gone: list[int],
    changed: list[Fitment],
    new: list[Fitment],
    links: list[tuple[Fitment, Fitment | None]],
) -> None:
    # One open fitment a position: what closes is written before what opens.
    for start in range(0, len(gone), BATCH_ROWS):
        Fitment.objects.filter(pk__in=gone[start : start + BATCH_ROWS]).delete()
    for closed in (True, False):
        rows = [row for row in changed if (row.removed_at_id is not None) is closed]
        models_update(rows, STATED_FIELDS)
    are_new = {id(row) for row in new}
    relinked = [
        (row, cleaned)
        for row, cleaned in links
        if id(row) not in are_new
        and row.cleaned_from_id != (None if cleaned is None else cleaned.pk)
    ]
    # A part has one next life: every link that changes is untied before any is tied again.
    for start in range(0, len(relinked), BATCH_ROWS):
        batch = [row.pk for row, _ in relinked[start : start + BATCH_ROWS]]
        Fitment.objects.filter(pk__in=batch).update(cleaned_from=None)
    for row, key in zip(new, keys_reserve(Fitment, len(new)), strict=True):
        row.pk = key
    for row, cleaned in links:
        row.cleaned_from_id = None if cleaned is None else cleaned.pk
    models_insert(new)
    tied = [row for row, cleaned in relinked if cleaned is not None]
    models_update(tied, ["cleaned_from"])


def _numbered(drafts: Iterable[FitmentDraft]) -> Iterable[tuple[Key, FitmentDraft]]:
    """Each draft with its key; drafts of one key are told apart by their order."""
    seen: dict[tuple[int, str, str, int], int] = defaultdict(int)
    for draft in drafts:
        yield (*draft.key, seen[draft.key]), draft
        seen[draft.key] += 1


def _fresh(vehicle_id: int, draft: FitmentDraft) -> Fitment:
    return Fitment(
        vehicle_id=vehicle_id,
        part_kind_id=draft.part_kind_id,
        position=draft.position,
        start=draft.start,
        fitted_at_id=draft.fitted_at_id,
        **{name: getattr(draft, name) for name in STATED},
    )


def _take_over(row: Fitment, draft: FitmentDraft) -> bool:
    changed = False
    for name in STATED:
        stated = getattr(draft, name)
        if getattr(row, name) != stated:
            setattr(row, name, stated)
            changed = True
    return changed


def _visits(vehicle_ids: Collection[int]) -> dict[int, list[Visit]]:
    jobs = list(
        Job.objects.filter(among("vehicle_id", vehicle_ids)).values_list(
            "vehicle_id", "pk", "opened_on"
        )
    )
    lines = _lines(vehicle_ids)
    km = dict(
        OdometerReading.objects.filter(
            among("vehicle_id", vehicle_ids), job__isnull=False, doubt=""
        ).values_list("job_id", "km")
    )
    jobs.sort(key=lambda job: (job[2], km.get(job[1], 0), job[1]))
    visits: dict[int, list[Visit]] = defaultdict(list)
    for vehicle_id, job_id, opened_on in jobs:
        visits[vehicle_id].append(Visit(job_id, opened_on, km.get(job_id), lines.get(job_id, ())))
    return visits


def _lines(vehicle_ids: Collection[int]) -> dict[int, list[PartLine]]:
    offsets = InstrumentOffsets(vehicle_ids)
    lines: dict[int, list[PartLine]] = defaultdict(list)
    for job_id, vehicle_id, opened_on, last_sound_km, *said in (
        Operation.objects.filter(among("job__vehicle_id", vehicle_ids), part_kind__isnull=False)
        .order_by("job_id", "line")
        .values_list("job_id", "job__vehicle_id", "job__opened_on", "last_sound_km", *SAID)
    ):
        km = last_sound_km
        if km is not None:
            # As the instrument of the job's day shows it, like the job's own reading.
            km = max(0, km + offsets.km_on(vehicle_id, opened_on))
        lines[job_id].append(PartLine(*[*said, km]))
    return lines
