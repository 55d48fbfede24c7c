"""Logs of drives and burns: judged without keeping, and kept at a job."""

from typing import Any

from rest_framework import status
from rest_framework.request import Request
from rest_framework.response import Response

from api.drive_parameters import DriveBody, DriveQuestionBody
from api.drive_questions import drive_asked, log_told
from api.paging import page_of, paged
from api.parameters import PageQuery, body_read, query_read
from api.rules import rules_told
from api.schema import answers, described
from api.serializers.drives import DriveAnswer, JobDriveAnswer
from api.views.base import ASK_PROBLEMS, READ_PROBLEMS, WRITE_PROBLEMS, RecordsView
from garage.evidence.jobs.drives import log_judged, targets_of_job
from garage.evidence.own_limits import limits_for
from garage.evidence.services.drives import NewDrive, drive_add
from garage.records.choices import Role
from garage.records.models import DriveLogged, Job
from garage.records.permissions import access_member
from garage.records.selectors import access_job

JobDrivePage = paged(JobDriveAnswer, "JobDrivePage")


class DriveLogView(RecordsView):
    """What a log tells."""

    @described(
        "drive_judge",
        "What does a log of a drive or a burn tell?",
        description="Soot per km with 95 % limits, distance to the next burn and to the limit for "
        "one as ranges, and each burn: completed, broken off, a value set back, or not to be told. "
        "Keeps nothing.",
        request=DriveQuestionBody,
        responses=answers(
            DriveAnswer,
            *ASK_PROBLEMS,
        ),
    )
    def post(self, request: Request) -> Response:
        said = body_read(DriveQuestionBody, request)
        with rules_told():
            told = drive_asked(said)
        return Response(DriveAnswer(told).data)


class JobDrivesView(RecordsView):
    """The logs of one job."""

    @described(
        "drives_list",
        "Logs of a job",
        parameters=[PageQuery],
        responses=answers(JobDrivePage, *READ_PROBLEMS),
    )
    def get(self, request: Request, job_id: int) -> Response:
        asked = query_read(PageQuery, request)
        job = access_job(scope=self.scope(request, asked.get("organisation")), job_id=job_id)
        found = page_of(job.drives.order_by("pk"), asked)
        found["results"] = _told(job, found["results"])
        return Response(JobDrivePage(found).data)

    @described(
        "drive_add",
        "Add a log to a job",
        description="Rows that cannot be read are named and left out; a log in which nothing can "
        "be read is refused.",
        request=DriveBody,
        responses=answers(
            JobDriveAnswer,
            *WRITE_PROBLEMS,
            status=201,
        ),
    )
    def post(self, request: Request, job_id: int) -> Response:
        said = body_read(DriveBody, request)
        job = access_job(scope=self.scope(request, None), job_id=job_id)
        member = access_member(request.user, job.organisation_id, least=Role.TECHNICIAN)
        new = NewDrive(said["title"], said["phase"], said["log"])
        with rules_told():
            kept = drive_add(job=job, new=new, at=self.now(), by=member.user)
        (told,) = _told(job, [kept])
        return Response(JobDriveAnswer(told).data, status=status.HTTP_201_CREATED)


def _told(job: Job, logs: list[DriveLogged]) -> list[dict[str, Any]]:
    """Each log judged by the limits and sizes that hold for the job."""
    limits = limits_for(job.organisation_id, job.vehicle.engine_family_id).drives
    targets = targets_of_job(job=job, limits=limits)
    return [log_told(log_judged(each, targets, limits)) for each in logs]
