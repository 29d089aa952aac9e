"""Pages of one order: its lines and tickets, money received, numbers and cloth that were to follow, delivery."""

from __future__ import annotations

from datetime import date
from decimal import Decimal, InvalidOperation

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from costing.errors import Collector, problem
from loft.common import pages, policies, versions
from loft.common import selectors as common
from loft.common.errors import Conflict, NotFound, Stale
from loft.common.idempotency import idempotent_form
from loft.documents import wording
from loft.orders import joining, members, order_papers, selectors, services
from loft.orders.models import Order, OrderLine
from loft.orders.pages.board import asked
from loft.orders.states import OrderState
from loft.orders.waiting_cloth import cloth_groups
from loft.workshop.models import Requirement
from loft.workshop.states import Need


@require_GET
@pages.may("see_orders")
def order_page(request: HttpRequest, pk: int) -> HttpResponse:
    """One order: lines, what each still waits for, payments."""
    order = selectors.order(pk)
    row, met = selectors.board_row(order), _met_by_ticket(order)
    needs = [need for need in Need if any(need in kinds for kinds in met.values())]
    with_links = members.of_order(order, base_url="")
    context = {
        "place": "orders", "members": with_links, "members_confirmed": sum(1 for m in with_links if m.confirmed_at),
        "order": order, "row": row, "asked": asked(row.missing), "needs": needs,
        "lines": [(line, [(need, met.get(line.ticket_id, {}).get(need)) for need in needs]) for line in order.lines.all()],
        "payments": [(p, abs(p.amount_minor)) for p in order.payments.order_by("received_on", "pk")],
        "due_minor": max(order.deposit_minor - row.paid_minor, 0), **_open(order, row.paid_minor),
        "today": common.local_time(timezone.now(), common.loft_profile()).date(), "is_open": order.state == OrderState.OPEN,
        **_batch(request, order),
        "cloth_groups": cloth_groups(order) if order.state == OrderState.OPEN else (), "all_ready": row.progress == "ready",
    }  # fmt: skip
    return render(request, "orders/order.html", context)


@require_GET
@pages.may("see_orders")
def by_reference(request: HttpRequest, reference: str) -> HttpResponse:
    """/orders/O-0001/ goes on to the order's own address."""
    number = reference.upper().removeprefix("O-")
    found = Order.objects.filter(number=int(number)).first() if number.isdecimal() else None
    if found is None:
        raise NotFound(f"There is no order {reference}.")
    return redirect("order_page", found.pk)


@require_POST
@pages.may("record_payment")
@idempotent_form
def record_payment(request: HttpRequest, pk: int) -> HttpResponse:
    """Note money received."""
    order, back = selectors.order(pk), reverse("order_page", args=(pk,))

    def write() -> str:
        amount, received_on = _payment(request)
        services.record_payment(
            order=order, amount=amount, received_on=received_on, by=pages.person(request), now=timezone.now(),
            reference=pages.typed(request, "reference", most=120), made_at=back,
        )  # fmt: skip
        return f"Recorded: {order.currency} {wording.amount(amount, order.currency)}."

    return pages.done(request, write, back=f"{back}#payments")


@require_POST
@pages.may("record_payment")
@idempotent_form
def record_refund(request: HttpRequest, pk: int) -> HttpResponse:
    """Note money paid back."""
    order, back = selectors.order(pk), reverse("order_page", args=(pk,))

    def write() -> str:
        amount, paid_on = _payment(request, day="paid_on")
        services.record_refund(
            order=order, amount=amount, paid_on=paid_on, by=pages.person(request), now=timezone.now(),
            reference=pages.typed(request, "reference", most=120), made_at=back,
        )  # fmt: skip
        return f"Recorded as paid back: {order.currency} {wording.amount(amount, order.currency)}."

    return pages.done(request, write, back=f"{back}#payments")


@require_POST
@pages.may("give_sail_number")
def give_sail_number(request: HttpRequest, ticket_pk: int) -> HttpResponse:
    """Give a sail the number that was to follow."""
    line = OrderLine.objects.select_related("order", "ticket__design").filter(ticket__pk=ticket_pk).first()
    if line is None:
        raise NotFound(f"There is no ticket {ticket_pk}.")

    def write() -> str:
        number = pages.typed(request, "number", most=20)
        try:
            seen = versions.of_form(request)
            services.give_sail_number(line=line, number=number, by=pages.person(request), now=timezone.now(), version=seen)
        except Stale:
            raise
        except Conflict as error:  # most often the number is another boat's, which the page says best where it was typed
            raise problem("number", "taken", str(error)) from error
        return f"{line.boat} has the sail number {number}."

    return pages.done(request, write, back=reverse("ticket_page", args=(ticket_pk,)))


