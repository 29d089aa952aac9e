"""The ledger of sails that were given away, from what was accepted: nothing of it is kept twice."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from costing.quote.gifts import Gift, LedgerRow, ledger
from loft.catalogue import selectors as catalogue
from loft.common import selectors as common
from loft.orders import paper
from loft.orders.models import Order
from loft.orders.states import OrderState


def gift_ledger(*, on: date) -> tuple[LedgerRow, ...]:
    """Every sail given away in an order that was not cancelled, flagged by the bound of a day's house standards."""
    return ledger(_gifts(), catalogue.gift_flag(on=on))


def _gifts() -> Iterator[Gift]:
    """Only revisions that took a reason can have one: the others are not read."""
    profile = common.loft_profile()
    rows = Order.objects.filter(revision__below_floor=True).exclude(state=OrderState.CANCELLED).select_related("revision")
    for order in rows.defer("revision__pdf"):
        accepted = order.revision.accepted_at
        assert accepted is not None  # an order's revision is accepted
        day = common.local_time(accepted, profile).date()
        for sail in paper.thaw(order.revision).sails:
            if sail.given_as:
                yield Gift(sail.owner, sail.given_as, sail.label, order.reference, day, sail.cost)
