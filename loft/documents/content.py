"""What each document is made from: costing objects, and the few words that only the desk knows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from costing.cloth import Lay, Table
from costing.measurements import SailKind
from costing.quote import Design, PricedBatch, PricedSail, TaxLine, TicketPlan
from costing.quote.finished import FinishedRow
from costing.rules import ByEye, Limit


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
class Balance:
    """What a change does to the money of its order: totals with tax before and after it, and what has been received by now."""

    before: Decimal
    after: Decimal
    paid: Decimal

    @property
    def open_before(self) -> Decimal:
        """Still to pay as it is agreed now."""
        return max(self.before - self.paid, Decimal(0))

    @property
    def open_after(self) -> Decimal:
        """Still to pay with the change."""
        return max(self.after - self.paid, Decimal(0))

    @property
    def owed_before(self) -> Decimal:
        """What was paid beyond the order as it is agreed now."""
        return max(self.paid - self.before, Decimal(0))

    @property
    def owed_after(self) -> Decimal:
        """What was paid beyond the order with the change: the loft owes it back."""
        return max(self.paid - self.after, Decimal(0))


@dataclass(frozen=True, slots=True)
class QuoteDocument:
    """A quote for a customer. number is empty for a draft; link is the acceptance address, empty for a draft.

    previous: the revision that the customer had before, and its batch, so that what is new can be marked; stamp: what a reprint of an
    offer that no longer holds says across each page; balance: of a change of an order; settled: lines that were ordered as class sails and
    sold as NON-CLASS on the floor since, each with why it is not class legal.
    """

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
    previous: tuple[int, PricedBatch] | None = None
    stamp: str = ""
    balance: Balance | None = None
    settled: Mapping[int, tuple[str, ...]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class FitLine:
    """One row of a boat's fit sheet: how it was taken, by whom and when; a value that nobody took is empty."""

    what: str
    value: str
    how: str
    by: str
    taken_on: str


@dataclass(frozen=True, slots=True)
class TicketDocument:
    """The work on one sail.

    waiting_for: what is still missing before release, in words, empty once released; still_due: what holds one step or the end of the
    work, and not its start (a sail number to follow, the class's label); by_eye: text rules that a person checks; to_measure: limits that
    the design has no value for; fit: the boat's fit sheet as it was confirmed, empty for a sail made as the pattern is; finished: what is
    to be measured and what has been, under the edition of the day on which the sail is certified, empty before there is an order.
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
    edition: str = ""
    by_eye: tuple[ByEye, ...] = ()
    to_measure: tuple[Limit, ...] = ()
    fit: tuple[FitLine, ...] = ()
    finished: tuple[FinishedRow, ...] = ()
    shared_lays: tuple[str, ...] = ()  # the lays that it is cut on together with other sails, each with its cloth
    not_legal: tuple[str, ...] = ()  # NON-CLASS: a sentence for each limit that it is outside of
    left_out: frozenset[str] = frozenset()  # materials of its kit that such a sail goes without: the class's label


@dataclass(frozen=True, slots=True)
class LaidSail:
    """A sail of a shared lay: the letter that its parts carry, and what it is; again: the only parts of it here, which are cut again."""

    letter: str
    ticket: str
    label: str
    design: Design
    not_legal: tuple[str, ...] = ()
    again: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class LaidSection:
    """A section of a shared lay as a lay of its own; roll is empty and start_mm None while it is on no roll."""

    number: int
    lay: Lay
    roll: str
    lot: str
    start_mm: int | None
    cut: bool


@dataclass(frozen=True, slots=True)
class LayDocument:
    """A lay that serves several sails, for the cutter."""

    letterhead: Letterhead
    number: str
    cloth: str
    colour: str
    table: Table
    sails: tuple[LaidSail, ...]
    sections: tuple[LaidSection, ...]
    held: tuple[str, ...]  # tickets that are not released yet


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


@dataclass(frozen=True, slots=True)
class OrderedSail:
    """One line of an order, as it stands."""

    position: int
    ticket: str
    label: str
    owner: str
    state: str
    not_legal: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class OrderConfirmation:
    """An order as it stands: what was accepted, money, and what is still missing in words; stamp: "CANCELLED" or nothing."""

    letterhead: Letterhead
    number: str
    quote: str
    accepted_on: date | None
    accepted_by: str
    due_on: date | None
    customer_name: str
    customer_address: tuple[str, ...]
    sails: tuple[OrderedSail, ...]
    currency: str
    gross: Decimal
    deposit: Decimal
    paid: Decimal
    waiting_for: tuple[str, ...]
    stamp: str = ""


@dataclass(frozen=True, slots=True)
class Receipt:
    """Money received, or paid back. taxes: the tax within the amount, by rate; purpose: "deposit", "payment" or "refund"; paid: all of it
    up to this one, less what was paid back. Amount and taxes are more than zero either way.
    """

    letterhead: Letterhead
    number: str
    order: str
    purpose: str
    received_on: date
    reference: str
    customer_name: str
    customer_address: tuple[str, ...]
    currency: str
    amount: Decimal
    taxes: tuple[TaxLine, ...]
    gross: Decimal
    paid: Decimal


@dataclass(frozen=True, slots=True)
class DeliveredSail:
    """One sail that leaves; finished: its sizes with their readings, as far as it was measured, under which edition."""

    ticket: str
    label: str
    owner: str
    class_label: str
    lot: str
    edition: str = ""
    finished: tuple[FinishedRow, ...] = ()
    not_legal: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class DeliveryNote:
    """Sails that leave together; still_to_come: the labels of those of the order that do not."""

    letterhead: Letterhead
    order: str
    delivered_on: date | None
    customer_name: str
    customer_address: tuple[str, ...]
    sails: tuple[DeliveredSail, ...]
    sails_of_order: int
    still_to_come: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class MeasuringSheet:
    """What to measure on a boat for one kind of sail. limits: of its class, as far as they are lengths; fit: label and hint of each row."""

    letterhead: Letterhead
    boat: str  # empty: a blank sheet
    owner: str
    sail_number: str
    class_name: str
    edition: str
    condition: str
    kind: SailKind
    limits: tuple[Limit, ...]
    fit: tuple[tuple[str, str], ...]
