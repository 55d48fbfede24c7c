"""The resistance of a filter, what a family's sound filters read, and the ash budget."""

from rest_framework.request import Request
from rest_framework.response import Response

from api.parameters import ViewQuery, body_read, query_read
from api.resistance_parameters import AshBudgetBody, ResistanceQuery, deposits_asked
from api.schema import answers, described
from api.serializers.resistance import (
    AshBudgetAnswer,
    FamilyReferencesAnswer,
    JobResistanceAnswer,
)
from api.views.base import ASK_PROBLEMS, READ_PROBLEMS, RecordsView
from garage.evidence.family_reference import family_references
from garage.evidence.jobs.resistance import job_resistance
from garage.evidence.own_limits import limits_for
from garage.evidence.resistance.deposits import deposits_reckoned
from garage.evidence.resistance.limits import DEFAULTS
from garage.records.selectors import access_family, access_job


class JobResistanceView(RecordsView):
    """The resistance of the filter at one job."""

    @described(
        "job_resistance_read",
        "The resistance of a job's filter",
        description="Pressure over flow with its interval, the states that it allows, what is "
        "missing by name and what to take next. Ash and soot of the same pressure are told apart "
        "only by a completed burn.",
        parameters=[ResistanceQuery],
        responses=answers(JobResistanceAnswer, *READ_PROBLEMS),
    )
    def get(self, request: Request, job_id: int) -> Response:
        asked = query_read(ResistanceQuery, request)
        scope = self.scope(request, asked.get("organisation"))
        job = access_job(scope=scope, job_id=job_id)
        found = job_resistance(
            job=job,
            phase=asked["phase"],
            organisation_ids=scope.organisation_ids,
            displacement_l=asked.get("displacement_l"),
        )
        return Response(JobResistanceAnswer(found).data)


class FamilyReferenceView(RecordsView):
    """What the sound filters of one engine family read."""

    @described(
        "engine_family_reference_read",
        "What a family's sound filters read",
        description="From the jobs in view: after work that proved the filter sound, fitted or "
        "cleaned one, or completed a burn. With too few vehicles, common practice, labelled so. "
        "An organisation's own limits hold where it alone is in view.",
        parameters=[ViewQuery],
        responses=answers(FamilyReferencesAnswer, *READ_PROBLEMS),
    )
    def get(self, request: Request, family_id: int) -> Response:
        asked = query_read(ViewQuery, request)
        scope = self.scope(request, asked.get("organisation"))
        family = access_family(scope=scope, family_id=family_id)
        ids = list(scope.organisation_ids)
        limits = limits_for(ids[0], family.pk).resistance if len(ids) == 1 else DEFAULTS
        found = family_references(family_id=family.pk, organisation_ids=ids, limits=limits)
        return Response(FamilyReferencesAnswer(found).data)


class AshBudgetView(RecordsView):
    """How much ash is in a filter."""

    @described(
        "ash_budget",
        "How far until ash fills a filter?",
        description="From oil, volume and distance, as ranges; and whether the distance between "
        "burns fits how the vehicle is driven. Keeps nothing.",
        request=AshBudgetBody,
        responses=answers(
            AshBudgetAnswer,
            *ASK_PROBLEMS,
        ),
    )
    def post(self, request: Request) -> Response:
        said = deposits_asked(body_read(AshBudgetBody, request))
        return Response(AshBudgetAnswer(deposits_reckoned(said)).data)
