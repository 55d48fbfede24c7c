"""Part life, comebacks and early failures: of the whole view, or of one engine family."""

from rest_framework.request import Request
from rest_framework.response import Response

from api.paging import page_of, paged
from api.parameters import (
    EarlyFailuresQuery,
    PageQuery,
    PartKindQuery,
    PartLifeQuery,
    query_read,
)
from api.problems import NO_RECORDS
from api.schema import answers, described
from api.sections import flags_asked, report_in_view
from api.serializers.sections import (
    ComebacksResponse,
    EarlyFailuresResponse,
    PartLifeResponse,
)
from api.serializers.vehicles import EngineFamilyAnswer
from api.views.base import READ_PROBLEMS, RecordsView
from garage.outcomes.filters import comebacks_section, early_failures_section, part_life_section
from garage.records.selectors import families_in_scope

EngineFamilyPage = paged(EngineFamilyAnswer, "EngineFamilyPage")


class EngineFamilyListView(RecordsView):
    """The engine families of vehicles in view."""

    @described(
        "engine_families_list",
        "Engine families",
        parameters=[PageQuery],
        responses=answers(EngineFamilyPage, *READ_PROBLEMS),
    )
    def get(self, request: Request) -> Response:
        asked = query_read(PageQuery, request)
        scope = self.scope(request, asked.get("organisation"))
        return Response(EngineFamilyPage(page_of(families_in_scope(scope=scope), asked)).data)


class PartLifeView(RecordsView):
    """How long parts last, in all engine families."""

    @described(
        "part_life_read",
        "Part life",
        parameters=[PartLifeQuery],
        responses=answers(PartLifeResponse, *READ_PROBLEMS, NO_RECORDS),
    )
    def get(self, request: Request) -> Response:
        return self.part_life(request, family_id=None)

    def part_life(self, request: Request, *, family_id: int | None) -> Response:
        asked = query_read(PartLifeQuery, request)
        scope = self.scope(request, asked.get("organisation"))
        family = self.family_name(scope, family_id)
        kept = report_in_view(scope=scope, part_kind=asked["part_kind"], now=self.now())
        section = part_life_section(kept.report, engine_family=family, origin=asked.get("origin"))
        return Response({**section, "made_at": kept.made_at})


class FamilyPartLifeView(PartLifeView):
    """How long parts last in one engine family."""

    @described(
        "engine_family_part_life_read",
        "Part life of one engine family",
        parameters=[PartLifeQuery],
        responses=answers(PartLifeResponse, *READ_PROBLEMS, NO_RECORDS),
    )
    def get(self, request: Request, family_id: int) -> Response:
        return self.part_life(request, family_id=family_id)


class ComebacksView(RecordsView):
    """How often vehicles come back after each operation, all engine families together."""

    @described(
        "comebacks_read",
        "Comebacks",
        parameters=[PartKindQuery],
        responses=answers(ComebacksResponse, *READ_PROBLEMS, NO_RECORDS),
    )
    def get(self, request: Request) -> Response:
        return self.comebacks(request, family_id=None)

    def comebacks(self, request: Request, *, family_id: int | None) -> Response:
        asked = query_read(PartKindQuery, request)
        scope = self.scope(request, asked.get("organisation"))
        family = self.family_name(scope, family_id)
        kept = report_in_view(scope=scope, part_kind=asked["part_kind"], now=self.now())
        section = comebacks_section(kept.report, engine_family=family)
        return Response({**section, "made_at": kept.made_at})


class FamilyComebacksView(ComebacksView):
    """How often vehicles of one engine family come back after each operation."""

    @described(
        "engine_family_comebacks_read",
        "Comebacks of one engine family",
        parameters=[PartKindQuery],
        responses=answers(ComebacksResponse, *READ_PROBLEMS, NO_RECORDS),
    )
    def get(self, request: Request, family_id: int) -> Response:
        return self.comebacks(request, family_id=family_id)


class EarlyFailuresView(RecordsView):
    """Parts that failed far short of normal life, with verdicts."""

    @described(
        "early_failures_read",
        "Early failures",
        parameters=[EarlyFailuresQuery],
        responses=answers(EarlyFailuresResponse, *READ_PROBLEMS, NO_RECORDS),
    )
    def get(self, request: Request) -> Response:
        asked = query_read(EarlyFailuresQuery, request)
        scope = self.scope(request, asked.get("organisation"))
        kept = report_in_view(scope=scope, part_kind=asked["part_kind"], now=self.now())
        section = early_failures_section(kept.report, origin=asked.get("origin"))
        return Response({**flags_asked(section, asked), "made_at": kept.made_at})
