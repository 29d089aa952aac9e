"""The page of one member of an association: the sails of his boat behind a link of his own, without prices, for the association buys."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_GET, require_http_methods

from costing.errors import InputError
from costing.quote import PricedBatch, PricedSail, snapshot
from loft import documents
from loft.common import selectors as common
from loft.common.errors import Conflict, NotFound
from loft.documents import wording
from loft.orders import paper, selectors, services
from loft.orders.models import OrderLine
from loft.orders.pages.answer import behind_a_link, count_drawn
from loft.orders.states import OrderState
from loft.workshop.states import TicketState


@dataclass(frozen=True, slots=True)
class ShownSail:
    """One sail as its owner reads it."""

    line: OrderLine
    sail: PricedSail
    variant: bool
    sizes: tuple[tuple[str, str], ...]
    assumed: tuple[str, ...]


@csrf_exempt
@require_http_methods(["GET", "HEAD", "POST"])
@behind_a_link
def member_page(request: HttpRequest, token: str) -> HttpResponse:
    """GET shows the boat's sails, whichever of them the link names; POST confirms them all, and a second POST changes nothing."""
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
def member_drawing(request: HttpRequest, token: str, position: int | None = None) -> HttpResponse:
    """A sail's drawing, as on the quote: that of the link, or another one of the same boat by its position on the order."""
    line = selectors.line_for_member(token)
    if position is not None and position != line.position:
        line = _of_the_boat(line, position)
    count_drawn(request)
    design = snapshot.thaw_design(bytes(line.ticket.design.data))
    return HttpResponse(documents.sail_svg(design, not_legal=line.ticket.not_legal), content_type="image/svg+xml")


def _of_the_boat(line: OrderLine, position: int) -> OrderLine:
    found = next((other for other in selectors.suit_of(line) if other.position == position), None)
    if found is None:
        raise NotFound("there is no sail behind this link")
    return found


def _shown(line: OrderLine, batch: PricedBatch) -> ShownSail:
    sail, design = batch.sails[line.position - 1], snapshot.thaw_design(bytes(line.ticket.design.data))
    return ShownSail(
        line=line, sail=sail, variant=bool(design.variant),
        sizes=tuple((wording.label(name), wording.size(value)) for name, value in design.sizes),
        assumed=tuple(wording.spelled(s) for s in dict.fromkeys((*design.assumed, *sail.assumed))),
    )  # fmt: skip


def _show(request: HttpRequest, token: str, line: OrderLine, *, wrong: str = "") -> HttpResponse:
    batch, suit = paper.thaw(line.order.revision), selectors.suit_of(line)
    made = [one for one in suit if one.ticket.state != TicketState.SCRAPPED]
    unconfirmed = [one for one in made if one.confirmed_at is None]
    context = {
        "token": token, "sails": [_shown(one, batch) for one in suit], "line": suit[0], "order": line.order, "batch": batch,
        "profile": common.loft_profile(), "wrong": wrong, "unconfirmed": unconfirmed, "made": made,
        "confirmed": sorted((one for one in made if one.confirmed_at), key=lambda one: str(one.confirmed_at)),
        "name": request.POST.get("name", ""), "is_open": line.order.state == OrderState.OPEN,
    }  # fmt: skip
    return render(request, "orders/member.html", context, status=400 if wrong else 200)
