"""Imports: sent, watched, cancelled."""

from typing import Any

from rest_framework import status
from rest_framework.parsers import BaseParser, MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from api.paging import page_of, paged
from api.parameters import ImportBody, PageQuery, ViewQuery, body_read, query_read
from api.problems import (
    BODY_TOO_LARGE,
    INVALID_REQUEST,
    NOT_ALLOWED,
    SIGN_IN_REQUIRED,
    TOKEN_REFUSED,
    UNREADABLE_REQUEST,
    UNSUPPORTED_MEDIA_TYPE,
)
from api.rules import rules_told
from api.schema import answers, described
from api.serializers.imports import ImportRunAnswer
from api.views.base import READ_PROBLEMS, RecordsView
from garage.records.choices import Role
from garage.records.import_runs import access_run, runs_listed
from garage.records.importing.columns import FILE_KINDS
from garage.records.permissions import access_member
from garage.records.services.import_runs import SentFile, files_run_queue, import_run_cancel

ImportRunPage = paged(ImportRunAnswer, "ImportRunPage")


class ImportListView(RecordsView):
    """The import runs so far, and files sent in for another."""

    def get_parsers(self) -> list[BaseParser]:
        return [MultiPartParser()]

    @described(
        "imports_list",
        "Imports",
        parameters=[PageQuery],
        responses=answers(ImportRunPage, *READ_PROBLEMS),
    )
    def get(self, request: Request) -> Response:
        asked = query_read(PageQuery, request)
        scope = self.scope(request, asked.get("organisation"))
        return Response(ImportRunPage(page_of(runs_listed(scope=scope), asked)).data)

    @described(
        "import_send",
        "Send files to import",
        description="Files of the register's own form (docs/import.md), at most one of each kind. "
        "All of it is recorded or nothing. The answer is the run, which waits; ask for it again.",
        request={"multipart/form-data": ImportBody},
        responses=answers(
            ImportRunAnswer,
            INVALID_REQUEST,
            UNREADABLE_REQUEST,
            BODY_TOO_LARGE,
            SIGN_IN_REQUIRED,
            TOKEN_REFUSED,
            NOT_ALLOWED,
            UNSUPPORTED_MEDIA_TYPE,
            status=202,
        ),
    )
    def post(self, request: Request) -> Response:
        said = body_read(ImportBody, request)
        (organisation_id,) = self.scope(request, said["organisation"]).organisation_ids
        member = access_member(request.user, organisation_id, least=Role.TECHNICIAN)
        with rules_told():
            run = files_run_queue(
                organisation=member.organisation,
                files=_sent(said),
                dry_run=said["dry_run"],
                at=self.now(),
                by=member.user,
            )
        return Response(ImportRunAnswer(run).data, status=status.HTTP_202_ACCEPTED)


class ImportView(RecordsView):
    """One import run."""

    @described(
        "import_read",
        "One import",
        parameters=[ViewQuery],
        responses=answers(ImportRunAnswer, *READ_PROBLEMS),
    )
    def get(self, request: Request, run_id: int) -> Response:
        asked = query_read(ViewQuery, request)
        scope = self.scope(request, asked.get("organisation"))
        return Response(ImportRunAnswer(access_run(scope=scope, run_id=run_id)).data)


class ImportCancelView(RecordsView):
    """An import that shall stop."""

    @described(
        "import_cancel",
        "Cancel an import",
        description="Stops it before its next rows are written; nothing of it is recorded.",
        request=None,
        responses=answers(ImportRunAnswer, *READ_PROBLEMS, NOT_ALLOWED, status=202),
    )
    def post(self, request: Request, run_id: int) -> Response:
        run = access_run(scope=self.scope(request, None), run_id=run_id)
        member = access_member(request.user, run.organisation_id, least=Role.TECHNICIAN)
        with rules_told():
            run = import_run_cancel(run=run, at=self.now(), by=member.user)
        return Response(ImportRunAnswer(run).data, status=status.HTTP_202_ACCEPTED)


def _sent(said: dict[str, Any]) -> list[SentFile]:
    files = [(kind.name, said[kind.name]) for kind in FILE_KINDS if kind.name in said]
    return [SentFile(kind, file.name, file.file, file.size) for kind, file in files]
