"""The same request twice makes one thing: its answer is stored under the sender's key and given again.

API: decorate the handler of a POST with @idempotent; the header Idempotency-Key is then required.
HTML forms: decorate the view with @idempotent_form and put {% idempotency_key %} into the form.

A key belongs to its user, method and path. Same key and other body: 422. In progress: 409. An answer that is an error is
not kept: the sender may correct the request and send it again. A killed request's key is free when its lease runs out.

A process killed between storing a thing and storing the answer would let the next attempt make it again. A service closes
that gap by calling made(location) in the transaction that makes the thing: the next attempt is then sent there (303).
"""

from __future__ import annotations

import functools
import hashlib
import re
import uuid
from collections.abc import Callable
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Concatenate, ParamSpec, TypeVar

from django.contrib.auth.models import User
from django.core.exceptions import BadRequest
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.utils import timezone
from drf_spectacular.utils import OpenApiParameter
from rest_framework import exceptions, status
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from costing.errors import problem
from loft.common.errors import Conflict
from loft.common.models import IdempotencyKey

HEADER = "Idempotency-Key"
FIELD = "idempotency_key"
LEASE = timedelta(seconds=60)
KEPT_FOR = timedelta(days=7)
_GOOD_KEY = re.compile(r"[A-Za-z0-9_.:-]{8,100}")
#: For the description of a POST that is @idempotent.
KEY = OpenApiParameter(
    HEADER, str, "header", required=True, pattern=f"^{_GOOD_KEY.pattern}$",
    description="8 to 100 letters, digits or . _ : - (a UUID, say), new for each thing to make; the same key makes it once.",
)  # fmt: skip
_NOT_THE_REQUEST = {FIELD, "csrfmiddlewaretoken"}

_holder: ContextVar[str] = ContextVar("idempotency_holder", default="")

P = ParamSpec("P")
View = TypeVar("View", bound=APIView)


class OtherBody(exceptions.APIException):
    """The key was used before with another body."""

    status_code = status.HTTP_422_UNPROCESSABLE_ENTITY
    default_code = "idempotency_key_reused"
    default_detail = f"This {HEADER} was used before with another body: send a new key with a new request."


@dataclass(frozen=True, slots=True)
class Answer:
    """A response as it is kept."""

    status: int
    content_type: str
    location: str
    body: bytes


