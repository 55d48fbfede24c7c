"""From a vehicle's jobs, in order, to its fitments: which part sat where, from when to when."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import NamedTuple

from garage.records.choices import (
    FitmentStart,
    FoundInPlace,
    OperationKind,
    Origin,
    RemovedBecause,
)


class PartLine(NamedTuple):
    """One operation on a part of the catalogue."""

    kind: str
    part_kind_id: int
    position: str
    part_origin: str
    part_brand: str
    part_mark: str
    removed_because: str
    found_in_place: str
    last_sound_km: int | None


class Visit(NamedTuple):
    """One job as far as fitments need it; `km` is None where no reading stands."""

    job_id: int
    opened_on: date
    km: int | None
    lines: Sequence[PartLine]


@dataclass(slots=True)
class FitmentDraft:
    """A fitment as the jobs tell it, before it meets the database."""

    part_kind_id: int
    position: str
    origin: str
    start: str
    brand: str = ""
    mark: str = ""
    fitted_on: date | None = None
    fitted_km: int | None = None
    fitted_at_id: int | None = None
    removed_on: date | None = None
    removed_km: int | None = None
    removed_at_id: int | None = None
    removed_because: str = ""
    last_sound_km: int | None = None
    last_seen_same_at_id: int | None = None
    cleaned_from: "FitmentDraft | None" = field(default=None, repr=False)

    @property
    def key(self) -> tuple[int, str, str, int]:
        """What stays the same when other jobs of the vehicle arrive later or are mended."""
        return (self.part_kind_id, self.position, self.start, self.fitted_at_id or 0)


def fitments_follow(
    visits: Iterable[Visit], *, factory_part_kinds: Iterable[int], first_used_on: date | None
) -> list[FitmentDraft]:
    """The fitments that these visits, in order, tell of.

    `factory_part_kinds` are those that the vehicle surely left the factory with: the catalogue
    marks them as fitted from new, and the vehicle has been watched from new.
    """
    visits = list(visits)
    story = _Story(first_used_on)
    for part_kind_id in factory_part_kinds:
        named = {
            line.position
            for visit in visits
            for line in visit.lines
            if line.part_kind_id == part_kind_id
        }
        for position in sorted(named) or [""]:
            story.begin_at_factory(part_kind_id, position, stated_at=None)
    for visit in visits:
        for line in visit.lines:
            story.tell(visit, line)
    return story.drafts


class _Story:
    """The fitments so far, and which of them is in place at each position."""

    def __init__(self, first_used_on: date | None) -> None:
        self.first_used_on = first_used_on
        self.drafts: list[FitmentDraft] = []
        self.in_place: dict[tuple[int, str], FitmentDraft] = {}
        # Where a part has been exchanged, here or elsewhere, the factory's is gone for good.
        self.exchanged: set[tuple[int, str]] = set()

    def tell(self, visit: Visit, line: PartLine) -> None:
        if line.found_in_place:
            self._look(visit, line)
        if line.kind in (OperationKind.REPLACE, OperationKind.CLEAN_OFF_VEHICLE):
            self._exchange(visit, line)
            return
        if line.kind == OperationKind.INSPECT and line.part_origin:
            self._inspect(visit, line)
        if line.kind == OperationKind.INSPECT and line.part_mark:
            self._read_mark(line)

    def begin_at_factory(
        self, part_kind_id: int, position: str, *, stated_at: Visit | None
    ) -> FitmentDraft:
        """A part in place since the factory; who says so, unless it was watched from new."""
        return self._begin(
            FitmentDraft(
                part_kind_id,
                position,
                Origin.FACTORY,
                FitmentStart.FACTORY,
                fitted_on=self.first_used_on,
                fitted_km=0,
                fitted_at_id=None if stated_at is None else stated_at.job_id,
            )
        )

    def _begin(self, draft: FitmentDraft) -> FitmentDraft:
        self.drafts.append(draft)
        self.in_place[draft.part_kind_id, draft.position] = draft
        return draft

    def _begin_unknown(self, visit: Visit, line: PartLine, origin: str) -> FitmentDraft:
        return self._begin(
            FitmentDraft(
                line.part_kind_id,
                line.position,
                origin,
                FitmentStart.UNKNOWN,
                fitted_at_id=visit.job_id,
            )
        )

    def _look(self, visit: Visit, line: PartLine) -> None:
        open_fitment = self.in_place.get((line.part_kind_id, line.position))
        found_origin = line.part_origin if line.kind == OperationKind.INSPECT else ""
        if line.found_in_place == FoundInPlace.SAME:
            if open_fitment is None:
                if found_origin == Origin.FACTORY:
                    open_fitment = self.begin_at_factory(
                        line.part_kind_id, line.position, stated_at=visit
                    )
                else:
                    open_fitment = self._begin_unknown(visit, line, found_origin or Origin.UNKNOWN)
            open_fitment.last_seen_same_at_id = visit.job_id
            return
        if open_fitment is not None:
            # Its end lies somewhere after the last look; only the finding is dated.
            open_fitment.removed_at_id = visit.job_id
            open_fitment.removed_because = RemovedBecause.REPLACED_ELSEWHERE
        self.exchanged.add((line.part_kind_id, line.position))
        # Another part than the one recorded is not the factory's, whatever the row says.
        origin = Origin.UNKNOWN if found_origin in ("", Origin.FACTORY) else found_origin
        self._begin_unknown(visit, line, origin)

    def _inspect(self, visit: Visit, line: PartLine) -> None:
        open_fitment = self.in_place.get((line.part_kind_id, line.position))
        if open_fitment is None:
            if line.part_origin == Origin.FACTORY:
                self.begin_at_factory(line.part_kind_id, line.position, stated_at=visit)
            else:
                self._begin_unknown(visit, line, line.part_origin)
        elif open_fitment.start == FitmentStart.UNKNOWN and open_fitment.origin == Origin.UNKNOWN:
            if line.part_origin != Origin.FACTORY:
                open_fitment.origin = line.part_origin
            elif (line.part_kind_id, line.position) not in self.exchanged:
                open_fitment.origin = Origin.FACTORY
                open_fitment.start = FitmentStart.FACTORY
                open_fitment.fitted_at_id = visit.job_id
                open_fitment.fitted_on = self.first_used_on
                open_fitment.fitted_km = 0

    def _read_mark(self, line: PartLine) -> None:
        """A mark read off the part in place; the one written when it was fitted stands."""
        open_fitment = self.in_place.get((line.part_kind_id, line.position))
        if open_fitment is not None and not open_fitment.mark:
            open_fitment.mark = line.part_mark

    def _exchange(self, visit: Visit, line: PartLine) -> None:
        removed = self.in_place.get((line.part_kind_id, line.position))
        if removed is None:
            removed = self._begin_unknown(visit, line, Origin.UNKNOWN)
        removed.removed_at_id = visit.job_id
        removed.removed_on = visit.opened_on
        removed.removed_because = line.removed_because or RemovedBecause.UNKNOWN
        if removed.fitted_on is not None and removed.fitted_on > visit.opened_on:
            removed.fitted_on = None
        if visit.km is not None:
            # Readings that stand may still differ by the small slack they are allowed.
            removed.removed_km = max(visit.km, removed.fitted_km or 0)
        if _lies_within(line.last_sound_km, removed):
            removed.last_sound_km = line.last_sound_km
        self.exchanged.add((line.part_kind_id, line.position))
        cleaned = line.kind == OperationKind.CLEAN_OFF_VEHICLE
        self._begin(
            FitmentDraft(
                line.part_kind_id,
                line.position,
                Origin.CLEANED if cleaned else line.part_origin or Origin.UNKNOWN,
                FitmentStart.FITTED_HERE,
                brand=removed.brand if cleaned else line.part_brand,
                mark=line.part_mark or (removed.mark if cleaned else ""),
                fitted_on=visit.opened_on,
                fitted_km=visit.km,
                fitted_at_id=visit.job_id,
                cleaned_from=removed if cleaned else None,
            )
        )


def _lies_within(km: int | None, fitment: FitmentDraft) -> bool:
    """Whether this distance can be one at which the part was in place."""
    return (
        km is not None
        and (fitment.fitted_km is None or km >= fitment.fitted_km)
        and (fitment.removed_km is None or km <= fitment.removed_km)
    )
