"""Around every request: an id for the logs, and headers that keep pages private and scripts our own."""

from __future__ import annotations

import logging
import re
import time
import uuid
from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.template.loader import get_template

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
    """Refuses a request body that no form or list of ours can need, before a byte of it is read: 413.

    A form may be larger than what any of its fields takes, so that it comes back with a word at the field and all that was typed.
    """

    def __init__(self, get_response: GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        length = request.headers.get("Content-Length", "")
        of_program = request.path.startswith("/api/")
        most = settings.LOFT_MOST_BYTES if of_program else settings.LOFT_MOST_BYTES_OF_A_FORM
        if not length.isdecimal() or int(length) <= most:
            return self.get_response(request)
        if of_program:
            said = f"At most {most} bytes can be sent at once."
            return JsonResponse({"code": "too_large", "message": said, "details": []}, status=413)
        return HttpResponse(get_template("413.html").render({"megabytes": most // 1024**2}), status=413)


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
