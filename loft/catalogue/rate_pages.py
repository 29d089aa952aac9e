"""Exchange rates: those of the newest days, a form to type one, and the nearest day where one has none."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from costing.errors import Collector, InputError
from costing.money import currency
from costing.prices.rates import MOST_DAYS_OLD, exchange
from loft.catalogue import rates, selectors
from loft.catalogue.list_import import day
from loft.catalogue.models import ExchangeRate
from loft.common import pages
from loft.common import selectors as common

#: How many days the page shows.
_DAYS = 30


@require_GET
@pages.may("see_costs")
def rate_list(request: HttpRequest) -> HttpResponse:
    """The newest days; with ?on=2026-03-02&currency=USD, what a unit of it is in the loft's currency on that day, or the nearest day."""
    return _page(request)


@require_POST
@pages.may("load_catalogue")
def type_rate(request: HttpRequest) -> HttpResponse:
    """Store the rate of a day and currency as it was typed; what is stored is never edited."""
    texts = {field: request.POST.get(field, "").strip() for field in ("on", "currency", "rate")}

    def write() -> str:
        wrong = Collector()
        for field in ("on", "currency"):
            with wrong.under(""):
                day(texts[field], "on") if field == "on" else currency(texts[field].upper())
        if len(texts["rate"].split()) != 1:
            wrong.add("rate", "not_a_rate", f"{texts['rate'][:20]!r} is not one rate such as 1.0821")
        wrong.raise_if_any()
        table = f"Date,{texts['currency'].upper()}\n{texts['on']},{texts['rate']}\n"
        report = rates.load_rates(text=table, by=pages.person(request))
        return f"{report.subject}: {'stored' if report.outcome == 'new' else 'was stored already'}."

    return pages.done(request, write, back="/rates/")


def _page(request: HttpRequest) -> HttpResponse:
    profile = common.loft_profile()
    today = common.local_time(timezone.now(), profile).date()
    days = ExchangeRate.objects.order_by("-on").values_list("on", flat=True).distinct()[:_DAYS]
    rows = ExchangeRate.objects.filter(on__in=list(days)).order_by("-on", "currency")
    asked, code = request.GET.get("on", ""), request.GET.get("currency", "").strip().upper()
    context = {
        "place": "lists", "rates": [(row.on, row.currency, row.per_euro_e6 / 1_000_000) for row in rows], "today": today,
        "ours": profile.currency, "asked": asked, "code": code, "oldest": MOST_DAYS_OLD,
    }  # fmt: skip
    if asked or code:
        context["answer"] = _answer(asked, code, profile.currency)
    return render(request, "catalogue/rates.html", context)


def _answer(asked: str, code: str, ours: str) -> str:
    """The rate that holds on a day, in words, or why there is none and which day is nearest."""
    try:
        on = day(asked, "on")
        return exchange(selectors.day_rates(on=on), theirs=code, ours=ours, on=on).words
    except InputError as error:
        return "; ".join(p.message for p in error.problems)
