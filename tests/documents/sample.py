"""Documents of the invented association batch, and the same with names that are hard to print."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from functools import cache

from costing import quote
from costing.cloth import Part, plan_lay
from costing.quote import BatchResult, Design
from loft.documents import BatchLay, CostSheetDocument, Letterhead, QuoteDocument, TicketDocument
from tests import skerling

LETTERHEAD = Letterhead(
    name="Larkfield Sail Loft",
    address=("The Old Net Store", "3 Quay Lane", "Larkfield", "NT4 7QX"),
    email="loft@larkfield.example",
    phone="+44 1632 960 142",
    tax_number="GB 000 0000 00",
    date_format="%d %b %Y",
)
LINK = "http://127.0.0.1:8000/q/8VhXo2mT0nq5bW7yRkZcJ3sLpA1dGfE6uHiN4vQxYw0"
HARD_NAMES = (
    ('<img src="file:///etc/hostname"/>', "<b>Tom & Sons</b>"),
    ("שחף הצפון", "דנה לוי"),
    ("طائر البحر", "محمد السقاف"),
    ("Turnstone 🐦", "Ada 🏴 Thwaite"),
    ("The Extraordinarily Long And Winding Name Of One Small Boat X", "Wilhelmina Featherstonehaugh-Cholmondeley of Upper Tarnside X"),
    ("X" * 60, "Y" * 60),
    ("Ζέφυρος", "Ελένη Παπαδοπούλου"),
    ("Чайка", "Жанна Иванова"),
    ("Łódź", "Siân Llŷr"),
    ("Bell\x07 and\nbreak", "Zoë O’Neil\u202e"),
    ("鴎", "かもめ"),
    ("&amp; <para>", "]]> %s {0}"),
)


@cache
def result() -> BatchResult:
    """The twelve boats, priced."""
    return quote.price_batch(skerling.batch(), skerling.house(), on=skerling.PRICED_ON)


@cache
def quote_document() -> QuoteDocument:
    """The association's quote, first revision."""
    return QuoteDocument(
        letterhead=LETTERHEAD,
        number="Q-2026-0001",
        revision=1,
        issued_on=date(2026, 3, 2),
        valid_until=date(2026, 4, 1),
        customer_name=skerling.CUSTOMER,
        customer_address=("Maud Pellow, secretary", "11 Ferry Row", "Tarnhead", "NT1 3QD"),
        batch=result().batch,
        designs=result().designs,
        link=LINK,
    )


def draft() -> QuoteDocument:
    """The same quote before it was issued."""
    return replace(quote_document(), number="", issued_on=None, valid_until=None, link="")


def with_hard_names() -> QuoteDocument:
    """The same quote for boats whose names are hard to print."""
    batch = result().batch
    named = zip(batch.sails, HARD_NAMES, strict=True)
    sails = tuple(replace(s, boat=boat, owner=owner, label=f"{boat} {s.sail_number or ''}") for s, (boat, owner) in named)
    return replace(quote_document(), batch=replace(batch, sails=sails), customer_name="<i>שלום</i> & Co 🐦")


def ticket(position: int = 1, *waiting_for: str) -> TicketDocument:
    """The ticket of one line of the association's order, from 1."""
    batch = result().batch
    sail = batch.sails[position - 1]
    label = batch.royalty_label
    return TicketDocument(
        letterhead=LETTERHEAD,
        order_number="O-2026-0001",
        ticket_number=f"O-2026-0001-{position:02d}",
        class_name=batch.class_name,
        pattern_label=f"{batch.pattern_code} version {batch.pattern_version}",
        due_on=date(2026, 4, 20),
        sail=sail,
        design=result().designs[sail.design_key],
        plans=quote.ticket_plan(sail, skerling.house().pattern),
        waiting_for=waiting_for,
        insignia=batch.insignia,
        royalty_label_place=label.place if label else "",
    )


def line_to_follow() -> int:
    """The position of the boat whose number is to follow."""
    return next(i for i, s in enumerate(result().batch.sails, start=1) if s.sail_number is None)


def cost_sheet() -> CostSheetDocument:
    """The cost sheet of the batch, with two of its sails laid together on their cloth."""
    return CostSheetDocument(LETTERHEAD, "Q-2026-0001", result().batch, result().designs, (_two_together(),))


def _two_together() -> BatchLay:
    design = first_design()
    body: tuple[Part, ...] = tuple(p for p in design.parts if p.material == design.cloth.code)
    together = plan_lay({"1": body, "2": body}, design.cloth, design.table)
    return BatchLay(design.cloth.code, 2, together.length_mm, 2 * design.lays[0].length_mm, together.bound_mm)


def first_design() -> Design:
    """The design of the first boat: the pattern as it stands, with a window."""
    return result().designs[result().batch.sails[0].design_key]
