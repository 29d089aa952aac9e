"""What all pages share: signing in, who may see a page, small writes, PDFs."""

from __future__ import annotations

import functools
import unicodedata
from collections.abc import Callable
from datetime import date
from typing import Concatenate, ParamSpec

from django.contrib import messages
from django.contrib.auth.models import User
from django.contrib.auth.views import LogoutView, redirect_to_login
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect
from django.utils import timezone

from costing.errors import InputError, problem
from loft.common import limits, policies

P = ParamSpec("P")

#: Rows on one page of a list.
ROWS_A_PAGE = 50


class SignOut(LogoutView):
    """Signs out on POST and goes to the sign-in form."""


def may(
    action: str,
) -> Callable[[Callable[Concatenate[HttpRequest, P], HttpResponseBase]], Callable[Concatenate[HttpRequest, P], HttpResponseBase]]:
    """Decorate a page: a stranger is sent to sign in, somebody without the right gets NotAllowed (403)."""

    def guard(page: Callable[Concatenate[HttpRequest, P], HttpResponseBase]) -> Callable[Concatenate[HttpRequest, P], HttpResponseBase]:
        @functools.wraps(page)
        def guarded(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponseBase:
            if not request.user.is_authenticated:
                return redirect_to_login(request.get_full_path())
            policies.require(request.user, action)
            return page(request, *args, **kwargs)

        return guarded

    return guard


def drawn(page: Callable[Concatenate[HttpRequest, P], HttpResponseBase]) -> Callable[Concatenate[HttpRequest, P], HttpResponseBase]:
    """Decorate a page that `may` guards and that draws a paper, a picture or a cut file: TooMany when one account asks too often."""

    @functools.wraps(page)
    def counted(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponseBase:
        limits.count(limits.DRAWN, str(person(request).pk), now=timezone.now())
        return page(request, *args, **kwargs)

    return counted


def person(request: HttpRequest) -> User:
    """Who is signed in, on a page that `may` guards."""
    if not isinstance(request.user, User):
        raise TypeError("nobody is signed in: this page is not guarded")
    return request.user


def done(request: HttpRequest, write: Callable[[], str], *, back: str) -> HttpResponse:
    """Do a small write and go back to its page, which tells how it went: the words that `write` returns, or every problem.

    Conflict and NotAllowed pass through and get their own page.
    """
    try:
        messages.success(request, write())
    except InputError as error:
        for problem in error.problems:
            messages.error(request, f"Not done: {problem.message}.")
    return redirect(back)


def typed(request: HttpRequest, field: str, *, most: int, lines: bool = False) -> str:
    """What was typed into a field, blanks drawn together; InputError when it is longer or has characters that no table keeps.

    lines: line breaks are kept, blank lines are not.
    """
    given = request.POST.get(field, "")
    rows = given.splitlines() if lines else [given]
    text = "\n".join(row for row in (" ".join(row.split()) for row in rows) if row)
    if len(text) > most:
        raise problem(field, "too_long", f"{field.replace('_', ' ')}: {len(text)} characters are too many, at most {most} are kept")
    if any(unicodedata.category(c) == "Cc" and c != "\n" for c in text):
        raise problem(field, "control_character", f"{field.replace('_', ' ')}: there is a character in it that cannot be printed")
    return text


def day(text: str, field: str) -> date | None:
    """The day that was typed into a field, None for an empty one; InputError for what is no day."""
    try:
        return date.fromisoformat(text) if text else None
    except ValueError as error:
        raise problem(field, "not_a_day", f"{text!r} is not a day: write it year first, like 2026-03-31") from error


def pdf(content: bytes, name: str) -> HttpResponse:
    """A PDF to be shown in the browser, under a name to save it by."""
    return HttpResponse(content, content_type="application/pdf", headers={"Content-Disposition": f'inline; filename="{name}"'})
