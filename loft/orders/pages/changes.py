"""The page on which an order is changed: what may still change of each sail, and the list of boats as it is to be."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from costing.errors import InputError, Problem
from loft.common import limits, pages, versions
from loft.common.errors import Conflict
from loft.common.idempotency import idempotent_form
from loft.orders import order_changes, selectors, services
from loft.orders.models import Order
from loft.orders.pages.problem_rows import problem_rows
from loft.orders.states import OrderState


@require_http_methods(["GET", "HEAD", "POST"])
@pages.may("draft_quote")
@idempotent_form
def change_order(request: HttpRequest, pk: int) -> HttpResponse:
    """GET shows what may change, POST drafts the change; it is issued on the page of its quote."""
    order, now = selectors.order(pk), timezone.now()
    if order.state != OrderState.OPEN:
        raise Conflict(f"{order} is {order.get_state_display()}: it can no longer be changed")
    if request.method != "POST":
        return _form(request, order, order_changes.current_list(order).decode())
    limits.count(limits.COSTLY, str(pages.person(request).pk), now=now)
    text = request.POST.get("boats", "")
    back = reverse("quote_page", args=[order.revision.quote_id])
    try:
        services.draft_change(
            order=order, boats=text.encode("utf-8", "replace"), now=now, by=pages.person(request), version=versions.of_form(request),
            made_at=back,
        )  # fmt: skip
    except InputError as error:
        return _form(request, order, text, error.problems)
    return redirect(back)


def _form(request: HttpRequest, order: Order, text: str, problems: tuple[Problem, ...] = ()) -> HttpResponse:
    context = {
        "place": "orders", "order": order, "rows": order_changes.may_change(order), "boats_text": text,
        "problems": problem_rows(problems, text), "fee": order_changes.fee(order), "open_change": selectors.open_change(order),
    }  # fmt: skip
    return render(request, "orders/order_change.html", context, status=400 if problems else 200)
