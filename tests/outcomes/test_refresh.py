"""Kept reports: made anew when the records change, and only then."""

from datetime import UTC, datetime, timedelta

import pytest
from django.db import IntegrityError
from pytest_django import DjangoCaptureOnCommitCallbacks

from garage.background.choices import WorkState
from garage.background.models import QueuedWork
from garage.background.services import work_run
from garage.celery import app
from garage.outcomes.models import ReportSnapshot
from garage.outcomes.services import (
    part_kinds_in_view,
    snapshot_ready,
    snapshot_refresh,
    snapshots_refresh_of_organisation,
    snapshots_request_refresh,
)
from garage.outcomes.services.refresh import records_mark, view_key, views_with
from garage.outcomes.wire import FORM_VERSION
from garage.records.models import Organisation, Vehicle
from garage.records.services.normal_life import NormalLifeValue, own_normal_life_set
from tests.outcomes.conftest import Region
from tests.outcomes.histories import History, filter_kind, settle
from tests.records.factories import (
    FitmentFactory,
    JobFactory,
    MembershipFactory,
    OrganisationFactory,
    PartKindFactory,
    UserFactory,
)

NOW = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
LATER = NOW + timedelta(hours=1)


def refresh(*organisations: Organisation, now: datetime = NOW) -> ReportSnapshot | None:
    return snapshot_refresh(
        organisation_ids=[each.pk for each in organisations], part_kind=filter_kind(), now=now
    )


def test_a_report_is_made_and_kept(region: Region) -> None:
    kept = refresh(region.workshop)
    assert kept == ReportSnapshot.objects.get()
    assert kept is not None
    assert kept.made_at == NOW
    assert kept.report["organisations"] == ["alder-yard"]
    assert kept.as_of.isoformat() == kept.report["as_of"] == "2018-01-05"


def test_unchanged_records_keep_the_report_as_it_is(region: Region) -> None:
    first, again = refresh(region.workshop), refresh(region.workshop, now=LATER)
    assert first is not None
    assert again is not None
    assert (again.pk, again.made_at) == (first.pk, NOW)


def test_a_kept_report_of_another_form_is_made_anew_when_asked_for(region: Region) -> None:
    first = refresh(region.workshop)
    assert first is not None
    asked = {"organisation_ids": [region.workshop.pk], "part_kind": filter_kind(), "now": LATER}
    kept = snapshot_ready(**asked)
    assert kept is not None
    assert kept.made_at == NOW
    # As an older version of the register left it: its mark names the older form.
    ReportSnapshot.objects.update(
        report=first.report | {"form": FORM_VERSION - 1}, records_mark="form:1 1:1"
    )
    renewed = snapshot_ready(**asked)
    assert renewed is not None
    assert (renewed.made_at, renewed.report["form"]) == (LATER, FORM_VERSION)


def test_changed_records_make_the_report_anew_in_its_place(region: Region) -> None:
    first = refresh(region.workshop)
    region.ruined.service("2018-06-05", 90_000)
    settle()
    again = refresh(region.workshop, now=LATER)
    assert first is not None
    assert again is not None
    assert (again.pk, again.made_at) == (first.pk, LATER)
    assert again.report["as_of"] == "2018-06-05"
    assert ReportSnapshot.objects.count() == 1


def test_another_organisations_changes_keep_the_report(region: Region) -> None:
    refresh(region.workshop)
    region.ruined.service("2018-06-05", 90_000)
    Organisation.objects.filter(pk=region.fleet.pk).update(records_version=99)
    again = refresh(region.workshop, now=LATER)
    assert again is not None
    assert again.made_at == NOW


def test_an_own_normal_life_makes_the_report_stale(region: Region) -> None:
    refresh(region.workshop)
    own_normal_life_set(
        organisation=region.workshop,
        part_kind=filter_kind(),
        value=NormalLifeValue("factory", 200_000, "our log"),
        at=NOW,
    )
    again = refresh(region.workshop, now=LATER)
    assert again is not None
    assert again.made_at == LATER
    assert again.report["normal_life"]["own"][0]["median_km"] == 200_000


def test_without_records_there_is_no_report(db: None) -> None:
    assert refresh(OrganisationFactory()) is None
    assert not ReportSnapshot.objects.exists()


def test_each_view_and_each_part_kind_has_a_report_of_its_own(region: Region) -> None:
    PartKindFactory(code="injector")
    refresh(region.workshop)
    refresh(region.fleet, region.workshop)
    both = refresh(region.workshop, region.fleet)
    assert both is not None
    assert both.report["vehicles"] == 11
    assert ReportSnapshot.objects.count() == 2
    with pytest.raises(IntegrityError):
        ReportSnapshot.objects.create(
            view_key=both.view_key,
            part_kind=both.part_kind,
            records_mark="",
            as_of=both.as_of,
            made_at=NOW,
            report={},
        )


def test_part_kinds_in_view_are_those_fitted_there(region: Region) -> None:
    PartKindFactory(code="injector")
    assert part_kinds_in_view([region.workshop.pk]) == [filter_kind()]
    assert part_kinds_in_view([OrganisationFactory().pk]) == []


# --- a report at once ---


