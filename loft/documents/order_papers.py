"""The papers of an order: its confirmation, the receipt of a payment, the delivery note."""

from __future__ import annotations

from collections.abc import Sequence

from reportlab.lib.pagesizes import A4
from reportlab.platypus import Flowable, KeepTogether

from loft.documents import finished_sizes, layout, letterhead, page, wording
from loft.documents.content import DeliveryNote, Letterhead, OrderConfirmation, Receipt

_CHECKED = (
    "The loft has checked each sail. That check is the loft's own and is no certificate: whether a sail measures is for the class's "
    "measurer to say, under the rules in force on the day."
)
_OWN_CHECK = "Measured by the loft on the finished sail: the loft's own check, rounded nowhere."
_USE = (
    "Before the first hoist: see that spars, battens and fittings suit the sail, and keep rig loads within the limits of the boat's and "
    "the spar maker's manuals. When to sail is the skipper's decision, with the official safety guidance of the place."
)


_NO_INVOICE = (
    "The day received is the tax point of this amount. This receipt is no invoice: invoices come from the loft's books under their "
    "own numbers, and name this receipt."
)
_NO_CREDIT_NOTE = "This paper is no credit note: credit notes come from the loft's books under their own numbers, and name this paper."


def order_confirmation_pdf(doc: OrderConfirmation) -> bytes:
    """What was accepted, what is paid, and what each sail still waits for."""
    day = doc.letterhead.date_format
    facts: list[tuple[str, layout.Cell]] = [
        ("Order", doc.number), ("From quote", doc.quote), ("Accepted on", wording.day(doc.accepted_on, day)),
        ("Accepted by", doc.accepted_by), ("Day promised", wording.day(doc.due_on, day) if doc.due_on else "not set yet"),
    ]  # fmt: skip
    rows = [(str(r.position), r.ticket, _sail(r.label, r.not_legal), r.owner, r.state) for r in doc.sails]
    story = [
        *_opening("Order confirmation", doc.letterhead, doc.customer_name, doc.customer_address, facts),
        layout.text("You accepted our quote; these are the sails that we make for you. Sizes, options and terms are those of the quote."),
        layout.gap(2),
        layout.table(("", "Ticket", "Sail", "Owner", "State"), rows, (8, 32, 60, 48, 28)),
        *_money(doc),
        *_waiting(doc),
    ]
    return _paper(f"Order confirmation {doc.number}", doc.letterhead, doc.customer_name, story, stamp=doc.stamp)


def receipt_pdf(doc: Receipt) -> bytes:
    """Money received, with the tax that is in it: a payment ahead of delivery is a tax point of its own. Or money paid back."""
    day, currency, back = doc.letterhead.date_format, doc.currency, doc.purpose == "refund"
    name = "Refund" if back else "Receipt"
    facts: list[tuple[str, layout.Cell]] = [
        (name, doc.number), ("Order", doc.order), ("Paid back on" if back else "Received on", wording.day(doc.received_on, day)),
        ("Your reference", doc.reference or wording.DASH),
    ]  # fmt: skip
    rows: list[Sequence[layout.Cell]] = [
        (f"{t.label} {wording.rate(t.fraction)}", wording.amount(t.taxable, currency), wording.amount(t.tax, currency)) for t in doc.taxes
    ]
    rows.append(("Paid back" if back else "Received", "", wording.amount(doc.amount, currency)))
    total = len(rows)
    bold = [("FONT", (0, total), (-1, total), layout.BIG_BOLD.fontName, 11), ("TEXTCOLOR", (0, total), (-1, total), layout.ACCENT_COLOUR)]
    story = [
        *_opening(f"{name} {doc.number}", doc.letterhead, doc.customer_name, doc.customer_address, facts),
        layout.text(_what_for(doc)),
        layout.gap(2),
        layout.table(("Tax within the amount", f"Before tax, {currency}", f"{currency}"), rows, (80, 40, 40), right=(1, 2), extra=bold),
        layout.gap(2),
        layout.text(_left(doc), layout.BODY),
        layout.text(_NO_CREDIT_NOTE if back else _NO_INVOICE, layout.SMALL),
    ]  # fmt: skip
    return _paper(f"{name} {doc.number}", doc.letterhead, doc.customer_name, story)


def _what_for(doc: Receipt) -> str:
    amount = f"{doc.currency} {wording.amount(doc.amount, doc.currency)}"
    if doc.purpose == "refund":
        return f"Paid back to you: {amount}, which was paid beyond what order {doc.order} comes to."
    return f"With thanks: {amount}, received as {doc.purpose} for order {doc.order}."


def _left(doc: Receipt) -> str:
    """What is paid and what is open, in a sentence."""
    paid, gross, left = (wording.amount(v, doc.currency) for v in (doc.paid, doc.gross, abs(doc.gross - doc.paid)))
    end = "owed back to you" if doc.paid > doc.gross else "still open"
    return f"Paid so far {paid} of {gross}; {end} {doc.currency} {left}."


