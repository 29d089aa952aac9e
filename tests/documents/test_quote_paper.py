"""The quote as the customer holds it: read back from the PDF alone."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from itertools import pairwise

import pytest

from costing.quote import PricedSail, PriceItem, TaxLine, Totals
from loft.documents import QuoteDocument, deposit_shares, quote_pdf, quote_prices, wording
from tests.documents import reading, sample


@pytest.fixture(scope="module")
def pdf() -> bytes:
    return quote_pdf(sample.quote_document())


@pytest.fixture(scope="module")
def text(pdf: bytes) -> str:
    return reading.text(pdf)


def price_rows(lines: list[str]) -> list[tuple[int, Decimal, Decimal, Decimal]]:
    """Quantity, unit price, discount and net of every row of the price table."""
    table = lines[lines.index("Boat") : lines.index("Net total")]
    rows = []
    for i in range(len(table) - 3):
        cells = table[i : i + 4]
        if cells[0].isdigit() and all(reading.AMOUNT.match(c) for c in cells[1:]):
            rows.append((int(cells[0]), *(reading.amount(c) for c in cells[1:])))
    return rows  # type: ignore[return-value]


def cents(value: Decimal) -> Decimal:
    return value.quantize(Decimal("0.01"), ROUND_HALF_UP)


def test_the_total_can_be_worked_out_from_the_page_alone(pdf: bytes) -> None:
    """Unit price x quantity - discount = net; nets add up; tax once on the sum (EN 16931, calculation of VAT totals)."""
    lines = reading.lines(pdf)
    rows = price_rows(lines)
    assert len(rows) == 12 + 2
    for quantity, unit_price, discount, net in rows:
        assert quantity * unit_price - discount == net
    total = sum(net for *_, net in rows)
    at = lines.index("Net total")
    assert reading.amount(lines[at + 1]) == total
    rate = re.fullmatch(r"VAT (\d+) % on", lines[at + 2])
    assert rate is not None
    assert reading.amount(lines[at + 3]) == total
    tax = cents(total * int(rate[1]) / 100)
    assert reading.amount(lines[at + 4]) == tax
    assert lines[at + 5] == "Total in GBP"
    assert reading.amount(lines[at + 6]) == total + tax
    deposit = next(reading.amount(line) for line in lines[at + 7 :] if reading.AMOUNT.match(line))
    assert deposit == cents((total + tax) / 2)
    assert total + tax == sample.result().batch.totals.gross


def test_two_tax_rates_can_be_worked_out_too() -> None:
    """Each row names its rate; each rate is charged once, on the sum of its rows (EN 16931)."""
    document = sample.quote_document()
    batch = document.batch
    sails = tuple(replace(s, items=tuple(replace(i, tax="Z" if i.pass_through else "S") for i in s.items)) for s in batch.sails)
    taxes = (taxed(sails, "S", "VAT", Decimal("0.2")), taxed(sails, "Z", "zero rate", Decimal(0)))
    tax = sum((t.tax for t in taxes), Decimal(0))
    totals = Totals(batch.totals.net, taxes, tax, batch.totals.net + tax, Decimal("1000.00"))
    lines = reading.lines(quote_pdf(replace(document, batch=replace(batch, sails=sails, totals=totals))))
    table = lines[lines.index("Boat") : lines.index("Net total")]
    nets: dict[str, Decimal] = {}
    for net, code in pairwise(table):
        if code in ("S", "Z") and reading.AMOUNT.match(net):
            nets[code] = nets.get(code, Decimal(0)) + reading.amount(net)
    at = lines.index("Net total")
    assert reading.amount(lines[at + 1]) == nets["S"] + nets["Z"]
    assert lines[at + 2 : at + 8] == [
        "VAT 20 % on", f"{nets['S']:,}", f"{cents(nets['S'] / 5):,}",
        "zero rate 0 % on", f"{nets['Z']:,}", "0.00",
    ]  # fmt: skip
    assert reading.amount(lines[at + 9]) == nets["S"] + nets["Z"] + cents(nets["S"] / 5)


def taxed(sails: tuple[PricedSail, ...], code: str, label: str, fraction: Decimal) -> TaxLine:
    base = sum((i.net for s in sails for i in s.items if i.tax == code), Decimal(0))
    return TaxLine(code, label, fraction, base, cents(base * fraction))


def test_deposits_by_boat_add_up_to_the_cent(pdf: bytes) -> None:
    """Read from the page alone: line, boat, with tax, deposit; equal to the totals of the batch."""
    lines = reading.lines(pdf)
    batch = sample.result().batch
    table = lines[lines.index("Deposit by boat, in GBP") :]
    shares = [
        (reading.amount(table[i + 2]), reading.amount(table[i + 3]))
        for i in range(len(table) - 3)
        if table[i].isdigit() and all(reading.AMOUNT.match(c) for c in table[i + 2 : i + 4])
    ]
    assert len(shares) == len(batch.sails)
    assert sum(gross for gross, _ in shares) == batch.totals.gross
    assert sum(deposit for _, deposit in shares) == batch.totals.deposit
    for gross, deposit in shares:
        assert abs(deposit - gross * batch.deposit_fraction) <= Decimal("0.01")
    heron, gross = batch.sails[0], deposit_shares.deposit_shares(batch)[0][0]
    assert abs(gross - heron.net * Decimal("1.2")) <= Decimal("0.01")  # all at 20 %


def test_one_sail_has_no_deposit_table() -> None:
    document = sample.quote_document()
    assert deposit_shares.deposit_table(replace(document, batch=replace(document.batch, sails=document.batch.sails[:1]))) == []


def test_the_cut_off_is_printed_when_there_is_one(text: str) -> None:
    document = sample.quote_document()
    with_cut_off = replace(document, batch=replace(document.batch, cut_off=date(2026, 3, 20)))
    assert "take orders until the end of 20 Mar 2026" in reading.text(quote_pdf(with_cut_off))
    assert "take orders until" not in text


def test_every_sail_has_its_line(pdf: bytes) -> None:
    lines = reading.lines(pdf)
    for number, sail in enumerate(sample.result().batch.sails, start=1):
        at = lines.index(sail.boat)
        assert lines[at - 1] == str(number)
        assert lines[at + 1] == (sail.sail_number or "to follow")
        assert lines[at + 2] == sail.owner
        assert lines[at + 3] == f"DW170, {sail.colour}"


@pytest.mark.parametrize(
    "fact",
    [
        "Quote Q-2026-0001",
        "Valid until 01 Apr 2026",
        "Designed under edition 2025 of the class rules (in force from 01 Mar 2025); the class's measurer certifies.",
        "Deposit 50 % of the total",
        "NOT included",
        "NOT chosen",
        "Assumed, please check",
        "Starboard side (luff on the right)",
        "That check is the loft's own and is no certificate",
        "official safety guidance",
        "DW170: woven polyester 170 g/m²",
        "Sail number to follow: reckoned with 3 characters a side (line 9)",
    ],
)
def test_facts(text: str, fact: str) -> None:
    assert fact in text


def test_terms_options_and_checks_are_all_there(text: str) -> None:
    batch = sample.result().batch
    for words in (*batch.terms_text, *batch.included, *batch.not_included, *(f"{c.rule} {c.text}" for c in batch.by_eye)):
        assert words in text
    for sail in batch.sails:
        assert ", ".join(sail.not_chosen) in text


def test_limits_stand_beside_the_designed_values(pdf: bytes) -> None:
    lines = reading.lines(pdf)
    design = sample.first_design()
    for room in design.headroom:
        at = next(
            i
            for i, line in enumerate(lines)
            if line == room.limit.rule and wording.label(room.limit.measurement).startswith(lines[i + 1].partition(" (")[0])
        )
        row = lines[at : at + 8]
        assert wording.limit_text(room.limit) in row
        assert wording.designed_text(room) in row


def test_each_finished_sail_is_drawn_with_its_sizes(pdf: bytes) -> None:
    lines = reading.lines(pdf)
    for design in sample.result().designs.values():
        sizes = dict(design.sizes)
        for name in ("luff_length", "leech_length", "foot_length"):
            assert wording.size(sizes[name]) in lines


def test_the_link_is_printed_followed_and_in_the_code(pdf: bytes) -> None:
    page = reading.reader(pdf).pages[0]
    followed = [a.get_object()["/A"]["/URI"] for a in page["/Annots"]]
    assert set(followed) == {sample.LINK}
    assert sample.LINK in reading.text(pdf).replace(" ", "")


def test_a_draft_says_so_on_every_page() -> None:
    pdf = quote_pdf(sample.draft())
    for words in reading.page_words(pdf):
        assert "DRAFT" in words
    text = reading.text(pdf)
    assert "DRAFT – not an offer" in text
    assert "this draft cannot be accepted" in text
    assert "Q-2026" not in text


def test_an_issued_quote_is_no_draft(text: str) -> None:
    assert "DRAFT" not in text


def test_two_renders_are_the_same_bytes(pdf: bytes) -> None:
    assert quote_pdf(sample.quote_document()) == pdf


def test_pages_are_few_and_numbered(pdf: bytes) -> None:
    pages = reading.page_words(pdf)
    assert len(pages) == 4
    for number, words in enumerate(pages, start=1):
        assert f"page {number} of {len(pages)}" in words


@pytest.fixture(scope="module")
def hard() -> bytes:
    return quote_pdf(sample.with_hard_names())


class TestHardNames:
    def test_markup_stays_text_and_reads_no_file(self, hard: bytes) -> None:
        text = reading.text(hard).replace(" ", "")
        assert '<imgsrc="file:///etc/hostname"/>' in text
        assert "<b>Tom&Sons</b>" in text
        assert "&amp;<para>" in text
        assert all("/XObject" not in page["/Resources"] for page in reading.reader(hard).pages)

    def test_right_to_left_names_are_drawn_from_the_right(self, hard: bytes) -> None:
        """The reader turns each word back, so letters come in reading order; the words stand as drawn, the first at the right."""
        lines = reading.lines(hard)
        assert "הצפון שחף" in lines
        arabic = next(line for line in lines if "\ufeae" in line)  # reh in its final form: the letters are joined
        assert arabic.split()[-1].startswith("\ufec3")  # the first word begins with tah in its initial form

    def test_what_cannot_be_printed_is_substituted(self, hard: bytes) -> None:
        text = reading.text(hard)
        assert "Turnstone [U+1F426]" in text
        assert "[U+9D0E]" in text

    def test_control_characters_are_gone(self, hard: bytes) -> None:
        assert "Bell and break" in reading.text(hard)
        assert not any(c in reading.text(hard) for c in "\x07\u202e")

    def test_long_names_wrap_inside_their_column(self, hard: bytes) -> None:
        text = reading.text(hard).replace(" ", "")
        assert "X" * 60 in text
        assert "Y" * 60 in text
        for line in reading.lines(hard):
            assert not re.search("X{30}|Y{30}", line), "wider than its column"

    def test_prices_are_untouched(self, hard: bytes, pdf: bytes) -> None:
        assert price_rows(reading.lines(hard)) == price_rows(reading.lines(pdf))

    def test_pages_stay_few(self, hard: bytes) -> None:
        assert len(reading.reader(hard).pages) <= 5


def test_items_passed_on_are_added_up() -> None:
    def item(label: str, price: str) -> PriceItem:
        return PriceItem(label, 1, Decimal(price), Decimal(price), Decimal(0), Decimal(price), "S", pass_through=True)

    sails = sample.result().batch.sails[:3]
    given = (("a", "18.00"), ("a", "18.00"), ("a", "20.00"))
    sails = tuple(replace(s, items=(item(*g),)) for s, g in zip(sails, given, strict=True))
    found = quote_prices.passed_on(sails)
    assert [(i.label, i.quantity, i.unit_price, i.net) for i in found] == [
        ("a", 2, Decimal("18.00"), Decimal("36.00")),
        ("a", 1, Decimal("20.00"), Decimal("20.00")),
    ]


def private(document: QuoteDocument) -> QuoteDocument:
    return replace(document, batch=replace(document.batch, buyer="private"))


def test_a_private_buyer_sees_the_price_with_tax() -> None:
    document = sample.quote_document()
    sail = document.batch.sails[0]
    shown = replace(sail.items[0], shown_unit_price=Decimal("1234.56"))
    sails = (replace(sail, items=(shown, *sail.items[1:])), *document.batch.sails[1:])
    lines = reading.lines(quote_pdf(private(replace(document, batch=replace(document.batch, sails=sails)))))
    at = lines.index(sail.boat)
    assert "with tax" in " ".join(lines)
    assert "1,234.56" in lines[at : at + 8]


def test_both_areas_stand_on_paper_and_a_difference_that_nothing_explains_is_flagged() -> None:
    doc = sample.quote_document()
    design = sample.first_design()
    text = reading.text(quote_pdf(doc))
    inside, published = (f"{area.quantize(Decimal('0.01'))} m²" for area in (design.area_m2, design.formula_area_m2))
    assert f"{inside} inside the edge; formula {published}: the outline is " in text
    assert "look at the sizes again" not in text
    odd = replace(design, area_m2=design.area_m2 * Decimal("1.3"))
    flagged = reading.text(quote_pdf(replace(doc, designs={**doc.designs, design.key: odd})))
    assert "more than the round of the edges explains: look at the sizes again" in flagged


def test_the_edition_of_the_day_stands_on_the_first_page() -> None:
    doc = sample.quote_document()
    notes = ("OUTSIDE edition 2027: half width 1,470 mm is 10 mm over the maximum of 1,460 mm (C.6.3 (f))",)
    sails = (replace(doc.batch.sails[0], edition_notes=notes), *doc.batch.sails[1:])
    first = reading.page_words(quote_pdf(replace(doc, batch=replace(doc.batch, sails=sails))))[0]
    assert "The rules on the day" in first and f"{notes[0]} (line 1)" in first
    assert "The rules on the day" not in reading.text(quote_pdf(doc))


def test_a_sail_that_was_sold_as_non_class_on_the_floor_is_marked_in_the_price_table_too() -> None:
    lines = reading.lines(quote_pdf(replace(sample.quote_document(), settled={2: ("luff length 5,240 mm is 10 mm over",)})))
    table = lines[: lines.index("Net total")]
    rows = [table.index(boat) for boat in ("Heron", "Dipper", "Redshank", "Goosander")]
    assert [wording.NOT_LEGAL in " ".join(table[a:b]) for a, b in pairwise(rows)] == [False, True, False]


def test_what_was_assumed_stands_with_its_effect_on_the_area() -> None:
    told = "Top width: the pattern's 132 mm (1 % more would change the area by less than 0.001 m²)"
    assert told in reading.text(quote_pdf(sample.quote_document()))


def test_the_day_of_certification_stands_beside_the_edition() -> None:
    doc = sample.quote_document()
    assert {s.certified_on for s in doc.batch.sails} == {date(2026, 4, 13)}  # six weeks after the day that it is priced on
    expected = "the class's measurer certifies. Expected to be certified about 13 Apr 2026, when the lead time ends."
    assert expected in reading.text(quote_pdf(doc))
    early = replace(doc.batch.sails[0], certified_on=date(2026, 3, 20))
    text = reading.text(quote_pdf(replace(doc, batch=replace(doc.batch, sails=(early, *doc.batch.sails[1:])))))
    assert "certified about 20 Mar 2026 to 13 Apr 2026, the days asked for, else 13 Apr 2026, when the lead time ends." in text
    text = reading.text(
        quote_pdf(replace(doc, batch=replace(doc.batch, sails=tuple(replace(s, certified_on=date(2026, 3, 20)) for s in doc.batch.sails))))
    )
    assert "Expected to be certified about 20 Mar 2026, the day asked for." in text