def test_a_ready_report_is_the_one_kept_even_if_stale(region: Region) -> None:
    refresh(region.workshop)
    region.ruined.service("2018-06-05", 90_000)
    settle()
    ready = snapshot_ready(
        organisation_ids=[region.workshop.pk], part_kind=filter_kind(), now=LATER
    )
    assert ready is not None
    assert ready.made_at == NOW


def test_where_none_is_kept_it_is_made_at_once(region: Region) -> None:
    ready = snapshot_ready(organisation_ids=[region.fleet.pk], part_kind=filter_kind(), now=LATER)
    assert ready is not None
    assert ready.made_at == LATER


# --- views: what somebody reads together ---


def test_a_member_of_several_organisations_gets_a_view_of_all(region: Region) -> None:
    user = UserFactory()
    for organisation in (region.workshop, region.fleet):
        MembershipFactory(user=user, organisation=organisation)
    MembershipFactory(organisation=region.workshop)
    both = tuple(sorted((region.workshop.pk, region.fleet.pk)))
    assert set(views_with(region.workshop)) == {(region.workshop.pk,), both}
    assert snapshots_refresh_of_organisation(organisation=region.workshop, now=NOW) == 2
    assert set(ReportSnapshot.objects.values_list("view_key", flat=True)) == {
        view_key([region.workshop.pk]),
        view_key(both),
    }


def test_an_organisation_without_members_has_a_view_of_itself(region: Region) -> None:
    assert views_with(region.workshop) == [(region.workshop.pk,)]


def test_views_without_this_organisation_are_left_alone(region: Region) -> None:
    MembershipFactory(organisation=region.fleet)
    snapshots_refresh_of_organisation(organisation=region.workshop, now=NOW)
    assert not ReportSnapshot.objects.filter(view_key=view_key([region.fleet.pk])).exists()


def test_report_nobody_reads_is_not_made_beforehand(region: Region) -> None:
    vehicle = Vehicle.objects.filter(organisation=region.workshop).first()
    other = PartKindFactory(code="injector")
    FitmentFactory(vehicle=vehicle, part_kind=other, fitted_at=JobFactory(vehicle=vehicle))
    assert part_kinds_in_view([region.workshop.pk]) == [filter_kind(), other]
    assert snapshots_refresh_of_organisation(organisation=region.workshop, now=NOW) == 1
    snapshot_ready(organisation_ids=[region.workshop.pk], part_kind=other, now=NOW)
    assert snapshots_refresh_of_organisation(organisation=region.workshop, now=NOW) == 2


def test_the_key_of_a_view_is_the_same_in_any_order() -> None:
    assert view_key([3, 1, 20]) == view_key([20, 3, 1])
    assert view_key([3, 1, 20]) != view_key([31, 20])


def test_a_view_of_very_many_organisations_fits_its_column(db: None) -> None:
    organisations = OrganisationFactory.create_batch(120)
    History(organisations[0]).service("2018-01-05", 50_000)
    settle()
    ids = [each.pk + 1_000_000 for each in organisations]
    assert len(view_key(ids)) <= 200
    assert view_key(ids) != view_key(ids[1:])
    Organisation.objects.update(records_version=1_000_000)
    before = records_mark([each.pk for each in organisations])
    assert len(before) <= 400
    Organisation.objects.filter(pk=organisations[-1].pk).update(records_version=2)
    assert records_mark([each.pk for each in organisations]) != before
    assert refresh(*organisations) is not None


# --- in the background ---


@pytest.fixture
def sent(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """The ids of the rows sent to a worker, instead of sending them."""
    ids: list[int] = []
    monkeypatch.setattr(app, "send_task", lambda name, args, **_: ids.extend(args))
    return ids


def run(work: QueuedWork) -> None:
    work_run(work_id=work.pk, worker="here", clock=lambda: LATER)


def test_a_refresh_is_queued_and_sent_after_commit(
    region: Region,
    sent: list[int],
    django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks,
) -> None:
    with django_capture_on_commit_callbacks(execute=True):
        snapshots_request_refresh(organisation=region.workshop, now=NOW)
        work = QueuedWork.objects.get()
        assert sent == []
    assert sent == [work.pk]
    run(work)
    work.refresh_from_db()
    assert work.state == WorkState.DONE
    assert ReportSnapshot.objects.get().made_at == LATER


def test_asked_for_twice_it_waits_once(region: Region, sent: list[int]) -> None:
    for now in (NOW, LATER):
        snapshots_request_refresh(organisation=region.workshop, now=now)
    assert QueuedWork.objects.count() == 1
    snapshots_request_refresh(organisation=region.fleet, now=LATER)
    assert QueuedWork.objects.count() == 2


def test_the_same_work_done_twice_changes_nothing(region: Region, sent: list[int]) -> None:
    for _ in range(2):
        snapshots_request_refresh(organisation=region.workshop, now=NOW)
        run(QueuedWork.objects.get(state=WorkState.QUEUED))
        kept = ReportSnapshot.objects.values()
        assert len(kept) == 1
    before = list(ReportSnapshot.objects.values())
    snapshots_request_refresh(organisation=region.workshop, now=LATER)
    run(QueuedWork.objects.get(state=WorkState.QUEUED))
    assert list(ReportSnapshot.objects.values()) == before