@require_POST
@pages.may("confirm_cloth")
def book_cloth(request: HttpRequest, pk: int) -> HttpResponse:
    """Set one roll and lot aside for the sails of one cloth and colour that have none yet."""
    order = selectors.order(pk)

    def write() -> str:
        roll, lot = pages.typed(request, "roll", most=60), pages.typed(request, "lot", most=60)
        by, seen = pages.person(request), versions.of_form(request)
        cloth, colour = pages.typed(request, "cloth", most=60), pages.typed(request, "colour", most=60)
        released = services.book_cloth(order=order, roll=roll, lot=lot, cloth=cloth, colour=colour, by=by, now=timezone.now(), version=seen)
        return f"Roll {roll}, lot {lot} set aside. {_released(released)}".strip()

    return pages.done(request, write, back=reverse("order_page", args=(pk,)))


@require_POST
@pages.may("promise_day")
def promise(request: HttpRequest, pk: int) -> HttpResponse:
    """Promise a day for the order."""
    order = selectors.order(pk)

    def write() -> str:
        services.set_due_date(
            order=order, due_on=_day(request.POST.get("due_on", ""), "due_on"), by=pages.person(request), version=versions.of_form(request)
        )
        return "The day is promised; the tickets carry it."

    return pages.done(request, write, back=reverse("order_page", args=(pk,)))


@require_POST
@pages.may("deliver_order")
def deliver(request: HttpRequest, pk: int) -> HttpResponse:
    """Close an order whose sails have all left."""
    order = selectors.order(pk)

    def write() -> str:
        services.deliver(order=order, now=timezone.now(), by=pages.person(request), version=versions.of_form(request))
        return f"{order} is delivered."

    return pages.done(request, write, back=reverse("order_page", args=(pk,)))


@require_POST
@pages.may("deliver_order")
def deliver_line(request: HttpRequest, pk: int, position: int) -> HttpResponse:
    """One sail has left."""
    line = selectors.line(order_pk=pk, position=position)

    def write() -> str:
        services.deliver_line(line=line, now=timezone.now(), by=pages.person(request), version=versions.of_form(request))
        return f"{line.label} is delivered."

    return pages.done(request, write, back=reverse("order_page", args=(pk,)))


@require_POST
@pages.may("cancel_order")
def cancel(request: HttpRequest, pk: int) -> HttpResponse:
    """Cancel an order and scrap what is not ready."""
    order = selectors.order(pk)

    def write() -> str:
        reason, by, seen = pages.typed(request, "reason", most=300), pages.person(request), versions.of_form(request)
        services.cancel_order(order=order, reason=reason, now=timezone.now(), by=by, version=seen)
        return f"{order} is cancelled."

    return pages.done(request, write, back=reverse("order_page", args=(pk,)))


def _batch(request: HttpRequest, order: Order) -> dict[str, object]:
    """The order that this one joined, those that joined it, and whether a further boat may."""
    joiners = joining.joiners(order)
    may_draft = order.state == OrderState.OPEN and policies.allowed(request.user, "draft_quote")
    today = common.local_time(timezone.now(), common.loft_profile()).date()
    return {
        "joined": order.revision.quote.joins, "joiners": joiners, "batch_sails": joining.sails_of(order) if joiners else 0,
        "may_be_joined": may_draft and joining.may_be_joined(order, on=today),
    }  # fmt: skip


def _met_by_ticket(order: Order) -> dict[int, dict[str, bool]]:
    """For each ticket of an order its needs, true where met; one query."""
    by_ticket: dict[int, dict[str, bool]] = {}
    for need in Requirement.objects.filter(ticket__line__order=order):
        by_ticket.setdefault(need.ticket_id, {})[need.kind] = need.met_at is not None
    return by_ticket


def _open(order: Order, paid_minor: int) -> dict[str, object]:
    """What is still to pay, or owed back; back_minor: the most that may be paid back, of a cancelled order what was paid at all."""
    still = order.gross_minor - paid_minor
    back = paid_minor if order.state == OrderState.CANCELLED else -still
    owed = max(-still, 0) if order.state != OrderState.CANCELLED else 0
    return {
        "open_minor": max(still, 0), "owed_minor": owed, "back_minor": max(back, 0),
        "owed_plain": f"{order_papers.amount(owed, order.currency):f}",
    }  # fmt: skip


def _payment(request: HttpRequest, *, day: str = "received_on") -> tuple[Decimal, date]:
    """Amount and day from the form; InputError names both when both are wrong."""
    wrong = Collector()
    amount, on = Decimal(0), date.min
    text = request.POST.get("amount", "").strip()
    try:
        amount = Decimal(text)
        if not amount.is_finite() or abs(amount) >= 10**10:
            raise InvalidOperation
    except InvalidOperation:
        wrong.add("amount", "invalid", f"{text!r} is not an amount; write it like 1250.00, without thousands separators")
    with wrong.under(""):
        on = _day(request.POST.get(day, ""), day)
    wrong.raise_if_any()
    return amount, on


def _day(text: str, field: str) -> date:
    try:
        return date.fromisoformat(text.strip())
    except ValueError as error:
        raise problem(field, "invalid", f"{text.strip()!r} is not a day; write it like 2026-03-31") from error


def _released(count: int) -> str:
    if count == 0:
        return ""
    return "One ticket is released." if count == 1 else f"{count} tickets are released."
