"""API tokens, with wrong ones counted: from the N-th wrong one on, an address gets 429 until the time is over."""

from __future__ import annotations

from typing import Any

from django.utils import timezone
from rest_framework.authentication import TokenAuthentication
from rest_framework.exceptions import AuthenticationFailed
from rest_framework.request import Request

from loft.common import limits


class CountedTokens(TokenAuthentication):
    """The header `Authorization: Token ...`."""

    def authenticate(self, request: Request) -> tuple[Any, Any] | None:
        if not request.headers.get("Authorization", "").lower().startswith("token "):
            return None
        address, now = limits.client_address(request), timezone.now()
        limits.check(limits.WRONG_TOKEN, address, now=now)
        try:
            return super().authenticate(request)
        except AuthenticationFailed:
            limits.count(limits.WRONG_TOKEN, address, now=now)
            raise
