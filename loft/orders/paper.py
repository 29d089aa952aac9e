"""What the desk's documents are made from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from costing.quote import Design, PricedBatch, snapshot
from loft.common.models import LoftProfile
from loft.customers.models import Customer
from loft.documents.content import CostSheetDocument, QuoteDocument
from loft.orders.models import Revision
from loft.workshop import selectors as workshop
from loft.workshop.paper import letterhead


@dataclass(frozen=True, slots=True)
class Offer:
    """A priced batch with the designs of its sails."""

    batch: PricedBatch
    designs: Mapping[str, Design]


def thaw(revision: Revision) -> PricedBatch:
    """The batch of a revision, exactly as it was frozen."""
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
) -> QuoteDocument:
    """The quote as the customer reads it; number, days and link are empty for a draft."""
    return QuoteDocument(
        letterhead=letterhead(profile),
        number=number,
        revision=revision,
        issued_on=issued_on,
        valid_until=valid_until,
        customer_name=customer.name,
        customer_address=tuple(customer.address.splitlines()),
        batch=figures.batch,
        designs=figures.designs,
        link=link,
    )


def cost_sheet(figures: Offer, profile: LoftProfile, *, reference: str) -> CostSheetDocument:
    """The loft's own view of a batch, with every cost."""
    return CostSheetDocument(letterhead=letterhead(profile), reference=reference, batch=figures.batch, designs=figures.designs)
