"""How many sails a batch has on the day that counts, and the batch of an order that further boats join late.

A batch is an order with the orders of those that joined it; a sail that was given up counts no longer, nor does a cancelled order.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.db.models import Q

from costing.errors import Collector, InputError, problem
from costing.quote import PricedBatch, Terms
from loft.catalogue import selectors as catalogue
from loft.common.errors import Conflict
from loft.orders import paper
from loft.orders.models import Order, OrderLine, Quote, Revision
from loft.orders.states import OrderState, RevisionState
from loft.workshop.states import TicketState

_OWN = "a further boat gets a quote of its own"


class TierMissed(Conflict):
    """Fewer sails are left than the price of a quote is for; nothing was accepted."""


@dataclass(frozen=True, slots=True)
class Joined:
    """The batch that a quote joins: the reference of its order, how many sails it has, and the code of its terms."""

    order: str
    sails: int
    terms: str


def batch_order(order: Order) -> Order:
    """The order that a batch began with: itself, or the one that it joined."""
    return order.revision.quote.joins or order


def sails_of(order: Order) -> int:
    """The sails of a batch that are made: of its order and of the orders that joined it."""
    lines = OrderLine.objects.filter(Q(order=order) | Q(order__revision__quote__joins=order))
    return lines.exclude(order__state=OrderState.CANCELLED).exclude(ticket__state=TicketState.SCRAPPED).count()


def batch_of(order: Order, *, on: date, terms: str = "") -> Joined:
    """The batch of an order, to be joined at the terms of its code as they stand on a day.

    InputError: the order has ended, the terms allow no late joiner or took their last orders, or other terms are asked for.
    """
    code = paper.thaw(order.revision).terms_code
    wrong = Collector()
    if terms and terms != code:
        wrong.add("terms", "other_terms", f"a boat joins {order} on its terms {code}, not on {terms}")
    for told in refusals(order, terms_of(code, on=on), on=on):
        wrong.add("joins", "not_possible", told)
    wrong.raise_if_any()
    return Joined(order.reference, sails_of(order), code)


def of_quote(quote: Quote, *, on: date, terms: str | None = None) -> Joined | None:
    """The same of the order that a quote joins; None for a quote of its own."""
    return None if quote.joins is None else batch_of(quote.joins, on=on, terms=terms or "")


def as_agreed(batch: PricedBatch) -> Joined | None:
    """The batch that a quote joined, with the number that its price was made for."""
    return Joined(batch.joins, batch.joined, batch.terms_code) if batch.joins else None


def joiners(order: Order) -> tuple[Order, ...]:
    """The orders that joined the batch of this one, the earliest first."""
    return tuple(Order.objects.filter(revision__quote__joins=order).only("number").order_by("number"))


def may_be_joined(order: Order, *, on: date) -> bool:
    """Whether a boat may join the batch of an order on a day."""
    try:
        batch_of(batch_order(order), on=on)
    except InputError:
        return False
    return True


def refusals(order: Order, terms: Terms, *, on: date) -> tuple[str, ...]:
    """Why no boat may join an order on a day, each in a sentence."""
    told = []
    if order.state != OrderState.OPEN:
        told.append(f"{order} is {order.get_state_display()}: {_OWN}")
    if not terms.late_joiners:
        told.append(f"terms {terms.code} of {order} let no boat join late: {_OWN}")
    if terms.cut_off is not None and on > terms.cut_off:
        told.append(f"terms {terms.code} of {order} took orders until the end of {terms.cut_off:%d %b %Y}: {_OWN}")
    return tuple(told)


def terms_of(code: str, *, on: date) -> Terms:
    """The terms of a code as they stand on a day; InputError when there are none."""
    for found in catalogue.terms(on=on):
        if found.code == code:
            return found
    raise problem("terms", "unknown_terms", f"there are no terms {code} on {on}")


def check_number(revision: Revision, batch: PricedBatch, wrong: Collector) -> None:
    """Add why a draft cannot be issued at the number of sails that is left; a change of an order keeps what was agreed."""
    if revision.change:
        return
    joined = 0
    if revision.quote.joins_id is not None:
        order = Order.objects.get(pk=revision.quote.joins_id)
        joined = sails_of(order)
        if order.state != OrderState.OPEN:
            wrong.add("joins", "not_possible", f"{order} is {order.get_state_display()}: {_OWN}")
            return
        if joined != batch.joined:
            told = f"the batch of {order} has {_sails(joined)} by now and this quote was priced for {batch.joined}"
            wrong.add("joins", "other_number", f"{told}: re-price it at the number that is left")
    left = len(batch.sails) + joined
    if left < batch.minimum_sails:
        there = "there is 1" if left == 1 else f"there are {left}"
        told = f"terms {batch.terms_code} ask for at least {batch.minimum_sails} sails and {there}"
        wrong.add("terms", "below_minimum", f"{told}: {_then(batch)}")


def _then(batch: PricedBatch) -> str:
    """What to do with a quote whose terms ask for more sails than are left."""
    if batch.joins:
        return _OWN
    return f"re-price at the number that is left, on terms {batch.below_minimum}" if batch.below_minimum else "revise it on other terms"


def told(revision: Revision, batch: PricedBatch) -> tuple[str, ...]:
    """What the desk should know of the number of sails in a draft or an open offer, each in a sentence."""
    if revision.state == RevisionState.DRAFT:
        wrong = Collector()
        check_number(revision, batch, wrong)
        return tuple(p.message for p in wrong)
    short = missed(revision, batch) if revision.state == RevisionState.ISSUED else ""
    return (f"{short}: it can no longer be accepted, re-price it at the number that is left",) if short else ()


def missed(revision: Revision, batch: PricedBatch) -> str:
    """Why a quote can no longer be accepted at its price, for its customer to read; empty while it can."""
    order, needed = revision.quote.joins, max(batch.minimum_sails, batch.tier_from)
    left = len(batch.sails) + (sails_of(order) if order is not None else 0)
    if revision.change or left >= needed:
        return ""
    where = f"the batch of order {order} with this quote has {_sails(left)} left" if order else f"it has {_sails(left)}"
    return f"{where}, and its price holds from {needed}"


def refuse_missed(revision: Revision, batch: PricedBatch) -> None:
    """TierMissed when fewer sails are left than the price is for; inside the transaction that accepts, which holds the joined order."""
    if revision.quote.joins_id is not None:
        Order.objects.select_for_update().filter(pk=revision.quote.joins_id).values_list("pk").first()
    told = missed(revision, batch)
    if told:
        raise TierMissed(told)


def _sails(count: int) -> str:
    return "1 sail" if count == 1 else f"{count} sails"
