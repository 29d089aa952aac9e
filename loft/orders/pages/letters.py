"""The owner's wording of the letters, with a preview before it counts."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from costing.errors import InputError, Problem
from loft.common import pages, versions
from loft.common import selectors as common
from loft.orders import letters, services, wording


@require_GET
@pages.may("edit_profile")
def letter_list(request: HttpRequest) -> HttpResponse:
    """Every letter that the service writes."""
    return render(request, "orders/letter_list.html", {"place": "letters", "letters": [wording.current(name) for name in wording.KINDS]})


@require_http_methods(["GET", "HEAD", "POST"])
@pages.may("edit_profile")
def letter_page(request: HttpRequest, name: str) -> HttpResponse:
    """One letter: its wording, what it looks like, and a new wording; with the button "preview" nothing is kept."""
    words = wording.current(name)
    if request.method != "POST":
        return _show(request, words, words)
    body = request.POST.get("body", "").replace("\r\n", "\n")
    typed = wording.Wording(name, words.title, words.version, request.POST.get("subject", ""), body)
    try:
        if "preview" in request.POST:
            wording.check(name, subject=typed.subject, body=typed.body)
            return _show(request, words, typed)
        services.word_letter(
            name=name, subject=typed.subject, body=typed.body, by=pages.person(request), now=timezone.now(),
            version=versions.of_form(request),
        )  # fmt: skip
    except InputError as error:
        return _show(request, words, typed, error.problems)
    messages.success(request, "Kept: letters that are sent from now on say it so.")
    return redirect("letter_page", name)


def _show(request: HttpRequest, words: wording.Wording, typed: wording.Wording, problems: tuple[Problem, ...] = ()) -> HttpResponse:
    known = wording.kind_of(words.name).known
    context = {
        "place": "letters", "words": words, "typed": typed, "problems": problems, "wrong": {p.path for p in problems},
        "known": known.items(), "most_subject": wording.MOST_SUBJECT, "most_body": wording.MOST_BODY,
    }  # fmt: skip
    if not problems:
        context["subject"] = wording.subject_line(typed, known)
        context["text"] = wording.as_text(typed, known, letters.signature(common.loft_profile()))
    return render(request, "orders/letter.html", context, status=400 if problems else 200)
