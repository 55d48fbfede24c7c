"""The pages' session, good for reading only.

Settings name this module while the REST framework is still being imported, so it imports next to
nothing.
"""

from typing import Any

from django.contrib.auth.base_user import AbstractBaseUser
from rest_framework.authentication import SessionAuthentication
from rest_framework.request import Request

READING_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})


class SessionForReads(SessionAuthentication):
    """Whoever is signed in to the pages may read; what changes something needs a token."""

    def authenticate(self, request: Request) -> tuple[AbstractBaseUser, Any] | None:
        return super().authenticate(request) if request.method in READING_METHODS else None
