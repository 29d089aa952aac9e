"""The quote's money: one row a sail, what is charged on at cost, totals, deposit and how to accept."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from reportlab.platypus import Flowable, KeepTogether

from costing.quote import PricedSail, PriceItem
from loft.documents import layout, letterhead, quote_designs, wording
from loft.documents.content import QuoteDocument
from loft.documents.figure import Figure
from loft.documents.layout import ACCENT_COLOUR, LINE, TINT_COLOUR

_ONE_KIND = ("", "Boat", "Sail no.", "Owner", "Cloth, colour", "Design")
_SUITS = ("", "Sail", "Cloth, colour", "Design")


def price_table(doc: QuoteDocument) -> list[Flowable]:
    """One row a sail, a suit's below its boat; items charged on at cost are added up below, one row each."""
    private, taxed = doc.batch.buyer == "private", len(doc.batch.totals.taxes) > 1
    names = _SUITS if doc.batch.is_mixed else _ONE_KIND
    head = [*names, "Qty", *(["with tax"] if private else []), "Unit price", "Discount", "Net", *(["Tax"] if taxed else [])]
    rows: list[list[layout.Cell]] = []
    spans: list[tuple[object, ...]] = []
    letters = quote_designs.design_letters(doc)
    blank = [""] * (len(names) - 2)
    for boat in doc.batch.boats():
        if doc.batch.is_mixed:
            spans += [("SPAN", (1, len(rows) + 1), (-1, len(rows) + 1)), ("NOSPLIT", (0, len(rows) + 1), (0, len(rows) + 2))]
            rows.append(["", layout.text(_boat_words(boat[0][1]), layout.CELL_BOLD), *[""] * (len(head) - 2)])
        for number, sail in boat:
            own = [i for i in sail.items if not i.pass_through]
            for position, item in enumerate(own):
                first = _sail_cells(number, sail, item, letters[sail.design_key], doc) if position == 0 else ["", item.label, *blank]
                if position:
                    spans.append(("SPAN", (1, len(rows) + 1), (len(names) - 1, len(rows) + 1)))
                rows.append([*first, *_figures(item, doc, private, taxed)])
    for item in passed_on(doc.batch.sails):
        at = len(rows) + 1
        spans += [("SPAN", (1, at), (len(names) - 1, at)), ("BACKGROUND", (0, at), (-1, at), TINT_COLOUR)]
        rows.append(["", f"{item.label}, charged on at cost", *blank, *_figures(item, doc, private, taxed)])
    right = tuple(range(len(names), len(head) - taxed))
    widths = _widths(rows, right, taxed, suits=doc.batch.is_mixed)
    spans.append(("FONT", (0, 1), (0, -1), layout.SMALL.fontName, 7.6))
    return [layout.table(head, rows, widths, right=right, style=layout.PRICE, extra=spans, pad=2.6), layout.gap(1), *_cloths(doc)]


def _cloths(doc: QuoteDocument) -> list[Flowable]:
    """What the cloth codes of the table stand for."""
    names = {doc.designs[s.design_key].cloth.code: s.cloth_label for s in doc.batch.sails}
    return [layout.text(f"{code}: {wording.spelled(name)}.", layout.SMALL) for code, name in names.items()]


def _boat_words(sail: PricedSail) -> str:
    return f"{sail.boat} {sail.sail_number or '(number to follow)'} · {sail.owner}"


def _widths(rows: Sequence[Sequence[layout.Cell]], right: Sequence[int], taxed: bool, *, suits: bool) -> list[float]:
    """Column widths, mm: figures have the room that the longest needs, and take from the names what is more than usual."""
    figures = [8.0, *(layout.room_for((row[i] for row in rows), 14, layout.PRICE) for i in right[1:])]
    extra = sum(figures) - 50 + 9 * taxed
    one_kind = [31 - extra * 0.4, 14.5, 30 - extra * 0.4, 26 - extra * 0.2, 19]
    names = [71 - extra * 0.8, 30 - extra * 0.2, 19.5] if suits else one_kind
    return [5.5, *names, *figures, *([9] if taxed else [])]


def _sail_cells(number: int, sail: PricedSail, item: PriceItem, letter: str, doc: QuoteDocument) -> list[layout.Cell]:
    variant = "variant" if doc.designs[sail.design_key].variant else "standard"
    made: layout.Cell = f"{letter} {variant}"
    if quote_designs.not_legal(doc, [number]):
        made = [layout.text(f"{letter} {variant}", layout.PRICE), layout.text(wording.NOT_LEGAL, layout.MARK)]
    cloth = ", ".join(filter(None, (doc.designs[sail.design_key].cloth.code, sail.colour)))
    if doc.batch.is_mixed:
        return [str(number), item.label, cloth, made]
    return [str(number), sail.boat, sail.sail_number or "to follow", sail.owner, cloth, made]


