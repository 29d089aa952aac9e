"""Materials: what lists sell, what is gone since when, and where each is used."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from loft.common import pages
from loft.common import selectors as common
from loft.orders import where_used


@require_GET
@pages.may("see_costs")
def material_list(request: HttpRequest) -> HttpResponse:
    """Every material that a list ever named."""
    return render(request, "orders/materials.html", {"place": "lists", "materials": where_used.materials()})


@require_GET
@pages.may("see_costs")
def material_page(request: HttpRequest, code: str) -> HttpResponse:
    """One material: its supplier rows, and everything that takes it."""
    now, profile = timezone.now(), common.loft_profile()
    found = where_used.used(code, on=common.local_time(now, profile).date(), now=now)
    return render(request, "orders/material.html", {"place": "lists", "used": found, "currency": profile.currency})
