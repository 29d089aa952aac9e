"""The page of one member of an association: his own sail behind a link of its own, without prices, for the association buys."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_GET, require_http_methods

from costing.errors import InputError
from costing.quote import PricedBatch, PricedSail, snapshot
from loft import documents
from loft.common import selectors as common
from loft.common.errors import Conflict
from loft.documents import wording
from loft.orders import paper, selectors, services
from loft.orders.models import OrderLine
from loft.orders.pages.answer import behind_a_link
from loft.orders.states import OrderState


@csrf_exempt
@require_http_methods(["GET", "HEAD", "POST"])
@behind_a_link
def member_page(request: HttpRequest, token: str) -> HttpResponse:
    """GET shows the sail; POST confirms its details, and a second POST changes nothing."""
    line = selectors.line_for_member(token)
    if request.method != "POST":
        return _show(request, token, line)
    try:
        services.confirm_details(token=token, name=request.POST.get("name", ""), now=timezone.now())
    except InputError as error:
        return _show(request, token, line, wrong="; ".join(p.message for p in error.problems))
    except Conflict as error:
        return _show(request, token, line, wrong=str(error))
    return redirect("member_page", token)


@require_GET
@behind_a_link
def member_drawing(request: HttpRequest, token: str) -> HttpResponse:
    """The sail's drawing, as on the quote."""
    design = snapshot.thaw_design(bytes(selectors.line_for_member(token).ticket.design.data))
    return HttpResponse(documents.sail_svg(design), content_type="image/svg+xml")


def _suit(batch: PricedBatch, line: OrderLine) -> tuple[tuple[int, PricedSail], ...]:
    """The sails of the member's boat, with their lines; each of them has a page of its own."""
    return next(boat for boat in batch.boats() if line.position in {number for number, _ in boat})


def _show(request: HttpRequest, token: str, line: OrderLine, *, wrong: str = "") -> HttpResponse:
    batch = paper.thaw(line.order.revision)
    sail = batch.sails[line.position - 1]
    design = snapshot.thaw_design(bytes(line.ticket.design.data))
    context = {
        "token": token, "suit": [other.label for n, other in _suit(batch, line) if n != line.position],
        "line": line, "sail": sail, "batch": batch, "profile": common.loft_profile(), "wrong": wrong,
        "sizes": [(wording.label(name), wording.size(value)) for name, value in design.sizes], "variant": design.variant,
        "assumed": [wording.spelled(s) for s in dict.fromkeys((*design.assumed, *sail.assumed))],
        "name": request.POST.get("name", ""), "is_open": line.order.state == OrderState.OPEN,
    }  # fmt: skip
    return render(request, "orders/member.html", context, status=400 if wrong else 200)
