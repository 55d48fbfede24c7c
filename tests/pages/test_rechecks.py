"""Rechecks on their pages: what is due, and how one ends."""

from datetime import timedelta

from django.test import Client
from django.utils import timezone

from garage.records.models import Job, Recheck
from tests.api.scene import Scene
from tests.pages.conftest import ClientOf
from tests.pages.reading import leaks_in, text_of
from tests.records.factories import JobFactory, VehicleFactory


def waiting(scene: Scene, due_in_days: int) -> Recheck:
    today = timezone.localdate()
    day = today - timedelta(days=10)
    vehicle = VehicleFactory(organisation=scene.cast.alder)
    job = JobFactory(vehicle=vehicle, opened_on=day, closed_on=day)
    return Recheck.objects.create(job=job, due_on=today + timedelta(days=due_in_days))


def later_job(recheck: Recheck) -> Job:
    job: Job = JobFactory(vehicle=recheck.job.vehicle, opened_on=timezone.localdate())
    return job


def test_rechecks_overdue_stand_before_those_due(scene: Scene, alder: Client) -> None:
    late, soon = waiting(scene, -3), waiting(scene, 2)
    answer = alder.get("/rechecks/")
    told = text_of(answer)
    assert "3 days overdue" in told
    assert told.index(late.job.vehicle.ref) < told.index(soon.job.vehicle.ref)
    assert leaks_in(answer) == []


def test_rechecks_none_waiting_says_so(scene: Scene, alder: Client) -> None:
    assert "No recheck is waiting" in text_of(alder.get("/rechecks/"))


def test_recheck_is_ended_by_a_later_job(scene: Scene, technician: Client) -> None:
    recheck = waiting(scene, -3)
    job = later_job(recheck)
    answer = technician.post(f"/rechecks/{recheck.pk}/", {"done_at": job.pk}, follow=True)
    assert "The recheck is ended" in text_of(answer)
    recheck.refresh_from_db()
    assert (recheck.state, recheck.done_at) == ("done", job)
    assert "It is done" in text_of(technician.get(f"/rechecks/{recheck.pk}/"))


def test_recheck_is_waived_for_a_reason(scene: Scene, technician: Client) -> None:
    recheck = waiting(scene, -3)
    refused = technician.post(f"/rechecks/{recheck.pk}/", {"reason": " "})
    assert "This field is required" in text_of(refused)
    technician.post(f"/rechecks/{recheck.pk}/", {"reason": "sold abroad"})
    recheck.refresh_from_db()
    assert (recheck.state, recheck.reason) == ("waived", "sold abroad")


def test_recheck_is_not_ended_by_a_job_of_another_vehicle(scene: Scene, technician: Client) -> None:
    recheck, other = waiting(scene, -3), later_job(waiting(scene, 1))
    technician.post(f"/rechecks/{recheck.pk}/", {"done_at": other.pk})
    recheck.refresh_from_db()
    assert recheck.state == "due"


def test_recheck_is_ended_by_technicians_of_the_organisation_alone(
    scene: Scene, alder: Client, client_of: ClientOf
) -> None:
    recheck = waiting(scene, -3)
    said = {"reason": "sold"}
    assert alder.post(f"/rechecks/{recheck.pk}/", said).status_code == 403
    cedar = client_of(scene.cast.at_cedar)
    assert cedar.post(f"/rechecks/{recheck.pk}/", said).status_code == 404
    assert recheck.job.vehicle.ref not in text_of(cedar.get("/rechecks/"))
