"""One shape for every error of the API: {code, message, details: [{path, code, message}]}."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.views.decorators.csrf import csrf_exempt
from rest_framework import exceptions
from rest_framework.response import Response
from rest_framework.views import exception_handler as drf_answer

from costing.errors import CannotDetermine, InputError, Problem
from loft.common.errors import Conflict, NotAllowed, NotFound, Stale, TooMany

_STATUS: dict[type[Exception], tuple[int, str]] = {
    NotFound: (404, "not_found"),
    NotAllowed: (403, "not_allowed"),
    Stale: (412, "stale"),
    TooMany: (429, "too_many"),
    Conflict: (409, "conflict"),
    CannotDetermine: (422, "cannot_determine"),
}


def handle(error: Exception, context: dict[str, Any]) -> Response | None:
    """DRF's EXCEPTION_HANDLER. None hands an unexpected error on, to become a logged 500."""
    if isinstance(error, InputError):
        return _answer(400, "invalid_input", _summary(len(error.problems)), error.problems)
    if isinstance(error, exceptions.ValidationError):
        problems = tuple(_flatten(error.get_full_details(), ""))
        return _answer(400, "invalid_input", _summary(len(problems)), problems)
    for kind, (status, code) in _STATUS.items():
        if isinstance(error, kind):
            response = _answer(status, code, str(error), getattr(error, "problems", ()))
            if isinstance(error, TooMany):
                response["Retry-After"] = str(error.retry_after)
            return response
    return _drf_error(error, context)


@csrf_exempt
def no_such_address(request: HttpRequest) -> HttpResponse:
    """The answer to an address below /api/ that leads nowhere, in the shape of every error."""
    return JsonResponse(_body("not_found", "There is no such address in the API."), status=404)


def _drf_error(error: Exception, context: dict[str, Any]) -> Response | None:
    """DRF's own answer (401, 403, 405, 415, 429 ...) put into our shape, its headers kept."""
    response = drf_answer(error, context)
    if response is None:
        return None
    if isinstance(error, Http404):
        code, message = "not_found", str(error) or "There is no such thing."
    elif isinstance(error, PermissionDenied):
        code, message = "not_allowed", str(error) or "This is not allowed."
    else:
        code = str(getattr(error, "default_code", "error"))
        message = str(getattr(error, "detail", error))
    response.data = _body(code, message)
    return response


def _answer(status: int, code: str, message: str, problems: tuple[Problem, ...] = ()) -> Response:
    return Response(_body(code, message, problems), status=status)


def _body(code: str, message: str, problems: tuple[Problem, ...] = ()) -> dict[str, Any]:
    details = [{"path": p.path, "code": p.code, "message": p.message} for p in problems]
    return {"code": code, "message": message, "details": details}


def _summary(count: int) -> str:
    return "One thing in the request is wrong." if count == 1 else f"{count} things in the request are wrong."


def _flatten(details: Any, path: str) -> Iterator[Problem]:
    """DRF's nested error details as problems with dotted, indexed paths."""
    if isinstance(details, dict) and set(details) == {"message", "code"} and not isinstance(details["message"], dict | list):
        yield Problem(path, str(details["code"]), str(details["message"]))
    elif isinstance(details, dict):
        for name, below in details.items():
            inner = path if name == "non_field_errors" else _below(path, name)
            yield from _flatten(below, inner)
    else:
        for index, below in enumerate(details):
            is_message = isinstance(below, dict) and set(below) == {"message", "code"}
            yield from _flatten(below, path if is_message else f"{path}[{index}]")


def _below(path: str, name: str | int) -> str:
    """A field of `path`, or for a number the item of a list."""
    if isinstance(name, int):
        return f"{path}[{name}]"
    return f"{path}.{name}" if path else name
