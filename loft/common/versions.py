"""Two editors, no lost change: each thing that is edited has a version, and a write says which version it was decided on.

API: GET answers with an ETag, a write sends it back as If-Match (RFC 9110, section 13.1.1): missing 428 (RFC 6585), stale 412.
Forms carry the version in a hidden field; a stale one gets a page with both versions, and nothing typed is lost.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from django.db.models import F, Model
from django.http import HttpRequest
from drf_spectacular.utils import OpenApiParameter
from rest_framework import exceptions
from rest_framework.request import Request

from loft.common.errors import Stale

FIELD = "version"
IF_MATCH = OpenApiParameter(
    "If-Match", str, "header", required=True, description="The ETag that a GET of the same thing answered with; * for whichever there is."
)

_TAG = re.compile(r'"([\x21\x23-\x7e]*)"')


class MissingIfMatch(exceptions.APIException):
    """A write that does not say which version it was decided on."""

    status_code = 428
    default_code = "if_match_missing"
    default_detail = "Send the header If-Match with the ETag that a GET of the same thing answered with."


def take(row: Model, seen: int | None) -> None:
    """Count the version up, in the transaction of the write; Stale when it is no longer the one that was seen.

    seen: None when nobody looked first (a command, a job). The row is locked until the transaction ends.
    """
    rows = type(row)._default_manager.filter(pk=row.pk)
    if seen is not None:
        rows = rows.filter(version=seen)
    if rows.update(version=F("version") + 1) == 0:
        raise stale(row)


def expect(row: Any, seen: int | None) -> None:
    """Raise Stale early, before the state of a row just read is looked at, so that the answer is the right one; `take` is the guarantee."""
    if seen is not None and row.version != seen:
        raise stale(row)


def stale(row: Model) -> Stale:
    """What to raise for a row that somebody else has changed: it carries what is stored now.

    The model names in EDITED the columns that its forms edit, under the names of the forms' fields.
    """
    fresh: Any = type(row)._default_manager.get(pk=row.pk)
    stored = {name: "" if getattr(fresh, name) is None else str(getattr(fresh, name)) for name in fresh.EDITED}
    return Stale("this was changed by somebody else since you read it", version=str(fresh.version), stored=stored)


def etag(row: Any) -> str:
    """The ETag of a row with a version."""
    return f'"{row.version}"'


def headers(row: Any) -> dict[str, str]:
    """The header that an answer about this row carries."""
    return {"ETag": etag(row)}


def asked_tag(request: Request) -> str | None:
    """What If-Match names, without its quotes; None for *. MissingIfMatch when the header is missing, Stale when it is no strong tag."""
    header = request.headers.get("If-Match", "").strip()
    if not header:
        raise MissingIfMatch
    if header == "*":
        return None
    found = _TAG.fullmatch(header)
    if found is None:
        raise Stale('If-Match takes one strong tag as the ETag header gave it, like "3"', version="", stored={})
    return found[1]


def asked(request: Request) -> int | None:
    """The version that If-Match names, for `take`."""
    tag = asked_tag(request)
    return None if tag is None else _number(tag)


def of_form(request: HttpRequest) -> int | None:
    """The version in a form's hidden field; None for a form without one."""
    text = request.POST.get(FIELD, "")
    return _number(text) if text else None


def _number(text: str) -> int:
    """The number; -1, which no row has, for anything else."""
    return int(text) if re.fullmatch(r"[0-9]{1,9}", text) else -1


def differing(stored: Mapping[str, str], typed: Mapping[str, str]) -> list[tuple[str, str, str]]:
    """Field, what is stored now and what was typed, for every field that both have."""
    return [(name, stored[name], typed[name]) for name in stored if name in typed]
