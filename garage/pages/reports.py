"""The report a page reads: of one part kind and the organisations in view."""

from dataclasses import dataclass
from datetime import date

from django.http import Http404, HttpRequest
from django.utils import timezone

from garage.outcomes.choices import FAILURES
from garage.outcomes.services import snapshot_ready
from garage.outcomes.services.refresh import part_kinds_in_view
from garage.outcomes.wire import Wire
from garage.pages.in_view import InView
from garage.records.choices import FILTER_PART_KIND
from garage.records.models import PartKind


@dataclass(frozen=True)
class Reading:
    """What a page reads from: `report` is None where the view has no records yet."""

    part_kind: PartKind
    part_kinds: tuple[PartKind, ...]
    report: Wire | None

    @property
    def part_name(self) -> str:
        return self.part_kind.name

    @property
    def as_of(self) -> date | None:
        return None if self.report is None else date.fromisoformat(self.report["as_of"])

    @property
    def asks_for_kind(self) -> bool:
        return self.part_kind.code != FILTER_PART_KIND


@dataclass(frozen=True)
class FamilyCount:
    """One engine family's account in a report."""

    name: str
    fitments: int
    lives: int
    failed: int


def report_read(request: HttpRequest, view: InView) -> Reading:
    """The report on the part kind that the address asks for; Http404 for an unknown one."""
    ids = view.scope.organisation_ids
    kinds = tuple(part_kinds_in_view(ids))
    code = request.GET.get("part_kind", FILTER_PART_KIND)
    kind = next((each for each in kinds if each.code == code), None)
    if kind is None:
        kind = PartKind.objects.filter(code=code).first()
    if kind is None:
        raise Http404("no such part kind")
    kept = snapshot_ready(organisation_ids=ids, part_kind=kind, now=timezone.now()) if ids else None
    return Reading(kind, kinds, None if kept is None else kept.report)


def family_counts(report: Wire | None) -> dict[str, FamilyCount]:
    """Fitments, lives and failures of each family, over all origins."""
    counts: dict[str, FamilyCount] = {}
    for row in [] if report is None else report["accounts"]:
        name = row["engine_family"]
        known = counts.get(name, FamilyCount(name, 0, 0, 0))
        counts[name] = FamilyCount(
            name,
            known.fitments + row["fitments"],
            known.lives + row["classes"]["used"],
            known.failed + sum(row["endings"][ending] for ending in FAILURES),
        )
    return counts
