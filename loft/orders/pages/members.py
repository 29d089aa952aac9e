"""The members of an association's order: who was written to, who has confirmed, and the buttons that write to them."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from costing.errors import problem
from loft.common import pages
from loft.common import selectors as common
from loft.common.errors import NotFound
from loft.common.idempotency import idempotent_form
from loft.orders import members, selectors, services
from loft.orders.members import Member
from loft.orders.models import MemberLetter
from loft.orders.services.members import Written
from loft.orders.states import OrderState

Kind = MemberLetter.Kind


@require_GET
@pages.may("edit_customers")
def member_list(request: HttpRequest, pk: int) -> HttpResponse:
    """Every member with his sails, his address, his letters and his confirmation."""
    order = selectors.order(pk)
    rows = members.of_order(order, base_url=common.loft_profile().public_base_url)
    if not rows:
        raise NotFound(f"{order} has no members: it is not an association's.")
    open_ones = [m for m in rows if m.made and m.confirmed_at is None]
    context = {
        "place": "orders", "order": order, "members": rows, "is_open": order.state == OrderState.OPEN,
        "confirmed": sum(1 for m in rows if m.confirmed_at), "given_up": sum(1 for m in rows if not m.made),
        "asked": sum(1 for m in rows if m.written_at),
        "to_write": [m for m in open_ones if m.email and not m.written(Kind.DETAILS)],
        "to_remind": [m for m in open_ones if m.email and m.written_at and not m.written(Kind.REMINDER)],
        "reminded": [m for m in open_ones if m.email and m.written(Kind.REMINDER)],
        "without_address": [m for m in open_ones if not m.email],
    }  # fmt: skip
    return render(request, "orders/members.html", context)


@require_POST
@pages.may("write_to_members")
@idempotent_form
def write(request: HttpRequest, pk: int) -> HttpResponse:
    """Write to the members, or remind them; `position` names one of them, `again` those who were sent the same before too."""
    order, back = selectors.order(pk), reverse("member_list", args=(pk,))
    kind = request.POST.get("kind", Kind.DETAILS)
    if kind not in Kind.values:
        raise problem("kind", "unknown", f"there is no letter {kind!r} to a member")
    only = [int(text) for text in request.POST.getlist("position") if text.isascii() and text.isdecimal() and len(text) < 6]
    done = services.write_to_members(
        order=order, by=pages.person(request), now=timezone.now(), kind=kind, again=bool(request.POST.get("again")), only=only, made_at=back
    )
    _tell(request, done)
    return redirect(back)


def _tell(request: HttpRequest, done: Written) -> None:
    if done.written:
        messages.success(request, f"On their way: {_counted(len(done.written), 'letter')}, to {_names(done.written)}.")
    if done.without_address:
        messages.warning(request, f"No mail address is kept for {_names(done.without_address)}: enter it on the boat's page.")
    if not done.written and not done.without_address:
        messages.info(request, "Nobody is left to write to: everybody has been sent this letter, or has confirmed.")


def _counted(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


def _names(found: tuple[Member, ...]) -> str:
    names = [member.owner for member in found]
    return ", ".join(names) if len(names) <= 5 else f"{', '.join(names[:4])} and {len(names) - 4} more"
