"""Pricing a quote again with one cloth in place of another: a new revision or a change of its order, in one step."""

from __future__ import annotations

from datetime import date, datetime

from django.contrib.auth.models import User

from costing.errors import InputError
from loft.common import policies
from loft.common.errors import Stale
from loft.customers import boats_csv
from loft.orders import order_changes, selectors, substitutes
from loft.orders.models import Order, Quote, Revision
from loft.orders.services.changing import draft_change
from loft.orders.services.drafting import revise


def substitute(*, quote: Quote, old: str, new: str, on: date, now: datetime, by: User | None, seen: int) -> Revision:
    """A new draft with `new` for `old`: of a quote, at the lists of the day; of one that was accepted, a change of its order.

    Either is issued next, and what was issued before holds no longer only then where it was signed: the customer says yes to the change.
    InputError: every reason why the cloth cannot stand in, or cannot be priced. Stale when somebody revised it meanwhile.
    """
    policies.require(by, "draft_quote")
    last = selectors.last_revision(quote.pk)
    if seen != last.revision:
        raise Stale(f"{quote} was revised by somebody else", version=str(last.revision), stored={})
    order = Order.objects.select_related("revision").filter(revision__quote=quote).first()
    if order is None:
        return revise(quote=quote, boats=_with_cloth(last, last.boats.encode(), old, new, on), on=on, now=now, by=by, seen=seen)
    boats = _with_cloth(order.revision, order_changes.current_list(order), old, new, on)
    return draft_change(order=order, boats=boats, now=now, by=by)


def _with_cloth(revision: Revision, boats: bytes, old: str, new: str, on: date) -> bytes:
    choice = substitutes.choice(revision, old=old, new=new, on=on)
    if choice.reasons:
        raise InputError(choice.reasons)
    return boats_csv.with_cloth(
        boats, old=old, new=new, default=choice.default, old_colour=next(iter(choice.old.colours), ""), defaults=choice.defaults
    )
