"""What the desk's documents are made from."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from django.db.models import QuerySet, Sum

from costing import money, quote
from costing.quote import Design, Pattern, PricedBatch, PricedSail, non_class, snapshot
from loft import documents
from loft.common import selectors as common
from loft.common.errors import NotFound
from loft.common.models import LoftProfile
from loft.customers.models import Customer
from loft.documents.content import Balance, CostSheetDocument, QuoteDocument, TicketDocument
from loft.orders import selectors
from loft.orders.batch_lays import batch_lays
from loft.orders.models import OrderLine, Payment, Revision
from loft.orders.states import RevisionState
from loft.workshop import selectors as workshop
from loft.workshop.paper import letterhead

#: States of an issued revision in which a reprint of its paper must say that it no longer holds.
_NO_LONGER_HOLDS = (RevisionState.SUPERSEDED, RevisionState.CANCELLED, RevisionState.EXPIRED)


@dataclass(frozen=True, slots=True)
class Offer:
    """A priced batch with the designs of its sails."""

    batch: PricedBatch
    designs: Mapping[str, Design]


def thaw(revision: Revision) -> PricedBatch:
    """The batch of a revision, exactly as it was frozen; NotFound when it was erased."""
    if not revision.snapshot:
        raise NotFound("What this revision offered was erased with its customer's data; its figures are kept.")
    return snapshot.thaw_batch(bytes(revision.snapshot))


def offer(revision: Revision) -> Offer:
    """The batch of a revision with the designs of its sails."""
    batch = thaw(revision)
    return Offer(batch, workshop.designs_by_key({sail.design_key for sail in batch.sails}))


def quote_document(
    figures: Offer,
    customer: Customer,
    profile: LoftProfile,
    *,
    number: str,
    revision: int,
    issued_on: date | None = None,
    valid_until: date | None = None,
    link: str = "",
    previous: tuple[int, PricedBatch] | None = None,
    stamp: str = "",
    balance: Balance | None = None,
    settled: Mapping[int, tuple[str, ...]] | None = None,
) -> QuoteDocument:
    """The quote as the customer reads it; number, days and link are empty for a draft. previous: of `previous_offer`; balance, settled:
    likewise.
    """
    return QuoteDocument(
        letterhead=letterhead(profile),
        number=number,
        revision=revision,
        issued_on=issued_on,
        valid_until=valid_until,
        customer_name=customer.name,
        customer_address=customer.address_lines,
        batch=figures.batch,
        designs=figures.designs,
        link=link,
        previous=previous,
        stamp=stamp,
        balance=balance,
        settled=settled or {},
    )


def previous_offer(revision: Revision) -> tuple[int, PricedBatch] | None:
    """Number and batch of the revision that the customer had before, so that what is new can be marked."""
    earlier = selectors.last_issued_before(revision)
    return None if earlier is None else (earlier.revision, thaw(earlier))


def settled(revision: Revision, batch: PricedBatch) -> Mapping[int, tuple[str, ...]]:
    """The lines of a change that were sold as NON-CLASS on the floor and stay so by it, with why; empty for a quote."""
    if not revision.change:
        return {}
    lines = OrderLine.objects.filter(order__revision__quote=revision.quote_id).order_by("position")
    rows = lines.values_list("position", "ticket__not_legal", "ticket__design__key")
    sails = {line: sail for line, sail in enumerate(batch.sails, start=1) if not sail.breaches}
    return {line: tuple(told) for line, told, design in rows if told and line in sails and sails[line].design_key == design}


def balance(revision: Revision, *, until: datetime | None = None) -> Balance | None:
    """What a change does to the money of its order; None for a quote. until: payments recorded later do not count."""
    before = selectors.last_issued_before(revision) if revision.change else None
    if before is None:
        return None
    received = Payment.objects.filter(order__revision__quote=revision.quote_id)
    if until is not None:
        received = received.filter(recorded_at__lte=until)
    return balance_of(received, before.gross_minor, revision.gross_minor, revision.currency)


def balance_of(received: QuerySet[Payment], before: int, after: int, currency: str) -> Balance:
    """The same of totals in minor units."""
    paid = received.aggregate(total=Sum("amount_minor", default=0))["total"]
    digits = money.currency(currency).digits
    return Balance(*(Decimal(minor).scaleb(-digits) for minor in (before, after, paid)))


def planned_tickets(
    figures: Offer, patterns: Iterable[Pattern], profile: LoftProfile, *, reference: str
) -> tuple[TicketDocument, ...]:  # fmt: skip
    """The work sheets as they would be, of a batch that is not ordered yet; patterns: those of its sails."""
    by_code = {p.code: p for p in patterns}
    sails = enumerate(figures.batch.sails, start=1)
    return tuple(_planned(figures, sail, by_code, profile, reference, f"{reference}-{position:02d}") for position, sail in sails)


def _planned(
    figures: Offer, sail: PricedSail, patterns: Mapping[str, Pattern], profile: LoftProfile, reference: str, ticket: str
) -> TicketDocument:  # fmt: skip
    batch = figures.batch
    quoted, pattern = batch.pattern_of(sail), patterns[batch.pattern_of(sail).code]
    label = None if sail.breaches else quoted.royalty_label
    return TicketDocument(
        letterhead=letterhead(profile), order_number=reference, ticket_number=ticket, class_name=batch.class_name,
        pattern_label=pattern_label(batch, sail), due_on=None, sail=sail, design=figures.designs[sail.design_key],
        plans=quote.ticket_plan(sail, pattern), waiting_for=("not ordered yet",), insignia=batch.insignia,
        royalty_label_place=label.place if label is not None and label.required else "", edition=batch.edition, by_eye=quoted.by_eye,
        not_legal=sail.not_legal, left_out=non_class.label_materials(pattern.kit) if sail.breaches else frozenset(),
    )  # fmt: skip


def pattern_label(batch: PricedBatch, sail: PricedSail) -> str:
    """The sail's pattern and its version in words."""
    pattern = batch.pattern_of(sail)
    return f"{pattern.name} ({pattern.code} version {pattern.version})"


