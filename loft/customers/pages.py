"""The page of a customer: name, addresses and how prices are shown."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_http_methods

from costing.errors import InputError, Problem
from costing.measurements import MEASUREMENTS
from loft.common import pages, versions
from loft.customers import fit, selectors, services
from loft.customers.boat_pages import KINDS
from loft.customers.models import Boat, Customer

#: The fields of the form, and the most characters that each keeps.
_BOAT_FIELDS = {"name": 200, "owner": 200, "sail_number": 20, "email": 254}
_FIELDS = {"kind": 20, "name": 200, "email": 254, "address": 1000, "buyer": 10, "tax_exempt": 120}


@require_http_methods(["GET", "HEAD", "POST"])
@pages.may("edit_customers")
def edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a customer; ?back= says which page of ours to go back to."""
    customer = selectors.customer(pk)
    if request.method != "POST":
        return _form(request, customer)
    try:
        asked = {name: pages.typed(request, name, most=most, lines=name == "address") for name, most in _FIELDS.items()}
        services.save_customer(
            pk=pk, kind=asked["kind"], name=asked["name"], email=asked["email"], address=asked["address"], buyer=asked["buyer"],
            tax_exempt=asked["tax_exempt"], by=pages.person(request), version=versions.of_form(request),
        )  # fmt: skip
    except InputError as error:
        typed = Customer(pk=pk, version=versions.of_form(request) or customer.version)
        for name in _FIELDS:
            setattr(typed, name, request.POST.get(name, ""))
        return _form(request, typed, error.problems)
    messages.success(request, f"{asked['name']} is changed. Quotes that were issued stay as they were sent.")
    return redirect(_back(request))


def _form(request: HttpRequest, customer: Customer, problems: tuple[Problem, ...] = ()) -> HttpResponse:
    context = {
        "place": "quotes", "customer": customer, "problems": problems, "wrong": {p.path for p in problems}, "back": _back(request),
        "kinds": Customer.Kind.choices, "buyers": Customer.Buyer.choices,
    }  # fmt: skip
    return render(request, "customers/customer.html", context, status=400 if problems else 200)


@require_http_methods(["GET", "HEAD", "POST"])
@pages.may("edit_customers")
def edit_boat(request: HttpRequest, pk: int) -> HttpResponse:
    """Correct a boat's name, owner, number or her owner's address."""
    boat = selectors.boat(pk)
    context: dict[str, object] = {"place": "quotes", "boat": boat, "version": boat.version, **_kept(boat)}
    if request.method != "POST":
        return render(request, "customers/boat.html", context)
    try:
        asked = {name: pages.typed(request, name, most=most) for name, most in _BOAT_FIELDS.items()}
        services.save_boat(
            pk=pk, name=asked["name"], owner=asked["owner"], sail_number=asked["sail_number"], email=asked["email"],
            by=pages.person(request), version=versions.of_form(request),
        )  # fmt: skip
    except InputError as error:
        typed = Boat(pk=pk, class_code=boat.class_code, **{name: request.POST.get(name, "") for name in _BOAT_FIELDS})
        context |= {"boat": typed, "version": request.POST.get(versions.FIELD, ""), "problems": error.problems}
        return render(request, "customers/boat.html", context, status=400)
    messages.success(request, f"{asked['name']} is changed.")
    return redirect("edit_boat", pk)


def _kept(boat: Boat) -> dict[str, object]:
    """What is kept of a boat beside its name: the fit sheet and what was measured, the newest first."""
    sheet = fit.latest(boat)
    newest = sorted(boat.measurement_sets.all(), key=lambda s: (s.taken_on, s.pk), reverse=True)
    sets = [(one, [(MEASUREMENTS[v.measurement].label, v) for v in one.values.all() if v.measurement in MEASUREMENTS]) for one in newest]
    return {"fit_groups": fit.grouped(sheet) if sheet else (), "sets": sets, "kinds": KINDS}


def _back(request: HttpRequest) -> str:
    """The page that was asked for, as long as it is one of ours."""
    asked = request.POST.get("back") or request.GET.get("back", "")
    return asked if url_has_allowed_host_and_scheme(asked, allowed_hosts=None) else "/quotes/"
