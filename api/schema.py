"""What the OpenAPI document says beyond the views: the problems that each answer may be."""

from typing import Any

from drf_spectacular.extensions import OpenApiAuthenticationExtension
from drf_spectacular.utils import OpenApiResponse, extend_schema
from rest_framework import serializers

from api.problems import CONTENT_TYPE, PROBLEMS, ProblemKind
from api.serializers.fields import Answer, one_of, text, whole


class BearerTokenScheme(OpenApiAuthenticationExtension):
    target_class = "knox.auth.TokenAuthentication"
    name = "token"
    priority = 1  # before the one that comes with the generator

    def get_security_definition(self, auto_schema: Any) -> dict[str, str]:
        return {"type": "http", "scheme": "bearer"}


class SessionForReadsScheme(OpenApiAuthenticationExtension):
    target_class = "api.authentication.SessionForReads"
    name = "session"

    def get_security_definition(self, auto_schema: Any) -> dict[str, str]:
        return {"type": "apiKey", "in": "cookie", "name": "sessionid"}


class FaultAnswer(Answer):
    """One fault of a request."""

    code = text("What kind of fault; stable, listed in docs/api.md.")
    place = one_of(("query", "body"), "Where it is.")
    name = text("Name of the parameter or field; empty for the body as a whole.")
    detail = text("The rule, what came, what to do; for people, may be reworded.")


class ProblemAnswer(Answer):
    """Problem details, RFC 9457."""

    type = text("Address of what this kind of problem means.")
    title = text("The problem in few words.")
    status = whole("The HTTP status.")
    detail = text("What to do next; for people, may be reworded.")
    code = one_of([kind.code for kind in PROBLEMS], "What kind of problem; stable.")
    errors = FaultAnswer(  # type: ignore[assignment]
        many=True, required=False, help_text="Every fault of the request; only where there are any."
    )


class ProblemKindAnswer(Answer):
    """One kind of problem."""

    code = one_of([kind.code for kind in PROBLEMS], "Its stable code.")
    status = whole("The HTTP status it comes with.")
    title = text("The problem in few words.")
    detail = text("What to do next.")


def answers(
    success: type[serializers.Serializer[Any]] | serializers.Serializer[Any],
    *problems: ProblemKind,
    status: int = 200,
) -> dict[Any, Any]:
    """The answers of one operation: its success, and the problems by status."""
    of_status: dict[int, list[str]] = {}
    for kind in problems:
        of_status.setdefault(kind.status, []).append(kind.code)
    return {
        status: success,
        **{
            (number, CONTENT_TYPE): OpenApiResponse(ProblemAnswer, ", ".join(codes))
            for number, codes in of_status.items()
        },
    }


def described(operation_id: str, summary: str, **options: Any) -> Any:
    """An operation with a name of its own, so that generated clients read well."""
    return extend_schema(operation_id=operation_id, summary=summary, **options)
