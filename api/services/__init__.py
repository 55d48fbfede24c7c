"""Writes of the API: tokens given and withdrawn."""

from api.services.tokens import IssuedToken, token_issue, token_withdraw

__all__ = ["IssuedToken", "token_issue", "token_withdraw"]
