"""The page of the loft's own details."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from costing.errors import InputError, Problem
from loft.common import pages, selectors, services, versions
from loft.common.models import LoftProfile

#: The fields of the form with their labels, and the most characters that each keeps.
FIELDS = {
    "name": ("Name", 200), "address": ("Address", 1000), "email": ("Mail address", 254), "phone": ("Telephone", 50),
    "tax_number": ("Tax number", 50), "currency": ("Currency, three letters", 3), "date_format": ("Dates are written like", 30),
    "public_base_url": ("Public address of this service", 200), "time_zone": ("Time zone", 60),
}  # fmt: skip


@require_http_methods(["GET", "HEAD", "POST"])
@pages.may("edit_profile")
def profile(request: HttpRequest) -> HttpResponse:
    """Change what stands on every paper that is made from now on."""
    stored = selectors.loft_profile()
    if request.method != "POST":
        return _form(request, stored, str(stored.version))
    try:
        asked = {name: pages.typed(request, name, most=most, lines=name == "address") for name, (_, most) in FIELDS.items()}
        services.save_loft_profile(by=pages.person(request), version=versions.of_form(request), **asked)
    except InputError as error:
        typed = LoftProfile(**{name: request.POST.get(name, "") for name in FIELDS})
        return _form(request, typed, request.POST.get(versions.FIELD, ""), error.problems)
    messages.success(request, "The loft's details are changed. What was issued stays as it was sent.")
    return redirect("loft_profile")


def _form(request: HttpRequest, row: LoftProfile, version: str, problems: tuple[Problem, ...] = ()) -> HttpResponse:
    fields = [(name, label, most, getattr(row, name)) for name, (label, most) in FIELDS.items()]
    context = {"fields": fields, "version": version, "problems": problems, "wrong": {p.path for p in problems}}
    return render(request, "common/profile.html", context, status=400 if problems else 200)
