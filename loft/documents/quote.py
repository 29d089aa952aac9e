"""The quote: the customer's view of a batch, with prices that can be checked with a pencil."""

from __future__ import annotations

from collections import Counter
from datetime import date

from reportlab.lib.pagesizes import A4
from reportlab.platypus import Flowable

from costing.quote import PricedBatch
from costing.quote.editions import expected_delivery
from loft.documents import changes, deposit_shares, layout, letterhead, page, price_steps, quote_designs, quote_prices, quote_terms, wording
from loft.documents.content import QuoteDocument


def quote_pdf(doc: QuoteDocument) -> bytes:
    """The quote as PDF; a document without a number is a draft and says so on every page."""
    return page.render([quote_sheet(doc)], title=_name(doc), author=doc.letterhead.name)


def quote_sheet(doc: QuoteDocument) -> page.Sheet:
    """The quote's pages."""
    return page.Sheet(
        story=_story(doc),
        foot=f"{doc.letterhead.name} · {_name(doc)}",
        running=(doc.customer_name, _name(doc)),
        head=lambda canvas: letterhead.draw_letterhead(canvas, doc.letterhead, A4),
        head_height=letterhead.LETTERHEAD_HEIGHT - 14,
        stamp=doc.stamp if doc.number else "DRAFT",
    )


def _name(doc: QuoteDocument) -> str:
    if not doc.number:
        return "DRAFT quote"
    return f"Quote {doc.number}" + (f", revision {doc.revision}" if doc.revision > 1 else "")


def _story(doc: QuoteDocument) -> list[Flowable]:
    return [
        *_opening(doc),
        *_changes(doc),
        *quote_prices.price_table(doc),
        *quote_prices.totals_and_acceptance(doc),
        *price_steps.price_steps(doc.batch),
        *quote_terms.terms(doc),
        *quote_designs.design_pages(doc),
        *deposit_shares.deposit_table(doc),
    ]


def _changes(doc: QuoteDocument) -> list[Flowable]:
    if doc.previous is None:
        return []
    since, old = doc.previous
    if doc.balance is not None:
        return changes.change_tables(changes.changes(old, doc.batch), doc.balance, doc.batch)
    return changes.changes_table(changes.changes(old, doc.batch), since=since)


def _what(batch: PricedBatch) -> str:
    """What is offered, in a sentence."""
    count = len(batch.sails)
    if not batch.is_mixed:
        (pattern,) = batch.made_by
        kind = pattern.sail_kind.value.replace("_", " ")
        sails = f"{count} {kind}{'s' if count != 1 else ''}"
        return f"{sails} for the {batch.class_name}, pattern {pattern.name}, version {pattern.version}."
    made = Counter(batch.pattern_of(sail).code for sail in batch.sails)
    boats = len(batch.boats())
    each = "; ".join(f"{made[p.code]} × {p.name}, version {p.version}" for p in batch.made_by)
    return f"{count} sails for {boats} boat{'s' if boats != 1 else ''} of the {batch.class_name}: {each}."


def _opening(doc: QuoteDocument) -> list[Flowable]:
    batch = doc.batch
    customer: list[Flowable] = [layout.text("For", layout.SMALL), layout.text(doc.customer_name, layout.CUSTOMER, 250)]
    customer += layout.texts(doc.customer_address)
    facts: list[tuple[str, layout.Cell]] = [
        ("Quote", doc.number or "DRAFT, no number yet"),
        ("Revision", str(doc.revision)),
        ("Date", wording.day(doc.issued_on, doc.letterhead.date_format)),
        ("Valid until", wording.day(doc.valid_until, doc.letterhead.date_format)),
        ("Prices of", wording.day(batch.priced_on, doc.letterhead.date_format)),
        ("Delivery", batch.lead_time or wording.DASH),
    ]
    in_force = wording.day(batch.edition_from, doc.letterhead.date_format)
    rules = _designed(doc, f"edition {batch.edition} of the class rules (in force from {in_force})")
    rules += _expected(batch, doc.letterhead.date_format)
    story: list[Flowable] = [
        layout.side_by_side(
            [*_title(doc), layout.gap(3), *customer],
            [layout.pairs(facts, (24, 42))],
            (110, 66),
        ),
        layout.gap(4),
        layout.text(_what(batch), layout.LEAD),
        *([layout.text(wording.joining(batch), layout.SUBHEADING)] if batch.joins else []),
        layout.text(rules, layout.BODY),
        *quote_designs.not_legal_notice(doc),
        *quote_designs.edition_notes(doc),
        layout.gap(3),
    ]
    if doc.number and doc.stamp:
        words = f"{doc.stamp} – this offer no longer holds, and its link is dead."
        story.insert(0, layout.text(words, layout.NOTICE))
    if not doc.number:
        story.insert(0, layout.text("DRAFT – not an offer: prices and dates may still change.", layout.NOTICE))
    return story


def _designed(doc: QuoteDocument, edition: str) -> str:
    """Under which edition the sails are designed and who certifies; sails that are not class legal are left out of it."""
    outside = list(quote_designs.not_legal(doc, range(1, len(doc.batch.sails) + 1)))
    if len(outside) == len(doc.batch.sails):
        return f"Not designed under {edition}."
    sails = f"All but {quote_designs.lines_named(outside)} designed" if outside else "Designed"
    return f"{sails} under {edition}; the class's measurer certifies."


def _title(doc: QuoteDocument) -> list[Flowable]:
    title: list[Flowable] = [layout.text(f"Quote {doc.number}" if doc.number else "Quote, draft", layout.TITLE)]
    if doc.batch.change_of:
        changed = f"Change of order {doc.batch.change_of}: until it is accepted, the order stays as it is."
        title.append(layout.text(changed, layout.SUBHEADING, 250))
    return title


def _expected(batch: PricedBatch, date_format: str) -> str:
    """When the sails are expected to be certified; empty for a batch of the time when no day was kept."""
    days = sorted({sail.certified_on for sail in batch.sails if sail.certified_on is not None})
    if not days:
        return ""
    until = f" to {wording.day(days[-1], date_format)}" if len(days) > 1 else ""
    return f" Expected to be certified about {wording.day(days[0], date_format)}{until}, {_why(days, batch, date_format)}."


def _why(days: list[date], batch: PricedBatch, date_format: str) -> str:
    """What sets the days: the list's own, or the end of the lead time."""
    ends = expected_delivery(batch.priced_on, batch.lead_time)
    if days == [ends]:
        return "when the lead time ends"
    asked = f"the day{'s' if len(days) > 1 else ''} asked for"
    return f"{asked}, else {wording.day(ends, date_format)}, when the lead time ends" if ends in days else asked
