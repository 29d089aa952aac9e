"""Pricing a draft again with one cloth in place of another: a new revision, in one step."""

from __future__ import annotations

from datetime import date, datetime

from django.contrib.auth.models import User

from costing.errors import InputError
from loft.common import policies
from loft.common.errors import Conflict
from loft.customers import boats_csv
from loft.orders import selectors, substitutes
from loft.orders.models import Quote, Revision
from loft.orders.services.drafting import revise
from loft.orders.states import RevisionState


def substitute(*, quote: Quote, old: str, new: str, on: date, now: datetime, by: User | None, seen: int) -> Revision:
    """A new draft of a quote in draft, with `new` for `old`, priced at the lists of the day.

    InputError: every reason why the cloth cannot stand in, or cannot be priced. Conflict when the quote is issued or accepted: that takes
    a revision and the customer's yes. Stale when somebody revised it meanwhile.
    """
    policies.require(by, "draft_quote")
    last = selectors.last_revision(quote.pk)
    if last.state != RevisionState.DRAFT:
        raise Conflict(f"{quote} is {last.get_state_display()}: revise it, so that the customer can say yes to the other cloth")
    choice = substitutes.choice(last, old=old, new=new, on=on)
    if choice.reasons:
        raise InputError(choice.reasons)
    boats = boats_csv.with_cloth(
        last.boats.encode(), old=old, new=new, default=choice.default, old_colour=next(iter(choice.old.colours), ""),
        defaults=choice.defaults,
    )  # fmt: skip
    return revise(quote=quote, boats=boats, on=on, now=now, by=by, seen=seen)
