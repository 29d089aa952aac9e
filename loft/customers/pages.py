"""The page of a customer: name, addresses and how prices are shown."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_http_methods

from costing.errors import InputError, Problem
from loft.common import pages
from loft.customers import selectors, services
from loft.customers.models import Customer

_FIELDS = ("kind", "name", "email", "address", "buyer")


@require_http_methods(["GET", "HEAD", "POST"])
@pages.may("edit_customers")
def edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a customer; ?back= says which page of ours to go back to."""
    customer = selectors.customer(pk)
    if request.method != "POST":
        return _form(request, customer)
    asked = {name: request.POST.get(name, "") for name in _FIELDS}
    try:
        services.save_customer(pk=pk, **asked)
    except InputError as error:
        return _form(request, Customer(pk=pk, **asked), error.problems)
    messages.success(request, f"{asked['name'].strip()} is changed. Quotes that were issued stay as they were sent.")
    return redirect(_back(request))


def _form(request: HttpRequest, customer: Customer, problems: tuple[Problem, ...] = ()) -> HttpResponse:
    context = {
        "place": "quotes", "customer": customer, "problems": problems, "wrong": {p.path for p in problems}, "back": _back(request),
        "kinds": Customer.Kind.choices, "buyers": Customer.Buyer.choices,
    }  # fmt: skip
    return render(request, "customers/customer.html", context, status=400 if problems else 200)


def _back(request: HttpRequest) -> str:
    """The page that was asked for, as long as it is one of ours."""
    asked = request.POST.get("back") or request.GET.get("back", "")
    return asked if url_has_allowed_host_and_scheme(asked, allowed_hosts=None) else "/quotes/"
