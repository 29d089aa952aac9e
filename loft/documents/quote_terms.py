"""The quote's conditions: included and not, options not chosen, checks by eye, assumed values, batch terms, safety."""

from __future__ import annotations

from collections.abc import Iterable

from reportlab.platypus import Flowable, KeepTogether

from loft.documents import layout, quote_designs, wording
from loft.documents.content import QuoteDocument

_CHECK = (
    "The loft checks every sail that it makes. That check is the loft's own and is no certificate: whether a sail measures is for the "
    "class's measurer to say, under the rules in force on the day."
)
_USE = (
    "Sailing can hurt people. Rig loads stay within the limits of the boat's and the spar maker's manuals; when to sail is the skipper's "
    "decision, with the club's rules and the official safety guidance of the place."
)


def terms(doc: QuoteDocument) -> list[Flowable]:
    """What stands behind the prices."""
    batch = doc.batch
    return [
        layout.heading("What the price includes, and what it does not", layout.SECTION),
        layout.side_by_side(_column("Included", batch.included), _column("NOT included", batch.not_included), (88, 88)),
        *_options(doc),
        *_terms(doc),
        *_by_eye(doc),
        *_assumed(doc),
        *_notes(doc),
    ]


def _column(title: str, words: Iterable[str]) -> list[Flowable]:
    return [layout.text(title, layout.SUBHEADING), *(layout.bullet(w, 84) for w in words)]


def _options(doc: QuoteDocument) -> list[Flowable]:
    """Sails with the same choices share a row."""
    groups: dict[tuple[tuple[str, ...], tuple[str, ...]], list[int]] = {}
    for number, sail in enumerate(doc.batch.sails, start=1):
        groups.setdefault((sail.chosen, sail.not_chosen), []).append(number)
    rows = [
        (quote_designs.line_numbers(numbers), ", ".join(chosen) or "none", ", ".join(left) or "none")
        for (chosen, left), numbers in groups.items()
    ]
    return [layout.heading("Options", layout.SUBHEADING), layout.table(("Lines", "Chosen", "NOT chosen"), rows, (22, 77, 77))]


def _terms(doc: QuoteDocument) -> list[Flowable]:
    batch = doc.batch
    validity = f"A quote is valid for {batch.valid_days} days from its issue"
    if doc.valid_until:
        validity = f"Valid until the end of {wording.day(doc.valid_until, doc.letterhead.date_format)}"
    by_boat = " (by boat: at the end)" if len(batch.sails) > 1 and batch.totals.deposit else ""
    words = [f"{validity}; {wording.rate(batch.deposit_fraction)} deposit on acceptance{by_boat}."]
    if batch.cut_off is not None:
        words.append(f"These batch terms take orders until the end of {wording.day(batch.cut_off, doc.letterhead.date_format)}.")
    words += batch.terms_text
    return [layout.heading("Terms", layout.SUBHEADING), *(layout.bullet(w, 172) for w in words)]


def _by_eye(doc: QuoteDocument) -> list[Flowable]:
    if not doc.batch.by_eye:
        return []
    checks = [f"{c.rule}  {c.text}" for c in doc.batch.by_eye]
    title = layout.heading("Class rules that no number expresses, to check by eye", layout.SUBHEADING)
    return [title, layout.tick_list(checks, 176)]


def _assumed(doc: QuoteDocument) -> list[Flowable]:
    by_sentence: dict[str, list[int]] = {}
    for number, sail in enumerate(doc.batch.sails, start=1):
        for sentence in dict.fromkeys((*doc.designs[sail.design_key].assumed, *sail.assumed)):
            by_sentence.setdefault(sentence, []).append(number)
    if not by_sentence:
        return []
    everywhere = len(doc.batch.sails)
    lines = [
        wording.spelled(sentence) + ("" if len(numbers) == everywhere else f" ({quote_designs.lines_named(numbers)})")
        for sentence, numbers in by_sentence.items()
    ]
    return [layout.heading("Assumed, please check", layout.SUBHEADING), *(layout.bullet(line, 172) for line in lines)]


def _notes(doc: QuoteDocument) -> list[Flowable]:
    """Who certifies, where the class's label goes, and that safety is the skipper's."""
    notes = [layout.text(_CHECK, layout.SMALL)]
    label = doc.batch.royalty_label
    if label is not None and label.required:
        notes.append(layout.text(f"The class's royalty label goes on every sail: {label.place} ({label.rule}).", layout.SMALL))
    return [layout.gap(2), KeepTogether([*notes, layout.gap(0.6), layout.text(_USE, layout.SMALL)])]
