"""Acceptance links: a token that can be worked out again from the nonce, and is itself never stored."""

from __future__ import annotations

import base64
import hashlib
import hmac
import secrets

from django.conf import settings


def new_nonce() -> str:
    """32 random hexadecimal characters."""
    return secrets.token_hex(16)


def token(*, quote: int, revision: int, nonce: str) -> str:
    """The 43 characters of the link: HMAC-SHA256 of quote, revision and nonce under the link key, in base64 for addresses."""
    message = f"accept:{quote}:{revision}:{nonce}".encode()
    digest = hmac.new(settings.LOFT_LINK_KEY.encode(), message, hashlib.sha256).digest()
    return base64.urlsafe_b64encode(digest).rstrip(b"=").decode()


def member_token(*, line: int, order: int, nonce: str) -> str:
    """The token of a member's page: the line, and a HMAC over order, line and the nonce of the order's own link: it ends with that."""
    message = f"member:{order}:{line}:{nonce}".encode()
    digest = hmac.new(settings.LOFT_LINK_KEY.encode(), message, hashlib.sha256).digest()
    return f"{line}-{base64.urlsafe_b64encode(digest).rstrip(b'=').decode()}"


def member_address(*, base_url: str, token: str) -> str:
    """The address that a member of an association opens to see his own sail."""
    return f"{base_url.rstrip('/')}/member/{token}/"


def same(one: str, other: str) -> bool:
    """Whether two tokens are the same, in a time that does not tell where they differ."""
    return hmac.compare_digest(one.encode("utf-8", "replace"), other.encode("utf-8", "replace"))


def fingerprint(token: str) -> str:
    """The sha-256 by which a token is found."""
    return hashlib.sha256(token.encode("utf-8", "replace")).hexdigest()


def address(*, base_url: str, token: str) -> str:
    """The address that the customer opens, below the loft's own public address."""
    return f"{base_url.rstrip('/')}/accept/{token}/"
