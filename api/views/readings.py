"""Technical readings of a job: what was read, and more."""

from rest_framework import status
from rest_framework.request import Request
from rest_framework.response import Response

from api.paging import page_of, paged
from api.parameters import PageQuery, ReadingBody, body_read, query_read
from api.problems import (
    NOT_ACCEPTABLE,
    SIGN_IN_REQUIRED,
    TOKEN_REFUSED,
)
from api.rules import rules_told
from api.schema import answers, described
from api.serializers.readings import QuantitiesAnswer, TechnicalReadingAnswer
from api.views.base import READ_PROBLEMS, WRITE_PROBLEMS, RecordsView
from garage.evidence.instruments import access_instrument
from garage.evidence.quantities.catalogue import quantities
from garage.evidence.services.readings import NewReading, reading_add
from garage.records.choices import Role
from garage.records.permissions import access_member
from garage.records.selectors import access_job

ReadingPage = paged(TechnicalReadingAnswer, "ReadingPage")


class JobReadingsView(RecordsView):
    """The readings of one job."""

    @described(
        "readings_list",
        "Readings of a job",
        parameters=[PageQuery],
        responses=answers(ReadingPage, *READ_PROBLEMS),
    )
    def get(self, request: Request, job_id: int) -> Response:
        asked = query_read(PageQuery, request)
        job = access_job(scope=self.scope(request, asked.get("organisation")), job_id=job_id)
        rows = job.technical_readings.select_related("instrument").order_by("pk")
        return Response(ReadingPage(page_of(rows, asked)).data)

    @described(
        "reading_add",
        "Add a reading to a job",
        description="Value and unit as the display shows them; the standard value is reckoned "
        "once, here. A figure for no value, an odd unit, sign or size is refused.",
        request=ReadingBody,
        responses=answers(
            TechnicalReadingAnswer,
            *WRITE_PROBLEMS,
            status=201,
        ),
    )
    def post(self, request: Request, job_id: int) -> Response:
        said = body_read(ReadingBody, request)
        scope = self.scope(request, None)
        job = access_job(scope=scope, job_id=job_id)
        member = access_member(request.user, job.organisation_id, least=Role.TECHNICIAN)
        named = said.pop("instrument_id", None)
        shown_on = None if named is None else access_instrument(scope=scope, instrument_id=named)
        with rules_told():
            new = NewReading(**said, instrument=shown_on)
            reading = reading_add(job=job, new=new, at=self.now(), by=member.user)
        return Response(TechnicalReadingAnswer(reading).data, status=status.HTTP_201_CREATED)


class QuantityListView(RecordsView):
    """What can be read."""

    @described(
        "quantities_list",
        "What can be read",
        responses=answers(QuantitiesAnswer, SIGN_IN_REQUIRED, TOKEN_REFUSED, NOT_ACCEPTABLE),
    )
    def get(self, request: Request) -> Response:
        return Response(QuantitiesAnswer({"quantities": list(quantities().values())}).data)
