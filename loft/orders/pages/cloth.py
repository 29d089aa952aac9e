"""Another cloth for a quote's sails: what could stand in, why the others cannot, and where the present one is used."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from loft.common import limits, pages
from loft.common import selectors as common
from loft.orders import selectors, substitutes
from loft.orders.models import Order
from loft.orders.services.substituting import substitute
from loft.orders.states import RevisionState


@require_GET
@pages.may("see_costs")
def cloth_page(request: HttpRequest, pk: int) -> HttpResponse:
    """Every sailcloth of the house beside those that the quote's sails have."""
    now, last = timezone.now(), selectors.last_revision(pk)
    order = Order.objects.select_related("revision").filter(revision__quote__pk=pk).first()
    choices = tuple(substitutes.choices(order.revision if order else last, on=common.local_time(now, common.loft_profile()).date()))
    used = {choice.old.code: choice.old for choice in choices}
    context = {
        "place": "quotes", "quote": last.quote, "last": last, "choices": choices, "order": order,
        "is_issued": last.state == RevisionState.ISSUED,
        "uses": [(cloth, substitutes.where_used(code, now=now)) for code, cloth in used.items()],
    }  # fmt: skip
    return render(request, "orders/cloth.html", context)


@require_POST
@pages.may("draft_quote")
def substitute_cloth(request: HttpRequest, pk: int) -> HttpResponse:
    """Price a quote again with the other cloth; its page then shows the new revision, or the change of its order."""
    quote, now = selectors.quote(pk), timezone.now()
    limits.count(limits.COSTLY, str(pages.person(request).pk), now=now)
    seen = request.POST.get("revision", "")

    def write() -> str:
        old, new = pages.typed(request, "old", most=60), pages.typed(request, "new", most=60)
        row = substitute(
            quote=quote, old=old, new=new, on=common.local_time(now, common.loft_profile()).date(), now=now, by=pages.person(request),
            seen=int(seen) if seen.isdecimal() else 0,
        )  # fmt: skip
        said = f"Priced with {new} in place of {old}: revision {row.revision}."
        return f"{said} Issue it, so that the customer can say yes to the change of the order." if row.change else said

    return pages.done(request, write, back=request.path.removesuffix("cloth/substitute/"))
