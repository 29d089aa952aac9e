"""What each document is made from: costing objects, and the few words that only the desk knows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from costing.quote import Design, PricedBatch, PricedSail, TicketPlan


@dataclass(frozen=True, slots=True)
class Letterhead:
    """The loft as it stands on paper; date_format is a strftime format."""

    name: str
    address: tuple[str, ...]
    email: str
    phone: str
    tax_number: str
    date_format: str


@dataclass(frozen=True, slots=True)
class QuoteDocument:
    """A quote for a customer. number is empty for a draft; link is the acceptance address, empty for a draft."""

    letterhead: Letterhead
    number: str
    revision: int
    issued_on: date | None
    valid_until: date | None
    customer_name: str
    customer_address: tuple[str, ...]
    batch: PricedBatch
    designs: Mapping[str, Design]
    link: str


@dataclass(frozen=True, slots=True)
class TicketDocument:
    """The work on one sail.

    waiting_for: what is still missing before release, in words, empty once released; still_due: what holds one step or the end of the
    work, and not its start (a sail number to follow, the class's label).
    """

    letterhead: Letterhead
    order_number: str
    ticket_number: str
    class_name: str
    pattern_label: str
    due_on: date | None
    sail: PricedSail
    design: Design
    plans: tuple[TicketPlan, ...]
    waiting_for: tuple[str, ...]
    insignia: str = ""
    royalty_label_place: str = ""
    still_due: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class BatchLay:
    """The whole batch laid together on one cloth, beside its sails laid one by one: both lays audited."""

    material: str
    sails: int
    together_mm: float
    one_by_one_mm: float
    bound_mm: float


@dataclass(frozen=True, slots=True)
class CostSheetDocument:
    """The loft's own view of a batch: every cost line, margins, lay gaps."""

    letterhead: Letterhead
    reference: str  # quote number or "draft"
    batch: PricedBatch
    designs: Mapping[str, Design]
    batch_lays: tuple[BatchLay, ...] = ()
