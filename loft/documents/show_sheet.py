"""The show sheet: the loft's prices for a class on one page, to be laid on the table."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from reportlab.lib.enums import TA_RIGHT
from reportlab.lib.pagesizes import A4
from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import Flowable, KeepTogether

from loft.documents import layout, letterhead, page, wording
from loft.documents.content import Letterhead

_PRICE = ParagraphStyle("list price", layout.BIG_BOLD, alignment=TA_RIGHT)


@dataclass(frozen=True, slots=True)
class ShowPrice:
    """A price of a sail that ends on a day, with the day from which it holds where that is still to come."""

    name: str
    price: Decimal
    until: date
    valid_from: date | None


@dataclass(frozen=True, slots=True)
class ShowSail:
    """One sail of the sheet. options: (label, what it adds); included: labels of options in the price; offers: those not over yet."""

    name: str
    cloth: str
    price: Decimal
    variant: Decimal
    options: tuple[tuple[str, Decimal], ...]
    included: tuple[str, ...]
    offers: tuple[ShowPrice, ...]


@dataclass(frozen=True, slots=True)
class ShowSheet:
    """The loft's prices for a class. tax_words: "with 20 % VAT" or "without tax"; passed_on: (label, price) charged on at cost, with
    tax where the sheet is."""

    letterhead: Letterhead
    class_name: str
    season: str
    reference: str
    printed_on: date
    valid_to: date | None
    currency: str
    tax_words: str
    sails: tuple[ShowSail, ...]
    included: tuple[str, ...]
    not_included: tuple[str, ...]
    passed_on: tuple[tuple[str, Decimal], ...]
    lead_time: str


def show_sheet_pdf(doc: ShowSheet) -> bytes:
    """The sheet as PDF."""
    head, day = doc.letterhead, doc.letterhead.date_format
    name = f"{doc.class_name}: sails and prices {doc.season}"
    until = f", until {wording.day(doc.valid_to, day)}" if doc.valid_to else ""
    story: list[Flowable] = [
        layout.text(doc.class_name, layout.TITLE),
        layout.gap(1.5),
        layout.text(f"Sails and prices, season {doc.season}, {doc.currency} {doc.tax_words}{until}", layout.LEAD),
        layout.gap(4),
    ]
    for sail in doc.sails:
        story += [KeepTogether(_sail(sail, doc)), layout.gap(5)]
    story += _conditions(doc)
    sheet = page.Sheet(
        story=story, foot=f"{head.name} · {doc.reference} · printed {wording.day(doc.printed_on, day)}", running=(doc.class_name, name),
        head=lambda canvas: letterhead.draw_letterhead(canvas, head, A4), head_height=letterhead.LETTERHEAD_HEIGHT - 14,
    )  # fmt: skip
    return page.render([sheet], title=name, author=head.name)


def _sail(sail: ShowSail, doc: ShowSheet) -> list[Flowable]:
    money = doc.currency
    price = layout.text(wording.amount(sail.price, money), _PRICE)
    rows: list[Sequence[layout.Cell]] = [(_offer_words(o, doc), wording.amount(o.price, money)) for o in sail.offers]
    rows += [(f"with {label}", f"+ {wording.amount(added, money)}") for label, added in sail.options]
    if sail.variant:
        rows.append(("to your boat's own measurements (spar, sheeting)", f"+ {wording.amount(sail.variant, money)}"))
    title: list[Flowable] = [layout.text(sail.name, layout.BIG_BOLD), layout.text(sail.cloth, layout.BODY)]
    if sail.included:
        title.append(layout.text(f"In the price: {', '.join(sail.included)}.", layout.SMALL))
    return [layout.table((), [(title, price), *rows], (136, 40), right=(1,), style=layout.STEP, pad=4)]


def _offer_words(offer: ShowPrice, doc: ShowSheet) -> str:
    day = doc.letterhead.date_format
    later = offer.valid_from is not None and offer.valid_from > doc.printed_on
    start = f"from {wording.day(offer.valid_from, day)} " if later and offer.valid_from else ""
    return f"{offer.name} price {start}to {wording.day(offer.until, day)}"


def _conditions(doc: ShowSheet) -> list[Flowable]:
    charged = [f"{label}: {doc.currency} {wording.amount(price, doc.currency)}" for label, price in doc.passed_on]
    left = [layout.text("Included", layout.SUBHEADING), *(layout.bullet(w, 82) for w in doc.included)]
    right = [layout.text("NOT included", layout.SUBHEADING), *(layout.bullet(w, 82) for w in (*doc.not_included, *charged))]
    words = "Every sail is quoted in writing before you order: the quote names its sizes, options, tax, terms and delivery."
    lead = f"Lead time {doc.lead_time}. " if doc.lead_time else ""
    measurer = "Sails are designed under the class rules in force; whether one measures is for the class's measurer to say."
    return [layout.side_by_side(left, right, (88, 88)), layout.gap(3), layout.text(f"{lead}{words} {measurer}", layout.SMALL)]
