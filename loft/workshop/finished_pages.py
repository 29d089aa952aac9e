"""The page on which a finished sail's measurements are typed in."""

from __future__ import annotations

from collections.abc import Mapping

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from costing.errors import InputError, Problem
from loft.common import pages, versions
from loft.common.idempotency import idempotent_form
from loft.documents import finished_sizes
from loft.workshop import finished, selectors
from loft.workshop.models import Requirement, Ticket
from loft.workshop.states import Need, Occasion

_TAKEN = ("taken_on", "how", "taken_by", "occasion", "confirmed_by")


@require_http_methods(["GET", "HEAD", "POST"])
@pages.may("measure_sail")
@idempotent_form
def measured(request: HttpRequest, pk: int) -> HttpResponse:
    """Type in what the finished sail measured: each reading, how, by whom, when; doubts are shown and settled by name."""
    ticket = selectors.ticket(pk)
    sizes = finished.of_ticket(ticket, now=timezone.now())
    rows = [row for row in finished_sizes.texts(sizes.rows) if row.typed]
    if request.method != "POST":
        return _form(request, ticket, sizes, {})
    typed = {name: request.POST.get(name, "") for name in (*_TAKEN, *(row.path for row in rows))}
    back = reverse("ticket_page", args=(pk,)) + "#measured"
    try:
        typed = {name: pages.typed(request, name, most=300) for name in typed}
        on = pages.day(typed["taken_on"], "taken_on")
        taken = finished.Taken(on, typed["how"], typed["taken_by"], typed["occasion"] or Occasion.FIRST)
        readings = {row.path: tuple(typed[row.path].split(";")) for row in rows if typed[row.path]}
        finished.record(
            ticket=ticket, readings=readings, taken=taken, confirmed_by=typed["confirmed_by"], by=pages.person(request), now=timezone.now(),
            version=versions.of_form(request), made_at=back,
        )  # fmt: skip
    except InputError as error:
        return _form(request, ticket, sizes, typed, error.problems)
    messages.success(request, "What the finished sail measured is kept.")
    outside = Requirement.objects.filter(ticket=ticket, kind=Need.RULES, met_at__isnull=True).first()
    if outside is not None:
        messages.error(request, f"Outside the class rules, {outside.wording}. The sail goes no further: {finished.WHAT_TO_DO}.")
    return redirect(back)


def _form(
    request: HttpRequest, ticket: Ticket, sizes: finished.Finished, typed: Mapping[str, str], problems: tuple[Problem, ...] = ()
) -> HttpResponse:  # fmt: skip
    wrong = {p.path for p in problems}
    rows = [(row, typed.get(row.path, ""), row.path in wrong) for row in finished_sizes.texts(sizes.rows) if row.typed]
    before = selectors.finished_sets(ticket).exists()
    context = {
        "place": "tickets", "ticket": ticket, "sizes": sizes, "rows": rows, "typed": typed, "problems": problems, "before": before,
        "occasions": [(o.value, o.label) for o in Occasion if (o == Occasion.FIRST) != before], "doubted": "confirmed_by" in wrong,
    }  # fmt: skip
    return render(request, "workshop/finished.html", context, status=400 if problems else 200)
