"""The evidence of a job, findings sent in, and the words that it is said in."""

from rest_framework import status
from rest_framework.request import Request
from rest_framework.response import Response

from api.evidence_parameters import EvidenceQuery, FindingBody
from api.parameters import body_read, query_read
from api.problems import (
    NOT_ACCEPTABLE,
    SIGN_IN_REQUIRED,
    TOKEN_REFUSED,
)
from api.rules import rules_told
from api.schema import answers, described
from api.serializers.evidence import EvidenceAnswer, FindingSeenAnswer
from api.serializers.vocabulary import VocabularyAnswer
from api.views.base import READ_PROBLEMS, WRITE_PROBLEMS, RecordsView
from garage.evidence.findings.vocabulary import vocabulary
from garage.evidence.jobs.evidence import job_evidence
from garage.evidence.services.findings import FindingSaid, finding_record
from garage.records.choices import Role
from garage.records.permissions import access_member
from garage.records.selectors import access_job


class JobEvidenceView(RecordsView):
    """What the evidence of one job says."""

    @described(
        "job_evidence",
        "What the evidence of a job says",
        description="Readings, codes and findings of one phase, weighed: what may be wrong with "
        "the sensing, the filter and upstream of it, each with what speaks for and against; what "
        "contradicts; what to check next; what may be done, and what must come before.",
        parameters=[EvidenceQuery],
        responses=answers(EvidenceAnswer, *READ_PROBLEMS),
    )
    def get(self, request: Request, job_id: int) -> Response:
        asked = query_read(EvidenceQuery, request)
        scope = self.scope(request, asked.get("organisation"))
        job = access_job(scope=scope, job_id=job_id)
        evidence = job_evidence(
            job=job, phase=asked["phase"], organisation_ids=scope.organisation_ids
        )
        return Response(EvidenceAnswer(evidence).data)


class JobFindingsView(RecordsView):
    """What was found at one job."""

    @described(
        "finding_record",
        "Say what was found at a job",
        description="A later answer of the same phase takes the place of an earlier one. Where the "
        "check can hurt, its cautions are confirmed by name on the job's evidence page first.",
        request=FindingBody,
        responses=answers(
            FindingSeenAnswer,
            *WRITE_PROBLEMS,
            status=201,
        ),
    )
    def post(self, request: Request, job_id: int) -> Response:
        said = body_read(FindingBody, request)
        job = access_job(scope=self.scope(request, None), job_id=job_id)
        member = access_member(request.user, job.organisation_id, least=Role.TECHNICIAN)
        with rules_told():
            kept = finding_record(job=job, said=FindingSaid(**said), at=self.now(), by=member.user)
        return Response(FindingSeenAnswer(kept).data, status=status.HTTP_201_CREATED)


class FindingListView(RecordsView):
    """What may be asked or found."""

    @described(
        "findings_list",
        "What may be found, and what it may mean",
        responses=answers(VocabularyAnswer, SIGN_IN_REQUIRED, TOKEN_REFUSED, NOT_ACCEPTABLE),
    )
    def get(self, request: Request) -> Response:
        return Response(VocabularyAnswer(vocabulary()).data)
