"""Pages of a customer's personal data, for managers: everything in one file, and erasing it."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from loft.common import pages, versions
from loft.customers import selectors as customers
from loft.orders import personal, personal_export


@require_GET
@pages.may("personal_data")
@pages.drawn
def export(request: HttpRequest, pk: int) -> HttpResponse:
    """Everything that is kept about a customer."""
    content = personal_export.export(customer=customers.customer(pk), by=pages.person(request))
    named = {"Content-Disposition": f'attachment; filename="customer-{pk}.zip"'}
    return HttpResponse(content, content_type="application/zip", headers=named)


@require_POST
@pages.may("personal_data")
def erase(request: HttpRequest, pk: int) -> HttpResponse:
    """Erase a customer's personal data for good."""
    customer, by, seen = customers.customer(pk), pages.person(request), versions.of_form(request)
    if not request.POST.get("sure"):
        messages.error(request, "Not done: tick the box to say that it is meant.")
        return redirect("edit_customer", pk)
    done = personal.erase(customer=customer, by=by, now=timezone.now(), version=seen)
    kept = f" The papers of {done.kept} contracts are kept as long as the law asks." if done.kept else ""
    messages.success(request, f"The data of customer {pk} is erased.{kept}")
    return redirect("quote_list")
