"""What is open to all: the meaning of problems, and that an address holds nothing."""

from django.http import Http404
from drf_spectacular.utils import extend_schema
from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.problems import NOT_FOUND, PROBLEMS
from api.schema import ProblemKindAnswer, answers, described


class ProblemKindView(APIView):
    """What a kind of problem means: the address in every problem's type."""

    authentication_classes = ()
    permission_classes = (AllowAny,)

    @described(
        "problem_kind_read",
        "What a problem means",
        auth=[{}],
        responses=answers(ProblemKindAnswer, NOT_FOUND),
    )
    def get(self, request: Request, code: str) -> Response:
        kind = next((each for each in PROBLEMS if each.code == code), None)
        if kind is None:
            raise Http404
        return Response(ProblemKindAnswer(kind).data)


@extend_schema(exclude=True)
class NothingHereView(APIView):
    """Every other address under the API, whatever the method."""

    authentication_classes = ()
    permission_classes = (AllowAny,)

    def initial(self, request: Request, *args: object, **kwargs: object) -> None:
        super().initial(request, *args, **kwargs)
        raise Http404
