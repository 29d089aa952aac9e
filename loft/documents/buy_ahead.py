"""The buy-ahead list on paper: what to order before a dearer list comes into force."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from reportlab.lib.pagesizes import A4, landscape

from loft.documents import layout, page, wording


@dataclass(frozen=True, slots=True)
class PurchaseRow:
    """A cloth to buy, metres and amounts; None where a list has no price."""

    cloth: str
    where: str
    in_stock: Decimal
    ordered: Decimal
    quoted: Decimal
    to_buy: Decimal
    cost_now: Decimal | None
    cost_then: Decimal | None
    saved: Decimal | None


@dataclass(frozen=True, slots=True)
class BuyAheadDocument:
    """The whole list as of a day, against the lists of a later one."""

    loft: str
    date_format: str
    today: date
    on: date
    currency: str
    rows: tuple[PurchaseRow, ...]
    saved: Decimal


_HEAD = ("Cloth", "From", "In stock", "Ordered", "Quoted", "To buy", "Cost today", "Cost then", "Saved")
_WIDTHS = (60, 58, 20, 20, 20, 20, 23, 23, 19)


def buy_ahead_pdf(doc: BuyAheadDocument) -> bytes:
    """The list as PDF."""
    day, then = wording.day(doc.today, doc.date_format), wording.day(doc.on, doc.date_format)
    rows = [
        (
            r.cloth, r.where, *(_metres(m) for m in (r.in_stock, r.ordered, r.quoted, r.to_buy)),
            *(_amount(a, doc.currency) for a in (r.cost_now, r.cost_then, r.saved)),
        )
        for r in doc.rows
    ]  # fmt: skip
    story = [
        layout.text("Cloth to buy ahead", layout.TITLE),
        layout.gap(2),
        layout.text(f"As of {day}, against the supplier lists of {then}. Lengths in m, amounts in {doc.currency}.", layout.LEAD),
        layout.gap(3),
        layout.table(_HEAD, rows, _WIDTHS, right=(2, 3, 4, 5, 6, 7, 8)),
        layout.gap(2),
        layout.text(f"Saved by buying all of it today: {_amount(doc.saved, doc.currency)}", layout.BIG_BOLD),
        layout.gap(2),
        layout.text(
            "In stock: free of lays and flaws, without remnants. Ordered: sails that are not begun and on no lay. Quoted: open quotes that "
            "must be honoured on the later day, as if all were accepted. To buy: the rest, by the supplier's minimum and pack. The body of "
            "a sail comes from one dye lot.",
            layout.SMALL,
        ),
    ]  # fmt: skip
    title = "Cloth to buy ahead"
    sheet = page.Sheet(story=story, foot=f"{doc.loft} · {title.lower()}, {day}", running=(doc.loft, title), size=landscape(A4))
    return page.render([sheet], title=title, author=doc.loft)


def _metres(length: Decimal) -> str:
    return f"{length:,.2f}"


def _amount(amount: Decimal | None, currency: str) -> str:
    return wording.DASH if amount is None else wording.amount(amount, currency)
