"""Pages of parts that are cut again."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from loft.common import pages, versions
from loft.workshop import lay_cloths, remakes, selectors


@require_POST
@pages.may("ask_remake")
def ask(request: HttpRequest, pk: int) -> HttpResponse:
    """Have the parts that were ticked cut again."""
    ticket = selectors.ticket(pk)

    def write() -> str:
        made = remakes.ask(
            ticket=ticket, parts=request.POST.getlist("part"), reason=pages.typed(request, "reason", most=300), now=timezone.now(),
            by=pages.person(request), version=versions.of_form(request),
        )  # fmt: skip
        cloths = ", ".join(lay_cloths.told((row.cloth_code, row.colour)) for row in made)
        return f"{', '.join(part for row in made for part in row.parts)} wait under Lays, {cloths}."

    return pages.done(request, write, back=reverse("ticket_page", args=(pk,)))


@require_POST
@pages.may("ask_remake")
def withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    """Parts that were asked for again are not needed any more."""
    remake = remakes.remake(pk)

    def write() -> str:
        remakes.withdraw(remake=remake, now=timezone.now(), by=pages.person(request))
        return f"{', '.join(remake.parts)} wait no more."

    return pages.done(request, write, back=reverse("ticket_page", args=(remake.ticket_id,)))
