"""Reads of the desk: quotes, what a link shows, the order board."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Case, Count, Exists, F, OuterRef, Prefetch, Q, QuerySet, Subquery, Sum, When

from loft.common.errors import NotFound
from loft.customers.models import Customer
from loft.orders import links
from loft.orders.models import AcceptanceLink, Order, OrderLine, Payment, Quote, Revision
from loft.orders.states import SIGNED, OrderState, RevisionState
from loft.workshop import selectors as workshop
from loft.workshop.models import Ticket
from loft.workshop.states import TicketState

_MEMBER = re.compile(r"[0-9]{1,18}-[A-Za-z0-9_-]{43}")
_HEAVY = ("pdf", "snapshot", "boats")

#: States of a revision that is not answered yet.
OPEN = (RevisionState.DRAFT, RevisionState.ISSUED)

# In the database what `shown` does: the state of the contract, else of the last revision.
_SHOWN_STATE = Subquery(
    Revision.objects.filter(quote=OuterRef("pk"))
    .order_by(Case(When(state=RevisionState.ACCEPTED, then=0), default=1), "-revision")
    .values("state")[:1]
)


@dataclass(frozen=True, slots=True)
class BoardRow:
    """One order on the board: how far its sails are, what is paid, and what is missing with who is asked."""

    order: Order
    progress: str
    sails: int
    by_state: tuple[tuple[str, int], ...]
    paid_minor: int
    missing: tuple[workshop.Missing, ...]


def quotes() -> QuerySet[Quote]:
    """Quotes, the newest first, each with its revisions from the last back (without PDF and snapshot)."""
    revisions = Revision.objects.defer(*_HEAVY).order_by("-revision")
    return Quote.objects.select_related("customer").prefetch_related(Prefetch("revisions", revisions)).order_by("-pk")


def quotes_in(state: str) -> QuerySet[Quote]:
    """Quotes of which the revision that is shown is in a state, or the change that is open."""
    open_change = Revision.objects.filter(quote=OuterRef("pk"), change=True, state__in=OPEN, state=state)
    return quotes().annotate(shown_state=_SHOWN_STATE).filter(Q(shown_state=state) | Exists(open_change))


def shown(revisions: Iterable[Revision]) -> Revision:
    """The revision that a quote is shown by: the contract where there is one, else the last; revisions: of one quote, the last first."""
    rows = list(revisions)
    return next((row for row in rows if row.state == RevisionState.ACCEPTED), rows[0])


def quote(pk: int) -> Quote:
    """A quote with its customer and revisions; NotFound when there is none."""
    row = quotes().filter(pk=pk).first()
    if row is None:
        raise NotFound(f"there is no quote {pk}")
    return row


def last_revision(quote_pk: int) -> Revision:
    """The last revision of a quote, whole; NotFound when there is no such quote."""
    rows = Revision.objects.select_related("quote__customer", "link").filter(quote__pk=quote_pk)
    row = rows.order_by("-revision").first()
    if row is None:
        raise NotFound(f"there is no quote {quote_pk}")
    return row


def revision_to_open(quote_pk: int) -> Revision:
    """The revision with which a quote's page opens: the last, unless that is a change that came to nothing; then the contract."""
    last = last_revision(quote_pk)
    if not last.change or last.state in (*OPEN, RevisionState.ACCEPTED):
        return last
    return Revision.objects.select_related("quote__customer", "link").get(quote=quote_pk, state=RevisionState.ACCEPTED)


def revision_for_token(token: str, *, now: datetime) -> Revision:
    """The revision behind a link, issued and valid or already answered; NotFound for anything else, without saying why."""
    found = AcceptanceLink.objects.filter(token_sha256=links.fingerprint(token), revoked_at__isnull=True)
    link = found.select_related("revision__quote__customer").defer("revision__pdf").first()
    if link is None or not _may_be_shown(link.revision, now):
        raise NotFound("there is no open quote behind this link")
    return link.revision


def _may_be_shown(revision: Revision, now: datetime) -> bool:
    if revision.state in (*SIGNED, RevisionState.DECLINED):
        return True
    return revision.state == RevisionState.ISSUED and revision.expires_at is not None and now <= revision.expires_at