def cost_sheet(figures: Offer, profile: LoftProfile, *, reference: str) -> CostSheetDocument:
    """The loft's own view of a batch, with every cost."""
    return CostSheetDocument(
        letterhead=letterhead(profile), reference=reference, batch=figures.batch, designs=figures.designs,
        batch_lays=batch_lays(figures.batch, figures.designs),
    )  # fmt: skip


def quote_pdf(revision: Revision, profile: LoftProfile) -> bytes:
    """The PDF that was sent, byte for byte; for a draft, one drawn now; what no longer holds is drawn from its snapshot and stamped so."""
    if revision.pdf and revision.state not in _NO_LONGER_HOLDS:
        return bytes(revision.pdf)
    if revision.issued_at is not None and not revision.snapshot:
        raise NotFound("This revision's papers were erased with its customer's data; its figures are kept.")
    return documents.quote_pdf(_reprint(revision, profile))


def _reprint(revision: Revision, profile: LoftProfile) -> QuoteDocument:
    """A draft as it stands, or an issued revision that no longer holds: with its days, its stamp, and without its dead link."""
    parent, issued = revision.quote, revision.issued_at
    figures = offer(revision)
    return quote_document(
        figures, parent.customer, profile, number=parent.reference if issued or revision.state == RevisionState.DRAFT else "",
        revision=revision.revision, issued_on=common.local_time(issued, profile).date() if issued else None,
        valid_until=revision.valid_until, previous=previous_offer(revision),
        stamp=revision.state.upper() if issued else "", balance=balance(revision, until=issued), settled=settled(revision, figures.batch),
    )  # fmt: skip


def cost_sheet_pdf(revision: Revision, profile: LoftProfile) -> bytes:
    """The loft's own view of a revision."""
    return documents.cost_sheet_pdf(cost_sheet(offer(revision), profile, reference=revision.quote.reference or "draft"))
