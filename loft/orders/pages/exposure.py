"""The exposure page: what the supplier lists of a day do to every quote that a customer may still accept."""

from __future__ import annotations

from datetime import date

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from costing.errors import InputError, Problem, problem
from loft import documents
from loft.catalogue import selectors as catalogue
from loft.catalogue import sheets
from loft.common import limits, pages
from loft.common import selectors as common
from loft.common.errors import Conflict, NotFound
from loft.common.idempotency import idempotent_form
from loft.orders import buy_ahead, exposure
from loft.orders.services.revising_many import MOST_AT_ONCE, revise_many


@require_GET
@pages.may("see_costs")
def exposure_page(request: HttpRequest) -> HttpResponse:
    """Open quotes at the lists of today, or of ?on=2026-03-31: the first day of a list that is loaded but not in force yet."""
    return _page(request)


def _page(request: HttpRequest, *, problems: tuple[Problem, ...] = ()) -> HttpResponse:
    now, profile = timezone.now(), common.loft_profile()
    today = common.local_time(now, profile).date()
    on = _asked_day(request, today)
    report = exposure.exposure(on=on, now=now, currency=profile.currency)
    page = Paginator(report.quotes, pages.ROWS_A_PAGE).get_page(request.GET.get("page"))
    heads = catalogue.list_heads()
    context = {
        "place": "quotes", "report": report, "page": page,
        "lists": catalogue.lists_in_force(heads, on), "coming": heads.filter(valid_from__gt=today),
        "problems": problems, "most": MOST_AT_ONCE,
    }  # fmt: skip
    return render(request, "orders/exposure.html", context, status=400 if problems else 200)


@require_GET
@pages.may("see_costs")
@pages.drawn
def buy_ahead_file(request: HttpRequest, kind: str) -> HttpResponse:
    """The cloth that orders and open quotes need beyond what is in hand, as PDF or CSV."""
    if kind not in ("pdf", "csv"):
        raise NotFound("There is no such list.")
    now, profile = timezone.now(), common.loft_profile()
    today = common.local_time(now, profile).date()
    on = _asked_day(request, today)
    found = buy_ahead.buy_ahead(exposure.exposure(on=on, now=now, currency=profile.currency), today=today)
    if kind == "pdf":
        return pages.pdf(documents.buy_ahead_pdf(buy_ahead.document(found, profile)), f"buy-ahead-{on}.pdf")
    headers = {"Content-Disposition": f'attachment; filename="buy-ahead-{on}.csv"'}
    return HttpResponse(sheets.csv_bytes(buy_ahead.table(found)), content_type="text/csv; charset=utf-8", headers=headers)


@require_POST
@pages.may("draft_quote")
@idempotent_form
def revise_chosen(request: HttpRequest) -> HttpResponse:
    """Draft a revision of each chosen quote at today's lists, all of them or none."""
    now = timezone.now()
    limits.count(limits.COSTLY, str(pages.person(request).pk), now=now)
    try:
        rows = revise_many(
            chosen=_chosen(request), on=common.local_time(now, common.loft_profile()).date(), now=now, by=pages.person(request),
            made_at=reverse("exposure"),
        )  # fmt: skip
    except InputError as error:
        return _page(request, problems=error.problems)
    except Conflict as error:
        messages.error(request, f"Nothing was drafted: {error}")
        return redirect("exposure")
    messages.success(request, f"Drafted {len(rows)} revision{'s' if len(rows) > 1 else ''}: {', '.join(str(row.quote) for row in rows)}.")
    return redirect("exposure")


def _chosen(request: HttpRequest) -> dict[int, int]:
    """Quote -> the number of the revision that was looked at, from boxes like "17:2"."""
    chosen = {}
    for word in request.POST.getlist("quote"):
        quote, _, revision = word.partition(":")
        if not (quote.isdecimal() and revision.isdecimal() and len(word) < 30):
            raise problem("quote", "not_a_quote", f"{word[:30]!r} is no quote of this page")
        chosen[int(quote)] = int(revision)
    if not chosen:
        raise problem("quote", "none", "choose at least one quote")
    return chosen


def _asked_day(request: HttpRequest, today: date) -> date:
    asked = request.GET.get("on", "")
    if not asked:
        return today
    try:
        return date.fromisoformat(asked)
    except ValueError:
        messages.error(request, f"{asked[:40]!r} is not a day: write it like 2026-03-31. Shown is today.")
        return today
