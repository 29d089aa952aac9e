"""A boat's fit sheet, what was measured on it, and the sheet that goes to the boat to measure with."""

from __future__ import annotations

from datetime import date

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from costing.errors import Collector, InputError, Problem, problem
from costing.measurements import SailKind
from loft import documents
from loft.catalogue import selectors as catalogue
from loft.common import pages
from loft.common import selectors as common
from loft.common.errors import NotFound
from loft.common.idempotency import idempotent_form
from loft.customers import fit, fit_items, measuring, selectors
from loft.customers.models import Boat
from loft.documents import measure_drawing

KINDS = tuple((kind.value, kind.value.replace("_", " ")) for kind in SailKind)


@require_http_methods(["GET", "HEAD", "POST"])
@pages.may("edit_customers")
@idempotent_form
def fit_sheet(request: HttpRequest, pk: int) -> HttpResponse:
    """The boat's fit sheet as it was last kept, to be corrected: a new sheet is kept, the old ones stay."""
    boat = selectors.boat(pk)
    if request.method != "POST":
        return _fit_form(request, boat, _stored_rows(boat))
    rows = {item.code: {field: request.POST.get(f"{item.code}.{field}", "") for field in _FIT} for item in fit_items.ITEMS}
    back = reverse("edit_boat", args=(pk,))
    try:
        fit.keep(boat=boat, rows=_typed_rows(request), by=pages.person(request), now=timezone.now(), made_at=back)
    except InputError as error:
        return _fit_form(request, boat, rows, error.problems)
    messages.success(request, f"The fit sheet of {boat} is kept. Confirm the fit on its tickets to put it on them.")
    return redirect(back)


@require_http_methods(["GET", "HEAD", "POST"])
@pages.may("edit_customers")
@idempotent_form
def measurements(request: HttpRequest, pk: int) -> HttpResponse:
    """Type in what was measured on the boat: each reading, how, by whom, when; doubts are shown and settled by name."""
    boat = selectors.boat(pk)
    kind = _kind(request.POST.get("kind") or request.GET.get("kind") or SailKind.MAINSAIL.value)
    names = measure_drawing.measurable(kind)
    if request.method != "POST":
        return _measure_form(request, boat, kind, {})
    typed = {name: request.POST.get(name, "") for name in (*names, *_TAKEN)}
    back = reverse("edit_boat", args=(pk,))
    try:
        typed |= {name: pages.typed(request, name, most=300) for name in typed}
        taken = measuring.Taken(pages.day(typed["taken_on"], "taken_on") or _missing_day(), typed["how"], typed["taken_by"])
        readings = {name: tuple(typed[name].split(";")) for name in names if typed[name]}
        measuring.keep(
            boat=boat, kind=kind, readings=readings, taken=taken, confirmed_by=typed["confirmed_by"], by=pages.person(request), made_at=back
        )
    except InputError as error:
        return _measure_form(request, boat, kind, typed, error.problems)
    messages.success(request, f"What was measured on {boat} is kept.")
    return redirect(back)


@require_GET
@pages.may("see_customers")
@pages.drawn
def sheet(request: HttpRequest, pk: int, kind: str) -> HttpResponse:
    """The measurement sheet of the boat for a kind of sail, as PDF."""
    boat = selectors.boat(pk)
    return pages.pdf(documents.measuring_sheet_pdf(_document(boat, _kind(kind))), f"measure-{kind}-{boat.pk}.pdf")


#: The fields of a row of the fit sheet, and of who measured; the most characters that each keeps.
_FIT = {"value": 120, "how": 300, "taken_by": 200, "taken_on": 10}
_TAKEN = ("taken_on", "how", "taken_by", "confirmed_by")


def _document(boat: Boat, kind: SailKind) -> documents.MeasuringSheet:
    profile = common.loft_profile()
    rule = next(iter(catalogue.editions(boat.class_code)), None)
    said = rule.sail_or_none(kind) if rule else None
    head = documents.Letterhead(
        name=profile.name, address=profile.address_lines, email=profile.email, phone=profile.phone, tax_number=profile.tax_number,
        date_format=profile.date_format,
    )  # fmt: skip
    return documents.MeasuringSheet(
        letterhead=head, boat=boat.name, owner=boat.owner, sail_number=boat.sail_number or "to follow",
        class_name=rule.name if rule else boat.class_code, edition=rule.edition if rule else "", condition=said.condition if said else "",
        kind=kind, limits=said.limits if said else (), fit=tuple((item.label, item.hint) for item in fit_items.of_kind(kind)),
    )  # fmt: skip


def _typed_rows(request: HttpRequest) -> dict[str, fit.Row]:
    """What was typed, row by row; every day that is none is a problem at once."""
    wrong, rows = Collector(), {}
    for item in fit_items.ITEMS:
        typed = {field: pages.typed(request, f"{item.code}.{field}", most=most) for field, most in _FIT.items()}
        with wrong.under(""):
            on = pages.day(typed["taken_on"], f"{item.code}.taken_on")
            rows[item.code] = fit.Row(typed["value"], typed["how"], typed["taken_by"], on)
    wrong.raise_if_any()
    return rows


def _stored_rows(boat: Boat) -> dict[str, dict[str, str]]:
    kept = fit.latest(boat)
    details = kept.details.all() if kept else ()
    return {
        d.item: {"value": d.value, "how": d.how, "taken_by": d.taken_by, "taken_on": d.taken_on.isoformat()} for d in details
    }  # fmt: skip


def _fit_form(request: HttpRequest, boat: Boat, rows: dict[str, dict[str, str]], problems: tuple[Problem, ...] = ()) -> HttpResponse:
    wrong = {p.path.partition(".")[0] for p in problems}
    groups = [(group.heading, [(item, rows.get(item.code, {}), item.code in wrong) for item in group.items]) for group in fit_items.GROUPS]
    context = {"place": "quotes", "boat": boat, "groups": groups, "problems": problems}
    return render(request, "customers/fit.html", context, status=400 if problems else 200)


def _measure_form(
    request: HttpRequest, boat: Boat, kind: SailKind, typed: dict[str, str], problems: tuple[Problem, ...] = ()
) -> HttpResponse:  # fmt: skip
    wrong = {p.path for p in problems}
    rows = [(name, measure_drawing.labelled(name), typed.get(name, ""), name in wrong) for name in measure_drawing.measurable(kind)]
    context = {
        "place": "quotes", "boat": boat, "kind": kind.value, "kinds": KINDS, "rows": rows, "typed": typed, "problems": problems,
        "doubted": "confirmed_by" in wrong,
    }  # fmt: skip
    return render(request, "customers/measurements.html", context, status=400 if problems else 200)


def _kind(text: str) -> SailKind:
    try:
        return SailKind(text)
    except ValueError as error:
        raise NotFound(f"There is no kind of sail {text!r}.") from error


def _missing_day() -> date:
    raise problem("taken_on", "missing", "say on which day it was measured")
