"""The quote's conditions: included and not, options not chosen, checks by eye, assumed values, batch terms, safety."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from reportlab.platypus import Flowable, KeepTogether

from costing.quote import PricedBatch
from loft.documents import deposit_shares, layout, quote_designs, wording
from loft.documents.content import QuoteDocument

_CHECK = (
    "The loft checks every sail that it makes. That check is the loft's own and is no certificate: whether a sail measures is for the "
    "class's measurer to say, under the rules in force on the day."
)
_EFFECT = (
    "In brackets: by how much the area inside the sail's edge would change if that size alone were 1 % larger, so that you see which of "
    "them matter."
)
_USE = (
    "Sailing can hurt people. Rig loads stay within the limits of the boat's and the spar maker's manuals; when to sail is the skipper's "
    "decision, with the club's rules and the official safety guidance of the place."
)


def terms(doc: QuoteDocument) -> list[Flowable]:
    """What stands behind the prices."""
    batch = doc.batch
    return [
        *_included(batch),
        *_options(doc),
        *_terms(doc),
        *_by_eye(doc),
        *_given(doc),
        *_assumed(doc),
        *_notes(doc),
    ]


def _included(batch: PricedBatch) -> list[Flowable]:
    """Once for all patterns of which the same is said; the section's heading stays with the first."""
    said: dict[tuple[tuple[str, ...], tuple[str, ...]], list[str]] = {}
    for pattern in batch.made_by:
        said.setdefault((pattern.included, pattern.not_included), []).append(pattern.name)
    story: list[Flowable] = []
    head = [layout.heading("What the price includes, and what it does not", layout.SECTION)]
    for (included, left_out), names in said.items():
        title = [layout.text(", ".join(names), layout.SUBHEADING)] if len(said) > 1 else []
        columns = layout.side_by_side(_column("Included", included), _column("NOT included", left_out), (88, 88))
        story.append(KeepTogether([*head, *title, columns]))
        head = []
    return story


def _column(title: str, words: Iterable[str]) -> list[Flowable]:
    return [layout.text(title, layout.SUBHEADING), *(layout.bullet(w, 84) for w in words)]


def _options(doc: QuoteDocument) -> list[Flowable]:
    """Sails with the same choices share a row."""
    groups: dict[tuple[str, tuple[str, ...]], list[int]] = {}
    for number, sail in enumerate(doc.batch.sails, start=1):
        groups.setdefault((wording.options(sail), sail.not_chosen), []).append(number)
    rows = [
        (quote_designs.line_numbers(numbers), chosen or "none", ", ".join(left) or "none") for (chosen, left), numbers in groups.items()
    ]
    return [layout.heading("Options", layout.SUBHEADING), layout.table(("Lines", "Chosen", "NOT chosen"), rows, (22, 77, 77))]


def _terms(doc: QuoteDocument) -> list[Flowable]:
    batch = doc.batch
    validity = f"A quote is valid for {batch.valid_days} days from its issue"
    if doc.valid_until:
        validity = f"Valid until the end of {wording.day(doc.valid_until, doc.letterhead.date_format)}"
    by_boat = " (by boat: at the end)" if deposit_shares.has_table(doc) else ""
    words = [f"{validity}; {wording.rate(batch.deposit_fraction)} deposit on acceptance{by_boat}."]
    words.append(f"Prices are those of the loft's {batch.price_basis}." if batch.price_basis else "Prices are worked out for this order.")
    if batch.cut_off is not None:
        words.append(f"These batch terms take orders until the end of {wording.day(batch.cut_off, doc.letterhead.date_format)}.")
    words += batch.terms_text
    return [layout.heading("Terms", layout.SUBHEADING), *(layout.bullet(w, 172) for w in words)]


def _by_eye(doc: QuoteDocument) -> list[Flowable]:
    said: dict[str, list[str]] = {}
    for pattern in doc.batch.made_by:
        for check in pattern.by_eye:
            said.setdefault(f"{check.rule}  {check.text}", []).append(pattern.called)
    if not said:
        return []
    everywhere = len(doc.batch.made_by)
    checks = [words + ("" if len(sails) == everywhere else f" ({', '.join(sails)})") for words, sails in said.items()]
    title = layout.heading("Class rules that no number expresses, to check by eye", layout.SUBHEADING)
    return [title, layout.tick_list(checks, 176)]


def _given(doc: QuoteDocument) -> list[Flowable]:
    """What each boat's own sizes are, where they were read and what they decide."""
    lines = [
        f"Line {number}, {sail.label} ({sail.path} of the list of boats): {wording.spelled('; '.join(sail.given))}"
        for number, sail in enumerate(doc.batch.sails, start=1)
        if sail.given
    ]
    return [layout.heading("Sizes that you gave us", layout.SUBHEADING), *(layout.bullet(line, 172) for line in lines)] if lines else []


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
    explained = [layout.text(_EFFECT, layout.SMALL)] if any("1 % more" in line for line in lines) else []
    return [layout.heading("Assumed, please check", layout.SUBHEADING), *explained, *(layout.bullet(line, 172) for line in lines)]


def _label_words(batch: PricedBatch) -> Iterator[str]:
    legal = {batch.pattern_of(sail).code for sail in batch.sails if not sail.breaches}
    made_by = [p for p in batch.made_by if p.code in legal]
    labels = [(p.called, p.royalty_label) for p in made_by if p.royalty_label is not None and p.royalty_label.required]
    alike = len({label for _, label in labels}) == 1 and len(labels) == len(made_by)
    but = f" but those that are {wording.NOT_LEGAL}" if any(sail.breaches for sail in batch.sails) else ""
    for called, label in labels:
        yield f"The class's royalty label goes on every {'sail' if alike else called}{but}: {label.place} ({label.rule})."


def _notes(doc: QuoteDocument) -> list[Flowable]:
    """Who certifies, where the class's label goes, and that safety is the skipper's."""
    notes = [layout.text(_CHECK, layout.SMALL)]
    for words in dict.fromkeys(_label_words(doc.batch)):
        notes.append(layout.text(words, layout.SMALL))
    return [layout.gap(2), KeepTogether([*notes, layout.gap(0.6), layout.text(_USE, layout.SMALL)])]