def line_for_member(token: str) -> OrderLine:
    """The line behind a member's link; NotFound for anything else, without saying why. Only an association's order has such links."""
    pk = token.partition("-")[0]
    rows = OrderLine.objects.select_related("order__customer", "order__revision__quote", "order__revision__link", "ticket__design")
    rows = rows.defer("order__revision__pdf", "ticket__sail")
    found = rows.filter(pk=int(pk), order__customer__kind=Customer.Kind.ASSOCIATION).first() if _MEMBER.fullmatch(token) else None
    link = None if found is None else link_of_order(found.order)
    if found is None or link is None or link.revoked_at is not None:
        raise NotFound("there is no sail behind this link")
    if not links.same(token, links.member_token(line=found.pk, order=found.order_id, nonce=link.nonce)):
        raise NotFound("there is no sail behind this link")
    return found


def member_token(line: OrderLine) -> str:
    """The token of the page of one member of an association: that of the first sail of his boat."""
    return links.member_token(line=suit_of(line)[0].pk, order=line.order_id, nonce=link_of_order(line.order).nonce)


def suits(lines: Iterable[OrderLine]) -> list[list[OrderLine]]:
    """The lines of an order, those of one boat and owner together, where the first of them stands."""
    found: dict[tuple[str, str], list[OrderLine]] = {}
    for line in lines:
        found.setdefault((line.boat.casefold(), line.owner.casefold()), []).append(line)
    return list(found.values())


def suit_of(line: OrderLine) -> list[OrderLine]:
    """Every sail of the boat of this line, with its ticket and design, in the order of the lines."""
    rows = OrderLine.objects.filter(order=line.order_id).select_related("ticket__design").defer("ticket__sail").order_by("position")
    return next(suit for suit in suits(rows) if line in suit)


def link_of_order(order: Order) -> AcceptanceLink:
    """The link by which the order was opened: later changes have links of their own, and members keep theirs."""
    opened = AcceptanceLink.objects.filter(revision__quote__revisions__order=order, revision__state__in=SIGNED)
    return opened.order_by("revision__revision")[0]


def member_links(order: Order, *, base_url: str) -> list[tuple[OrderLine, str]]:
    """Every line of an association's order with the address of its member's page, one for all sails of his boat; none for others."""
    if order.customer.kind != Customer.Kind.ASSOCIATION:
        return []
    nonce, lines = link_of_order(order).nonce, list(order.lines.all())
    first = {line.pk: suit[0].pk for suit in suits(lines) for line in suit}
    tokens = [(line, links.member_token(line=first[line.pk], order=order.pk, nonce=nonce)) for line in lines]
    return [(line, links.member_address(base_url=base_url, token=token)) for line, token in tokens]


def orders(*, state: str = "") -> QuerySet[Order]:
    """Orders by the day promised, each with its lines and their tickets (without frozen sails)."""
    lines = OrderLine.objects.select_related("ticket").defer("ticket__sail").order_by("position")
    rows = Order.objects.select_related("customer", "revision__quote").defer(*(f"revision__{name}" for name in _HEAVY))
    rows = rows.prefetch_related(Prefetch("lines", lines)).annotate(paid_minor=Sum("payments__amount_minor", default=0))
    rows = rows.order_by(F("due_on").asc(nulls_last=True), "number")
    return rows.filter(state=state) if state else rows


def order(pk: int) -> Order:
    """An order with its lines and tickets; NotFound when there is none."""
    row = orders().filter(pk=pk).first()
    if row is None:
        raise NotFound(f"there is no order {pk}")
    return row


def order_of_quote(quote_pk: int) -> Order:
    """The order that a quote has become; NotFound while it has not."""
    row = Order.objects.filter(revision__quote__pk=quote_pk).first()
    if row is None:
        raise NotFound(f"quote {quote_pk} has no order")
    return row


def open_change(order: Order) -> Revision | None:
    """The change of an order that is drafted or issued and not answered; None when there is none."""
    rows = Revision.objects.filter(quote__revisions__order=order, change=True, state__in=OPEN).select_related("quote")
    return rows.defer(*_HEAVY).first()


