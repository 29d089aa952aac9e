"""Boats that drop out before the quote is accepted: it is priced again at the number that is left."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date, datetime

from django.contrib.auth.models import User

from costing.errors import problem
from costing.quote import PricedBatch
from loft.common import policies
from loft.common.errors import Conflict, Stale
from loft.customers import list_changes
from loft.orders import joining, paper, selectors
from loft.orders.models import Quote, Revision
from loft.orders.services.drafting import revise


def reprice_left(
    *, quote: Quote, lines: Collection[int], today: date, now: datetime, by: User | None, seen: int | None = None, made_at: str = ""
) -> Revision:  # fmt: skip
    """A new draft of a quote without the boats of these lines, at the tier that the rest reaches; what was issued is superseded.

    The day of its prices stays while the offer is open: a boat that drops out moves the number, not the lists. Below the minimum of the
    terms it is priced on those that they name for that. InputError: a line that is not there, no boat left, or no such terms. Conflict for
    what has been accepted. seen, made_at: as for `revise`.
    """
    policies.require(by, "draft_quote")
    last = selectors.last_revision(quote.pk)
    if seen is not None and seen != last.revision:
        raise Stale(f"{quote} was revised by somebody else", version=str(last.revision), stored={})
    if last.change:
        raise Conflict(f"{quote} has been accepted: a boat that drops out of an order is given up on its ticket")
    batch = paper.thaw(last)
    given = last.boats.encode()
    gone = _rows(batch, given, lines)
    left = len(batch.sails) - len(gone)
    if left == 0:
        raise problem("lines", "nobody_left", "no boat would be left: cancel the quote instead")
    on = batch.priced_on if _is_open(last, now) else today
    boats = list_changes.without_rows(given, gone) if gone else given
    return revise(quote=quote, boats=boats, terms=_terms(quote, batch, left, on), on=on, now=now, by=by, seen=seen, made_at=made_at)


def _rows(batch: PricedBatch, boats: bytes, lines: Collection[int]) -> frozenset[int]:
    """The rows of the list that are the sails of the boats of these lines."""
    unknown = sorted(set(lines) - set(range(1, len(batch.sails) + 1)))
    if unknown:
        raise problem("lines", "unknown_line", f"there is no line {unknown[0]}: the quote has lines 1 to {len(batch.sails)}")
    dropped, rows = (boat for boat in batch.boats() if any(number in lines for number, _ in boat)), list_changes.rows_of_sails(boats)
    return frozenset(rows[number - 1] for boat in dropped for number, _ in boat)


def _is_open(last: Revision, now: datetime) -> bool:
    """Whether the customer may still count on the prices."""
    in_time = last.expires_at is None or now <= last.expires_at
    return last.state in selectors.OPEN and in_time


def _terms(quote: Quote, batch: PricedBatch, left: int, on: date) -> str:
    own = joining.terms_of(batch.terms_code, on=on)
    count = left + (joining.sails_of(quote.joins) if quote.joins else 0)
    if count >= own.minimum_sails:
        return own.code
    if quote.joins is None and own.below_minimum:
        return own.below_minimum
    told = f"terms {own.code} ask for at least {own.minimum_sails} sails and {count} would be left"
    then = "draft a quote of its own" if quote.joins else "revise the quote on other terms"
    raise problem("terms", "below_minimum", f"{told}: {then}")
