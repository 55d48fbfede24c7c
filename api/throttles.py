"""How often one address may try to sign in."""

from rest_framework.request import Request
from rest_framework.throttling import SimpleRateThrottle
from rest_framework.views import APIView


class SignInThrottle(SimpleRateThrottle):
    """Counts every request to the token endpoint by address, right or wrong.

    The lock after wrong passwords holds one name; this slows whoever tries many names. Twenty a
    minute is more than a person or a program has use for. Judgement. Each web process counts for
    itself.
    """

    scope = "sign_in"
    rate = "20/min"

    def get_cache_key(self, request: Request, view: APIView) -> str:
        return self.cache_format % {"scope": self.scope, "ident": self.get_ident(request)}
