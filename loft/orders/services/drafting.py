"""Drafting a quote: priced outside the transaction, written in a few statements inside it."""

from __future__ import annotations

from datetime import date, datetime

from django.contrib.auth.models import User
from django.db import IntegrityError, transaction

from costing import money
from costing.quote import PricedBatch, snapshot
from loft.common import audit, idempotency, policies
from loft.common.errors import Conflict, Stale
from loft.common.states import move_to
from loft.customers import services as customers
from loft.customers.models import Customer
from loft.orders import joining, pricing
from loft.orders.models import AcceptanceLink, Order, Quote, Revision
from loft.orders.states import REVISION, RevisionState
from loft.workshop import services as workshop
from loft.workshop.models import Design

#: What the audit keeps of a revision: figures, no names.
AUDITED = ("revision", "pattern_code", "terms_code", "sails", "currency", "net_minor", "gross_minor")


def draft_batch(
    *,
    customer: Customer,
    pattern: str,
    boats: bytes,
    terms: str = "",
    on: date,
    now: datetime,
    by: User | None,
    made_at: str = "",
    at_list: bool = False,
    joins: Order | None = None,
) -> Revision:
    """Price a customer's list of boats and keep it as the first revision of a new quote, in draft.

    customer: stored already, or a new one that is stored with its quote. boats: CSV as described in loft.customers.boats_csv.
    at_list: sold at the loft's list price, not costed. Raises InputError with every problem of every row; nothing is stored then.
    made_at: where the quote will be found ("/quotes/{}/"), noted for a request that is sent twice. joins: an order whose batch these boats
    join, on its terms and at the tier that they reach together; InputError says why they cannot.
    """
    policies.require(by, "draft_quote")
    order = None if joins is None else joining.batch_order(joins)
    joined = None if order is None else joining.batch_of(order, on=on, terms=terms)
    terms = joined.terms if joined else terms
    priced = pricing.price(
        customer=customer.name, buyer=customer.buyer, pattern=pattern, boats=boats, terms=terms, on=on, at_list=at_list,
        exempt=customer.tax_exempt, joined=joined,
    )  # fmt: skip
    row, designs = frozen(priced, pattern=pattern, boats=boats, terms=terms, now=now)
    try:
        with transaction.atomic(), audit.together():
            if customer.pk is None:
                customers.store_new(customer, by=by)
            row.quote = Quote.objects.create(customer=customer, joins=order, created_at=now, created_by=by)
            row.revision = 1
            store(row, designs, priced, on=on, by=by)
            after = audit.values(row, *AUDITED) | ({"joins": order.reference} if order else {})
            audit.record("draft", row.quote, by=by, after=after)
            if made_at:
                idempotency.made(made_at.format(row.quote.pk))
    except IntegrityError as error:
        raise Conflict("somebody stored one of these boats at the same moment: send the list again") from error
    return row


def revise(
    *, quote: Quote, boats: bytes = b"", pattern: str = "", terms: str | None = None, on: date, now: datetime, made_at: str = "",
    by: User | None = None, seen: int | None = None, at_list: bool | None = None,
) -> Revision:  # fmt: skip
    """Draft a new revision of a quote, priced today; what was issued before is superseded and its link is dead.

    What is left out is taken from the last revision. Conflict when the quote has been accepted, or somebody revised it meanwhile.
    made_at: the address to answer with when the same request is sent twice. seen: the number of the revision that was looked at; Stale
    when there is a later one.
    """
    policies.require(by, "draft_quote")
    last = quote.revisions.order_by("-revision").select_related("quote__customer", "quote__joins__revision").defer("pdf", "snapshot")[0]
    if seen is not None and seen != last.revision:
        stored = {"pattern": last.pattern_code, "terms": last.terms_code, "boats": last.boats}
        raise Stale(f"{quote} has a later revision than the one that you revised", version=str(last.revision), stored=stored)
    if quote.revisions.filter(state=RevisionState.ACCEPTED).exists():
        raise Conflict(f"{quote} has been accepted: it can no longer be revised; draft a change of its order")
    pattern, boats = pattern or last.pattern_code, boats or last.boats.encode()
    joined = joining.of_quote(last.quote, on=on, terms=terms)
    terms = last.terms_code if terms is None else terms
    terms = joined.terms if joined else terms
    customer, at_list = last.quote.customer, last.at_list if at_list is None else at_list
    priced = pricing.price(
        customer=customer.name, buyer=customer.buyer, pattern=pattern, boats=boats, terms=terms, on=on, at_list=at_list,
        exempt=customer.tax_exempt, joined=joined,
    )  # fmt: skip
    row, designs = frozen(priced, pattern=pattern, boats=boats, terms=terms, now=now)
    row.quote, row.revision = quote, last.revision + 1
    try:
        with transaction.atomic():
            supersede(last, now=now)
            store(row, designs, priced, on=on, by=by, again=True)
            audit.record("revise", row.quote, by=by, before=audit.values(last, *AUDITED), after=audit.values(row, *AUDITED))
            if made_at:
                idempotency.made(made_at)
    except IntegrityError as error:
        raise Conflict(f"{quote} was revised by somebody else") from error
    return row


def frozen(priced: pricing.Priced, *, pattern: str, boats: bytes, terms: str, now: datetime) -> tuple[Revision, list[Design]]:
    """The rows to write, frozen before the transaction begins."""
    batch = priced.result.batch
    made_by = {sail.design_key: sail.pattern_code for sail in batch.sails}
    designs = [
        Design(key=key, pattern_code=made_by[key], variant=d.variant, data=snapshot.freeze_design(d), created_at=now)
        for key, d in priced.result.designs.items()
        if key in priced.fresh_keys
    ]
    cur = priced.house.currency
    revision = Revision(
        state=RevisionState.DRAFT, pattern_code=pattern, terms_code=terms, boats=boats.decode("utf-8-sig"), sails=len(batch.sails),
        currency=batch.currency, net_minor=money.minor_units(batch.totals.net, cur), gross_minor=money.minor_units(batch.totals.gross, cur),
        margin=None if batch.margin is None else round(batch.margin, 8), below_floor=needs_reason(batch),
        snapshot=snapshot.freeze_batch(batch), drafted_at=now, at_list=bool(batch.price_basis),
        non_class=any(sail.breaches for sail in batch.sails),
    )  # fmt: skip
    return revision, designs


def store(row: Revision, designs: list[Design], priced: pricing.Priced, *, on: date, by: User | None, again: bool = False) -> None:
    """Write what `frozen` made, inside the transaction.

    again: an earlier list is priced again, whose mail addresses may have been corrected since: they replace none.
    """
    customers.save_boats(
        class_code=priced.house.class_rule.code,
        rows=priced.rows,
        taken_on=on,
        how="the customer's list",
        by=by,
        doubts=priced.doubts,
        new_addresses=not again,
        of_list=row.list_name,
    )
    workshop.keep_designs(designs)
    row.save(force_insert=True)


def needs_reason(batch: PricedBatch) -> bool:
    """Whether issuing takes the owner's word: below the margin floor, or something in it is given away."""
    given_away = any(sail.margin is None for sail in batch.sails)
    return given_away or batch.margin is None or batch.margin < batch.margin_floor


def supersede(last: Revision, *, now: datetime) -> None:
    """End a draft or an issued revision, because a later one takes its place; its link is dead."""
    if last.state in (RevisionState.DRAFT, RevisionState.ISSUED):
        move_to(last, RevisionState.SUPERSEDED, REVISION, superseded_at=now)
        AcceptanceLink.objects.filter(revision=last, revoked_at__isnull=True).update(revoked_at=now)
