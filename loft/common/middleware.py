"""Around every request: an id for the logs, and headers that keep pages private and scripts our own."""

from __future__ import annotations

import logging
import re
import time
import uuid
from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse, JsonResponse

from loft.common import tracing

_log = logging.getLogger("loft.request")
_GOOD_ID = re.compile(r"[A-Za-z0-9-]{8,64}")

CONTENT_SECURITY_POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' data:",
        "font-src 'self'",
        "connect-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)

GetResponse = Callable[[HttpRequest], HttpResponse]


class RequestTrace:
    """Gives each request an id (or takes the proxy's), answers with it and logs one line when it is done."""

    def __init__(self, get_response: GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        asked = request.headers.get("X-Request-ID", "")
        identifier = asked if _GOOD_ID.fullmatch(asked) else uuid.uuid4().hex
        started = time.monotonic()
        with tracing.request(identifier):
            response = self.get_response(request)
            response["X-Request-ID"] = identifier
            _log.info(
                "%s %s %s", request.method, request.path, response.status_code,
                extra={"ms": round((time.monotonic() - started) * 1000, 1)},
            )  # fmt: skip
        return response


class UploadCap:
    """Refuses a request body that no form or list of ours can need, before a byte of it is read: 413."""

    def __init__(self, get_response: GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        length = request.headers.get("Content-Length", "")
        if length.isdecimal() and int(length) > settings.LOFT_MOST_BYTES:
            said = f"At most {settings.LOFT_MOST_BYTES} bytes can be sent at once."
            return JsonResponse({"code": "too_large", "message": said, "details": []}, status=413)
        return self.get_response(request)


class SafeHeaders:
    """Only our own scripts and styles run; nothing is indexed, and no page stays in a shared cache.

    Stands below the static files, which may be cached. A view that set a header of these itself is left alone.
    """

    def __init__(self, get_response: GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        response.headers.setdefault("Content-Security-Policy", CONTENT_SECURITY_POLICY)
        response.headers.setdefault("X-Robots-Tag", "noindex, nofollow")
        response.headers.setdefault("Cache-Control", "no-store, private")
        response.headers.setdefault("Permissions-Policy", "camera=(), geolocation=(), microphone=()")
        return response
