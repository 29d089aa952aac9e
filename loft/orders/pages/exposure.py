"""The exposure page: what the supplier lists of a day do to every quote that a customer may still accept."""

from __future__ import annotations

from datetime import date

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from loft.catalogue import selectors as catalogue
from loft.common import pages
from loft.common import selectors as common
from loft.orders import exposure


@require_GET
@pages.may("see_costs")
def exposure_page(request: HttpRequest) -> HttpResponse:
    """Open quotes at the lists of today, or of ?on=2026-03-31: the first day of a list that is loaded but not in force yet."""
    now, profile = timezone.now(), common.loft_profile()
    today = common.local_time(now, profile).date()
    on = _asked_day(request, today)
    report = exposure.exposure(on=on, now=now, currency=profile.currency)
    page = Paginator(report.quotes, pages.ROWS_A_PAGE).get_page(request.GET.get("page"))
    heads = catalogue.list_heads()
    context = {
        "place": "quotes", "report": report, "page": page,
        "lists": catalogue.lists_in_force(heads, on), "coming": heads.filter(valid_from__gt=today),
    }  # fmt: skip
    return render(request, "orders/exposure.html", context)


def _asked_day(request: HttpRequest, today: date) -> date:
    asked = request.GET.get("on", "")
    if not asked:
        return today
    try:
        return date.fromisoformat(asked)
    except ValueError:
        messages.error(request, f"{asked[:40]!r} is not a day: write it like 2026-03-31. Shown is today.")
        return today
