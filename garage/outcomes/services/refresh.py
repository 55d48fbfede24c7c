"""Make the snapshots of a view anew, and ask for that to be done in the background."""

import hashlib
from collections.abc import Collection
from datetime import datetime

from django.db.models import Count, Q

from garage.background.services import work_enqueue
from garage.outcomes.models import ReportSnapshot
from garage.outcomes.models.snapshot import RECORDS_MARK_LENGTH, VIEW_KEY_LENGTH
from garage.outcomes.read_facts import newest_record_on
from garage.outcomes.report import Progress, no_progress, report_make
from garage.outcomes.wire import FORM_VERSION, report_to_wire
from garage.records.choices import FILTER_PART_KIND, REFRESH
from garage.records.models import Membership, Organisation, PartKind


def view_key(organisation_ids: Collection[int]) -> str:
    """The same for the same organisations in any order."""
    return _fitted("-".join(str(each) for each in sorted(organisation_ids)), VIEW_KEY_LENGTH)


def records_mark(organisation_ids: Collection[int]) -> str:
    """Versions of the records in view and of the report's form: what makes a report stale."""
    versions = (
        Organisation.objects.filter(pk__in=organisation_ids)
        .order_by("pk")
        .values_list("pk", "records_version")
    )
    told = " ".join([f"form:{FORM_VERSION}", *(f"{pk}:{version}" for pk, version in versions)])
    return _fitted(told, RECORDS_MARK_LENGTH)


def _fitted(text: str, most: int) -> str:
    """The text, or of a view of very many organisations what stands for it in so many signs."""
    if len(text) <= most:
        return text
    return f"sha256:{hashlib.sha256(text.encode()).hexdigest()}"


def snapshot_refresh(
    *,
    organisation_ids: Collection[int],
    part_kind: PartKind,
    now: datetime,
    progress: Progress = no_progress,
) -> ReportSnapshot | None:
    """Make one view's report and keep it; None where the view has no records yet.

    A report made from these very records is kept as it is: it would come out the same.
    """
    ids = sorted(organisation_ids)
    mark = records_mark(ids)
    kept = ReportSnapshot.objects.filter(view_key=view_key(ids), part_kind=part_kind).first()
    if kept is not None and kept.records_mark == mark:
        return kept
    as_of = newest_record_on(ids)
    if as_of is None:
        return None
    report = report_make(
        organisations=list(Organisation.objects.filter(pk__in=ids)),
        part_kind=part_kind,
        as_of=as_of,
        progress=progress,
    )
    snapshot, _ = ReportSnapshot.objects.update_or_create(
        view_key=view_key(ids),
        part_kind=part_kind,
        defaults={
            "records_mark": mark,
            "as_of": as_of,
            "made_at": now,
            "report": report_to_wire(report),
        },
    )
    return snapshot


def snapshot_ready(
    *, organisation_ids: Collection[int], part_kind: PartKind, now: datetime
) -> ReportSnapshot | None:
    """The newest report of a view; made at once where none is kept yet, or one of another form.

    None where the view has no records. The report says its `as_of`; imports queue its refresh.
    """
    kept = ReportSnapshot.objects.filter(
        view_key=view_key(organisation_ids), part_kind=part_kind
    ).first()
    if kept is not None and kept.report.get("form") == FORM_VERSION:
        return kept
    return snapshot_refresh(organisation_ids=organisation_ids, part_kind=part_kind, now=now)


def snapshots_refresh_of_organisation(*, organisation: Organisation, now: datetime) -> int:
    """Refresh every view that this organisation's records are part of; how many reports it made.

    Of each view the report on its first part kind, and those on others that somebody has read: a
    report nobody reads is made when it is asked for.
    """
    kept = 0
    for ids in views_with(organisation):
        read = set(
            ReportSnapshot.objects.filter(view_key=view_key(ids)).values_list(
                "part_kind_id", flat=True
            )
        )
        for place, part_kind in enumerate(part_kinds_in_view(ids)):
            if place > 0 and part_kind.pk not in read:
                continue
            snapshot = snapshot_refresh(organisation_ids=ids, part_kind=part_kind, now=now)
            kept += snapshot is not None
    return kept


def snapshots_request_refresh(*, organisation: Organisation, now: datetime) -> None:
    """Queue the refresh of every view that this organisation's records are part of."""
    work_enqueue(kind=REFRESH, arguments={"organisation": organisation.code}, now=now)


def views_with(organisation: Organisation) -> list[tuple[int, ...]]:
    """The sets of organisations that somebody reads together, this one among them."""
    of_user: dict[int, set[int]] = {}
    for user_id, organisation_id in Membership.objects.values_list("user_id", "organisation_id"):
        of_user.setdefault(user_id, set()).add(organisation_id)
    views = {tuple(sorted(ids)) for ids in of_user.values() if organisation.pk in ids}
    return sorted(views | {(organisation.pk,)})


def part_kinds_in_view(organisation_ids: Collection[int]) -> list[PartKind]:
    """Part kinds of which these organisations have fitments: the filter, then the commonest."""
    fitted = PartKind.objects.filter(
        fitments__vehicle__organisation_id__in=organisation_ids
    ).annotate(is_other=~Q(code=FILTER_PART_KIND), count=Count("fitments"))
    return list(fitted.order_by("is_other", "-count", "code"))