def _figures(item: PriceItem, doc: QuoteDocument, private: bool, taxed: bool) -> list[layout.Cell]:
    cells: list[layout.Cell] = [str(item.quantity)]
    if private:
        cells.append(wording.amount(item.shown_unit_price, doc.batch.currency))
    cells += [wording.amount(v, doc.batch.currency) for v in (item.unit_price, item.discount, item.net)]
    return [*cells, item.tax] if taxed else cells


def passed_on(sails: tuple[PricedSail, ...]) -> tuple[PriceItem, ...]:
    """The items charged on at cost, equal ones added up over all sails."""
    found: dict[tuple[str, Decimal, str], PriceItem] = {}
    for sail in sails:
        for item in sail.items:
            if item.pass_through:
                key = (item.label, item.unit_price, item.tax)
                found[key] = _added(found[key], item) if key in found else item
    return tuple(found.values())


def _added(a: PriceItem, b: PriceItem) -> PriceItem:
    return PriceItem(
        a.label, a.quantity + b.quantity, a.unit_price, a.shown_unit_price, a.discount + b.discount, a.net + b.net, a.tax, True
    )  # fmt: skip


def totals_and_acceptance(doc: QuoteDocument) -> list[Flowable]:
    """Totals at the right; how to accept at the left."""
    return [layout.gap(4), KeepTogether([layout.side_by_side(_acceptance(doc), [_totals(doc)], (92, 84))])]


def _totals(doc: QuoteDocument) -> Flowable:
    batch, totals = doc.batch, doc.batch.totals
    rows: list[list[layout.Cell]] = [["Net total", "", wording.amount(totals.net, batch.currency)]]
    for tax in totals.taxes:
        rows.append(
            [
                f"{tax.label} {wording.rate(tax.fraction)} on",
                wording.amount(tax.taxable, batch.currency),
                wording.amount(tax.tax, batch.currency),
            ]
        )
    rows.append([f"Total in {batch.currency}", "", wording.amount(totals.gross, batch.currency)])
    rows.append(
        [
            "Deposit, as it was asked for with the order"
            if batch.change_of
            else f"Deposit {wording.rate(batch.deposit_fraction)} of the total, due on acceptance",
            "",
            wording.amount(totals.deposit, batch.currency),
        ]
    )
    gross = len(rows) - 2
    big = layout.BIG_BOLD
    return layout.table(
        (), rows, (42, 20, 22), right=(1, 2),
        extra=[
            ("FONT", (0, gross), (-1, gross), big.fontName, 11.5),
            ("TEXTCOLOR", (0, gross), (-1, gross), ACCENT_COLOUR),
            ("LINEABOVE", (0, gross), (-1, gross), 0.9, ACCENT_COLOUR),
            ("TOPPADDING", (0, gross), (-1, gross), 5), ("BOTTOMPADDING", (0, gross), (-1, gross), 6),
            ("LINEBELOW", (0, gross), (-1, gross), 0.9, ACCENT_COLOUR),
            ("LINEBELOW", (0, -1), (-1, -1), 0.35, LINE),
        ],
    )  # fmt: skip


def _acceptance(doc: QuoteDocument) -> list[Flowable]:
    batch = doc.batch
    reason = [layout.text(f"Discount {wording.rate(batch.discount)} on what the loft makes ({batch.discount_reason}).", layout.BODY)]
    story: list[Flowable] = list(reason) if batch.discount else []
    if doc.stamp:
        return [*story, layout.text("This offer no longer holds: it cannot be accepted any more.", layout.BODY)]
    if not doc.link:
        return [*story, layout.text("There is no acceptance link yet: this draft cannot be accepted.", layout.BODY)]
    until = wording.day(doc.valid_until, doc.letterhead.date_format)
    words = [
        layout.text("To accept this change" if batch.change_of else "To accept this quote", layout.SUBHEADING),
        layout.text(f"Scan the code or open the address below, until the end of {until}.", layout.BODY),
        layout.gap(1),
        layout.link(doc.link, layout.SMALL),
    ]
    return [*story, layout.gap(2), layout.side_by_side([Figure(letterhead.qr_code(doc.link, 25), "LEFT")], words, (30, 56))]