def idempotent(
    handler: Callable[Concatenate[View, Request, P], Response],
) -> Callable[Concatenate[View, Request, P], HttpResponseBase]:
    """Decorate a DRF POST handler: the same key gives the same answer, and makes one thing."""

    @functools.wraps(handler)
    def once(view: View, request: Request, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponseBase:
        key = request.headers.get(HEADER, "")
        if not _GOOD_KEY.fullmatch(key):
            message = f"Send the header {HEADER} with 8 to 100 letters, digits or . _ : - (a UUID, say), new for each thing to make."
            raise problem(HEADER, "idempotency_key", message)
        digest = _digest(request)
        return _once(request, key, digest, lambda: handler(view, request, *args, **kwargs), keep_below=400)

    return once


def idempotent_form(view: Callable[Concatenate[HttpRequest, P], HttpResponse]) -> Callable[Concatenate[HttpRequest, P], HttpResponseBase]:
    """Decorate a view that takes a form with {% idempotency_key %}: sent twice, it makes one thing.

    Only a redirect counts as done; a form shown again with its errors does not.
    """

    @functools.wraps(view)
    def once(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponseBase:
        if request.method != "POST":
            return view(request, *args, **kwargs)
        key = request.POST.get(FIELD, "")
        if not _GOOD_KEY.fullmatch(key):
            raise BadRequest(f"the form came without its hidden field {FIELD}")
        try:
            return _once(request, key, _digest(request), lambda: view(request, *args, **kwargs), keep_from=300, keep_below=400)
        except OtherBody as error:
            raise Conflict("this form was sent before with other content: load its page again and fill it in anew") from error

    return once


def new_key() -> str:
    """A key for a form that is about to be shown."""
    return uuid.uuid4().hex


def made(location: str) -> None:
    """Note, in the transaction that makes a thing, where it is. Conflict if another attempt has taken the key over.

    Outside an idempotent request (a command, a job) there is nothing to note.
    """
    holder = _holder.get()
    if holder and not IdempotencyKey.objects.filter(holder=holder, status=None).update(location=location):
        raise Conflict("Another request with this key has taken over: ask again in a moment.")


def forget_old(*, now: datetime) -> int:
    """Delete the keys that are older than a week; returns how many."""
    return IdempotencyKey.objects.filter(created_at__lt=now - KEPT_FOR).delete()[0]


def _once(
    request: HttpRequest | Request, key: str, digest: str, work: Callable[[], HttpResponse], *, keep_from: int = 200, keep_below: int
) -> HttpResponseBase:
    """Do the work under the key and keep its answer, or give the kept one."""
    if not isinstance(request.user, User):
        raise exceptions.NotAuthenticated
    scope = f"{request.method} {request.path}"[:200]
    holder, kept = _claim(user=request.user, scope=scope, key=key, digest=digest, now=timezone.now())
    if kept is not None:
        return _replay(kept)
    token = _holder.set(holder)
    try:
        response = work()
        if keep_from <= response.status_code < keep_below:
            _keep(holder, _as_answer(response))
        else:
            _release(holder)
    except BaseException:
        _release(holder)
        raise
    finally:
        _holder.reset(token)
    return response


def _claim(*, user: User, scope: str, key: str, digest: str, now: datetime) -> tuple[str, Answer | None]:
    """Take the key for this attempt: (holder, None), or ("", the answer of an earlier one).

    OtherBody if the key came with another body before; Conflict while an earlier attempt is still at work.
    """
    holder = uuid.uuid4().hex
    fresh = {"body_sha256": digest, "holder": holder, "lease_until": now + LEASE, "created_at": now}
    row, new = IdempotencyKey.objects.get_or_create(user=user, scope=scope, key=key, defaults=fresh)
    if new:
        return holder, None
    if row.body_sha256 != digest:
        raise OtherBody
    if row.status is not None:
        return "", Answer(row.status, row.content_type, row.location, bytes(row.body or b""))
    if row.lease_until < now and row.location:
        return "", Answer(status.HTTP_303_SEE_OTHER, "", row.location, b"")
    # Whoever asks first after the lease of a killed attempt takes the key over.
    free = IdempotencyKey.objects.filter(pk=row.pk, status=None, location="", lease_until__lt=now)
    if not free.update(holder=holder, lease_until=now + LEASE):
        raise Conflict("A request with this key is being worked on: ask again in a moment.")
    return holder, None


def _keep(holder: str, answer: Answer) -> None:
    """Store the answer; one whose key was taken over meanwhile is not stored, the other attempt's is."""
    IdempotencyKey.objects.filter(holder=holder, status=None).update(
        status=answer.status, content_type=answer.content_type, location=answer.location, body=answer.body
    )


def _release(holder: str) -> None:
    """Give the key back unused, unless the thing was made after all."""
    IdempotencyKey.objects.filter(holder=holder, status=None, location="").delete()


def _as_answer(response: HttpResponse) -> Answer:
    location = response.headers.get("Location", "")
    if isinstance(response, Response):
        return Answer(response.status_code, "application/json", location, JSONRenderer().render(response.data))
    return Answer(response.status_code, response.headers.get("Content-Type", ""), location, response.content)


def _replay(answer: Answer) -> HttpResponse:
    response = HttpResponse(answer.body, status=answer.status, content_type=answer.content_type or None)
    if answer.location:
        response["Location"] = answer.location
    response["Idempotent-Replay"] = "true"
    return response


def _digest(request: HttpRequest | Request) -> str:
    """What the request asks, as a hash: the raw body, or a form's fields and files without its tokens."""
    plain = request._request if isinstance(request, Request) else request
    digest = hashlib.sha256()
    if not (plain.content_type or "").startswith(("multipart/form-data", "application/x-www-form-urlencoded")):
        digest.update(plain.body)
        return digest.hexdigest()
    for name, values in sorted(request.POST.lists()):
        if name not in _NOT_THE_REQUEST:
            digest.update(repr((name, values)).encode())
    for name, files in sorted(request.FILES.lists()):
        for file in files:
            content = hashlib.sha256(b"".join(file.chunks())).hexdigest()
            file.seek(0)
            digest.update(repr((name, file.name, content)).encode())
    return digest.hexdigest()