def delivery_note_pdf(doc: DeliveryNote) -> bytes:
    """The sails that leave, to be signed for: no price on it."""
    day = doc.letterhead.date_format
    facts: list[tuple[str, layout.Cell]] = [
        ("Order", doc.order), ("Delivered on", wording.day(doc.delivered_on, day)),
        ("Sails here", f"{len(doc.sails)} of {doc.sails_of_order}"),
    ]  # fmt: skip
    rows = [(r.ticket, _sail(r.label, r.not_legal), r.owner, r.class_label or wording.DASH, r.lot or wording.DASH) for r in doc.sails]
    head = ("Ticket", "Sail", "Owner", "Class label", "Cloth lot")
    story: list[Flowable] = [
        *_opening("Delivery note", doc.letterhead, doc.customer_name, doc.customer_address, facts),
        layout.table(head, rows, (32, 56, 42, 24, 22)),
        layout.gap(3),
    ]
    story += _measured(doc)
    if doc.still_to_come:
        story.append(layout.text(f"Still to come: {', '.join(doc.still_to_come)}.", layout.BODY))
    story += [
        layout.gap(4),
        KeepTogether(
            [
                layout.table((), [("Received in good order", "Name", "Day")], (80, 60, 36), pad=14),
                layout.gap(4), layout.text(_CHECKED, layout.SMALL), layout.gap(0.6), layout.text(_USE, layout.SMALL),
            ]
        ),
    ]  # fmt: skip
    return _paper(f"Delivery note {doc.order}", doc.letterhead, doc.customer_name, story, stamp="" if doc.sails else "DRAFT")


def _measured(doc: DeliveryNote) -> list[Flowable]:
    """What each sail measured beside what was designed, where somebody has measured it."""
    story: list[Flowable] = []
    for sail in doc.sails:
        rows = [t for t in finished_sizes.texts(sail.finished) if t.measured]
        if not rows:
            continue
        body = [(t.name, t.rule, t.limit, t.target, t.measured, t.deviation, t.verdict) for t in rows]
        head = ("Measurement, mm", "Rule", "Class limit", "Designed", "Measured", "Off by", "")
        title = layout.text(f"{sail.label}: designed and measured, limits of edition {sail.edition}", layout.SUBHEADING)
        table = layout.table(head, body, (50, 18, 28, 22, 22, 16, 20), right=(2, 3, 4, 5), style=layout.FINE, pad=1.5)
        story += [KeepTogether([title, table]), layout.gap(2)]
    if story:
        story += [layout.text(_OWN_CHECK, layout.SMALL), layout.gap(2)]
    return story


def _sail(label: str, not_legal: Sequence[str]) -> layout.Cell:
    """What a sail is called, and below it that it is not class legal where that is so."""
    return [layout.text(label, layout.CELL), layout.text(wording.not_legal(not_legal), layout.MARK)] if not_legal else label


def _opening(
    title: str, head: Letterhead, name: str, address: tuple[str, ...], facts: Sequence[tuple[str, layout.Cell]]
) -> list[Flowable]:  # fmt: skip
    customer = [layout.text("For", layout.SMALL), layout.text(name, layout.CUSTOMER, 250), *layout.texts(address)]
    left = [layout.text(title, layout.TITLE), layout.gap(3), *customer]
    return [layout.side_by_side(left, [layout.pairs(facts, (24, 42))], (110, 66)), layout.gap(4)]


def _money(doc: OrderConfirmation) -> list[Flowable]:
    currency = doc.currency
    due = max(doc.deposit - doc.paid, doc.deposit * 0)
    rows = [
        ("Total with tax", wording.amount(doc.gross, currency)),
        ("Deposit, part of the total", wording.amount(doc.deposit, currency)),
        ("Received", wording.amount(doc.paid, currency)),
        ("Of the deposit still due", wording.amount(due, currency)),
        ("Owed back to you" if doc.paid > doc.gross else "Open in all", wording.amount(abs(doc.gross - doc.paid), currency)),
    ]
    return [layout.heading(f"Money, {currency}", layout.SUBHEADING), layout.table((), rows, (62, 28), right=(1,))]


def _waiting(doc: OrderConfirmation) -> list[Flowable]:
    title = layout.heading("What we still need, and from whom", layout.SUBHEADING)
    if not doc.waiting_for:
        return [title, layout.text("Nothing: everything is there.", layout.BODY)]
    return [title, *(layout.bullet(words, 172) for words in doc.waiting_for)]


def _paper(name: str, head: Letterhead, customer: str, story: Sequence[Flowable], *, stamp: str = "") -> bytes:
    sheet = page.Sheet(
        story=story, foot=f"{head.name} · {name}", running=(customer, name), stamp=stamp,
        head=lambda canvas: letterhead.draw_letterhead(canvas, head, A4), head_height=letterhead.LETTERHEAD_HEIGHT - 14,
    )  # fmt: skip
    return page.render([sheet], title=name, author=head.name)
