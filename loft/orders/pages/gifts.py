"""The ledger of sails that were given away."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from loft.catalogue import selectors as catalogue
from loft.common import pages
from loft.common import selectors as common
from loft.orders import gifts


@require_GET
@pages.may("see_costs")
def gift_ledger(request: HttpRequest) -> HttpResponse:
    """Who was given what, with its cost and what he had in the twelve months that end with it."""
    profile = common.loft_profile()
    today = common.local_time(timezone.now(), profile).date()
    context = {
        "place": "quotes", "rows": gifts.gift_ledger(on=today), "bound": catalogue.gift_flag(on=today), "currency": profile.currency,
    }  # fmt: skip
    return render(request, "orders/gifts.html", context)
