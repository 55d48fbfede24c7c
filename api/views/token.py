"""Sign in for a token, and sign out of it."""

from drf_spectacular.utils import OpenApiResponse
from knox.auth import TokenAuthentication
from rest_framework import serializers, status
from rest_framework.authentication import BaseAuthentication
from rest_framework.permissions import AllowAny, BasePermission, IsAuthenticated
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.throttling import BaseThrottle
from rest_framework.views import APIView

from api.parameters import Credentials
from api.problems import (
    BODY_TOO_LARGE,
    INVALID_REQUEST,
    SIGN_IN_LOCKED,
    SIGN_IN_REFUSED,
    SIGN_IN_REQUIRED,
    TOKEN_REFUSED,
    TOO_MANY_REQUESTS,
    UNREADABLE_REQUEST,
    UNSUPPORTED_MEDIA_TYPE,
)
from api.schema import answers, described
from api.serializers.fields import Answer, text
from api.services import token_issue, token_withdraw
from api.sign_in import sign_in_read
from api.throttles import SignInThrottle


class TokenAnswer(Answer):
    """A token; it is said once and cannot be read again."""

    token = text("Send it with every request: 'Authorization: Bearer TOKEN'.")
    expires_at = serializers.DateTimeField(
        read_only=True, help_text="From then on it is not accepted."
    )


class TokenView(APIView):
    """POST gives a token for a name and a password; DELETE withdraws the one that is sent."""

    def get_authenticators(self) -> list[BaseAuthentication]:
        return [TokenAuthentication()] if self._withdraws else []

    def get_permissions(self) -> list[BasePermission]:
        return [IsAuthenticated()] if self._withdraws else [AllowAny()]

    def get_throttles(self) -> list[BaseThrottle]:
        return [] if self._withdraws else [SignInThrottle()]

    @property
    def _withdraws(self) -> bool:
        return self.request is not None and self.request.method == "DELETE"

    @described(
        "token_issue",
        "Sign in",
        description="Name and password by HTTP Basic, or as JSON. After five wrong passwords for "
        "one name from one address, signing in is locked for a quarter of an hour.",
        request=Credentials,
        auth=[{"basic": []}, {}],
        responses=answers(
            TokenAnswer,
            INVALID_REQUEST,
            UNREADABLE_REQUEST,
            BODY_TOO_LARGE,
            SIGN_IN_REFUSED,
            UNSUPPORTED_MEDIA_TYPE,
            SIGN_IN_LOCKED,
            TOO_MANY_REQUESTS,
            status=201,
        ),
    )
    def post(self, request: Request) -> Response:
        given = sign_in_read(request)
        issued = token_issue(request=request, user_name=given.user_name, password=given.password)
        return Response(
            TokenAnswer(issued).data,
            status=status.HTTP_201_CREATED,
            headers={"Cache-Control": "no-store"},
        )

    @described(
        "token_withdraw",
        "Sign out",
        request=None,
        responses={
            204: OpenApiResponse(description="The token is no longer accepted."),
            **{
                key: value
                for key, value in answers(TokenAnswer, SIGN_IN_REQUIRED, TOKEN_REFUSED).items()
                if key != 200
            },
        },
    )
    def delete(self, request: Request) -> Response:
        token_withdraw(request=request)
        return Response(status=status.HTTP_204_NO_CONTENT)
