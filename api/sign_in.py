"""Name and password as a request brings them."""

import base64
from dataclasses import dataclass

from rest_framework.authentication import get_authorization_header
from rest_framework.request import Request

from api.parameters import Credentials, body_read
from api.problems import UNREADABLE_REQUEST, Refused


@dataclass(frozen=True)
class SignIn:
    user_name: str
    password: str


def sign_in_read(request: Request) -> SignIn:
    """From the Authorization header (HTTP Basic, RFC 7617), else from the body."""
    scheme, _, encoded = get_authorization_header(request).partition(b" ")
    if scheme.lower() == b"basic":
        return _from_basic(encoded.strip())
    body = body_read(Credentials, request)
    return SignIn(body["user"], body["password"])


def _from_basic(encoded: bytes) -> SignIn:
    try:
        decoded = base64.b64decode(encoded, validate=True).decode()
    except ValueError as error:
        raise Refused(UNREADABLE_REQUEST) from error
    user_name, colon, password = decoded.partition(":")
    if not colon or "\0" in decoded:
        raise Refused(UNREADABLE_REQUEST)
    return SignIn(user_name, password)