def changes(order: Order) -> QuerySet[Revision]:
    """Every change of an order that was ever drafted, the last one first."""
    rows = Revision.objects.filter(quote__revisions__order=order, change=True).select_related("quote__customer")
    return rows.defer(*_HEAVY).order_by("-revision")


def change(order: Order, number: int) -> Revision:
    """One change of an order by the number of its revision; NotFound when there is none."""
    row = changes(order).filter(revision=number).first()
    if row is None:
        raise NotFound(f"{order} has no change with the revision {number}")
    return row


def payment(*, order_pk: int, pk: int) -> Payment:
    """One payment of an order, with the order; NotFound when there is none."""
    rows = Payment.objects.select_related("order__customer", "order__revision__quote").defer("order__revision__pdf")
    row = rows.filter(order__pk=order_pk, pk=pk).first()
    if row is None:
        raise NotFound(f"order {order_pk} has no payment {pk}")
    return row


def last_issued_before(revision: Revision) -> Revision | None:
    """The revision of the same quote that the customer had before this one, of a change the last one that he signed; None without one."""
    earlier = Revision.objects.filter(quote=revision.quote_id, revision__lt=revision.revision, issued_at__isnull=False)
    if revision.change:
        earlier = earlier.filter(accepted_at__isnull=False)
    return earlier.exclude(snapshot=b"").defer("pdf").order_by("-revision").first()


def line(*, order_pk: int, position: int) -> OrderLine:
    """One line of an order with its ticket; NotFound when there is none."""
    row = OrderLine.objects.select_related("order", "ticket__design").filter(order__pk=order_pk, position=position).first()
    if row is None:
        raise NotFound(f"order {order_pk} has no line {position}")
    return row


def order_board() -> tuple[BoardRow, ...]:
    """Every open order with its progress and what it waits for; the number of queries does not grow with the orders."""
    rows = list(orders(state=OrderState.OPEN))
    open_tickets = Ticket.objects.filter(line__order__state=OrderState.OPEN).exclude(state=TicketState.SCRAPPED)
    missing = workshop.missing(open_tickets)
    return tuple(_board_row(row, tuple(m for m in missing if m.ticket.startswith(f"{row.reference}-"))) for row in rows)


def board_row(row: Order) -> BoardRow:
    """One order as the board shows it."""
    return _board_row(row, workshop.missing(Ticket.objects.filter(line__order=row).exclude(state=TicketState.SCRAPPED)))


def progress(states: Iterable[str]) -> str:
    """How far an order is, read upwards from its tickets: waiting, released, in work or ready."""
    live = [s for s in states if s != TicketState.SCRAPPED]
    if live and all(s == TicketState.READY for s in live):
        return "ready"
    if any(s in (TicketState.IN_WORK, TicketState.READY) for s in live):
        return "in work"
    if any(s == TicketState.RELEASED for s in live):
        return "released"
    return "waiting"


def count_by_state() -> dict[str, int]:
    """How many quotes the list shows for each state: by the revision that is shown, and by the change that is open."""
    found = Counter(dict(Quote.objects.annotate(state=_SHOWN_STATE).values_list("state").annotate(n=Count("pk")).order_by()))
    changes_of = Revision.objects.filter(change=True, state__in=OPEN).values_list("state").annotate(n=Count("pk")).order_by()
    return dict(found + Counter(dict(changes_of)))


def unanswered(now: datetime) -> QuerySet[Revision]:
    """Issued quotes that the customer may still accept, the first to end first."""
    still = Q(state=RevisionState.ISSUED, expires_at__gte=now)
    return Revision.objects.filter(still).select_related("quote__customer").defer(*_HEAVY).order_by("expires_at")


def _board_row(row: Order, missing: tuple[workshop.Missing, ...]) -> BoardRow:
    states = [line.ticket.state for line in row.lines.all()]
    by_state = tuple((state.label, states.count(state)) for state in TicketState if state in states)
    paid: int = getattr(row, "paid_minor")  # noqa: B009  annotated by orders()
    return BoardRow(row, progress(states), len(states), by_state, paid, missing)
