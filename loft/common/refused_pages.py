"""A page for what the service refuses, so that no view has to catch it."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from costing.errors import InputError
from loft.common import versions
from loft.common.errors import Conflict, NotAllowed, NotFound, Refused, Stale, TooMany
from loft.common.middleware import GetResponse

_PAGES: dict[type[Exception], tuple[int, str]] = {
    InputError: (400, "Something in the request is wrong"),
    NotAllowed: (403, "Not allowed"),
    NotFound: (404, "Not found"),
    TooMany: (429, "Too often"),
    Conflict: (409, "Somebody was faster"),
    Refused: (400, "Refused"),
}


class RefusedPages:
    """Answers InputError and the errors of loft.common.errors with a page that says what is wrong."""

    def __init__(self, get_response: GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        if isinstance(error, Stale):
            return _both_versions(request, error)
        for kind, (status, title) in _PAGES.items():
            if isinstance(error, kind):
                problems = error.problems if isinstance(error, InputError) else ()
                context = {"title": title, "status": status, "message": "" if problems else str(error), "problems": problems}
                response = render(request, "common/refused.html", context, status=status)
                if isinstance(error, TooMany):
                    response["Retry-After"] = str(error.retry_after)
                return response
        return None


def _both_versions(request: HttpRequest, error: Stale) -> HttpResponse:
    """What is stored now beside what was typed; the form can be sent again as it is, or the page be left."""
    typed = {name: request.POST[name] for name in request.POST if name not in ("csrfmiddlewaretoken", versions.FIELD)}
    context = {
        "fields": versions.differing(error.stored, typed), "typed": typed.items(), "version": error.version,
        "again": request.get_full_path(), "version_field": versions.FIELD,
    }  # fmt: skip
    return render(request, "common/both_versions.html", context, status=409)
