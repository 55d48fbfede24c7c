"""Trouble codes: a line read, what a vehicle answers, and the codes of a job."""

from dataclasses import asdict
from typing import Any

from rest_framework.request import Request
from rest_framework.response import Response

from api.code_parameters import CodeLineBody, OnBoardBody
from api.parameters import ViewQuery, body_read, query_read
from api.schema import answers, described
from api.serializers.codes import CodeLineAnswer, JobCodesAnswer, OnBoardAnswer
from api.views.base import ASK_PROBLEMS, READ_PROBLEMS, RecordsView
from garage.evidence.codes.line import parse_line
from garage.evidence.codes.on_board_told import on_board_told
from garage.evidence.codes.told import code_told
from garage.evidence.jobs.codes import CodeOfJob, CodesOfPhase, job_codes
from garage.evidence.jobs.resets import job_resets
from garage.evidence.jobs.visits_before import visits_before
from garage.records.selectors import access_job


class CodeLineView(RecordsView):
    """Which codes a line holds."""

    @described(
        "code_line_read",
        "Which trouble codes does a line hold?",
        description="Each code with its state, words and group, in the words that are shipped; "
        "every part that is no code with the reason. Keeps nothing.",
        request=CodeLineBody,
        responses=answers(CodeLineAnswer, *ASK_PROBLEMS),
    )
    def post(self, request: Request) -> Response:
        line = parse_line(body_read(CodeLineBody, request)["text"])
        codes = [{**asdict(code_told(e.code)), "state": e.state.value} for e in line.codes]
        return Response(CodeLineAnswer({"codes": codes, "unread": line.unread}).data)


class OnBoardView(RecordsView):
    """What a vehicle's answers say."""

    @described(
        "on_board_read",
        "What do a vehicle's answers to service 01 say?",
        description="Values, states and self-tests out of the bytes, by formulas from memory of "
        "SAE J1979-DA; fillers, what is not supported and what is out of range are not known, "
        "with the reason. Keeps nothing.",
        request=OnBoardBody,
        responses=answers(OnBoardAnswer, *ASK_PROBLEMS),
    )
    def post(self, request: Request) -> Response:
        told = on_board_told(body_read(OnBoardBody, request)["text"])
        said = {
            "numbers": told.answers.decoded,
            "states": told.answers.states,
            "monitors": told.answers.monitors,
            "self_tests": told.tests,
            "unread": told.answers.unread,
        }
        return Response(OnBoardAnswer(said).data)


class JobCodesView(RecordsView):
    """The trouble codes of one job."""

    @described(
        "job_codes",
        "Trouble codes of a job",
        description="By phase, in the organisation's own words where it has some, with what to "
        "put right first; earlier visits in view with codes of the same groups; and whether "
        "fault memory was reset, innocent causes first.",
        parameters=[ViewQuery],
        responses=answers(JobCodesAnswer, *READ_PROBLEMS),
    )
    def get(self, request: Request, job_id: int) -> Response:
        asked = query_read(ViewQuery, request)
        scope = self.scope(request, asked.get("organisation"))
        job = access_job(scope=scope, job_id=job_id)
        before = visits_before(job=job, organisation_ids=scope.organisation_ids)
        codes, resets = job_codes(job=job, before=before), job_resets(job=job, before=before)
        said = {
            "phases": [_phase(each) for each in codes.phases],
            "on_line": codes.on_line,
            "line_unread": codes.line_unread,
            "same_group": codes.same_group,
            "reset_before": None if resets.before is None else resets.before.pk,
            "resets": resets.signs,
        }
        return Response(JobCodesAnswer(said).data)


def _phase(phase: CodesOfPhase) -> dict[str, Any]:
    return {
        "phase": phase.phase,
        "codes": [_read(each) for each in phase.codes],
        "first": phase.order.first,
        "consequence": phase.order.consequence,
        "order_words": phase.order.words,
        "none_stored": phase.none_stored,
    }


def _read(code: CodeOfJob) -> dict[str, Any]:
    row, status = code.read, code.status
    return {
        **asdict(code.told),
        "id": row.pk,
        "state": row.state,
        "status_byte": row.status_byte,
        "status": None if status is None else status.state,
        "status_words": "" if status is None else status.reason,
        "ecu": row.ecu,
        "read_at": row.read_at,
        "cleared_at": row.cleared_at,
    }
