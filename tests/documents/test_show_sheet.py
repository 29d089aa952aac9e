"""The show sheet read back from its PDF: every price of the list, the offers that are not over, and nothing from a network."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import date
from decimal import Decimal

from pypdf import PdfReader

from loft import documents

SAIL = documents.ShowSail(
    name="Mainsail, cross-cut", cloth="woven polyester 170 g/m2", price=Decimal(1135), variant=Decimal(60),
    options=(("window", Decimal(35)),), included=("Tell-tales",),
    offers=(documents.ShowPrice("Spring show", Decimal(1045), date(2026, 3, 8), date(2026, 3, 6)),),
)  # fmt: skip
SHEET = documents.ShowSheet(
    letterhead=documents.Letterhead("Larkfield Sail Loft", ("3 Quay Lane",), "loft@larkfield.example", "", "", "%d %b %Y"),
    class_name="Skerling 13", season="2026", reference="list 2026, version 1", printed_on=date(2026, 3, 2), valid_to=date(2026, 12, 31),
    currency="GBP", tax_words="with 20 % VAT", sails=(SAIL,), included=("sail bag",), not_included=("delivery",),
    passed_on=(("Royalty label", Decimal("21.60")),), lead_time="4 to 6 weeks",
)  # fmt: skip


def words(sheet: documents.ShowSheet) -> str:
    pages = PdfReader(io.BytesIO(documents.show_sheet_pdf(sheet))).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def test_it_says_everything_of_the_list() -> None:
    found = words(SHEET)
    for said in (
        "Skerling 13", "season 2026, GBP with 20 % VAT, until 31 Dec 2026", "1,135.00", "Spring show price from 06 Mar 2026 to 08 Mar 2026",
        "1,045.00", "with window", "+ 35.00", "+ 60.00", "In the price: Tell-tales.", "Royalty label: GBP 21.60", "printed 02 Mar 2026",
        "whether one measures is for the class's measurer to say",
    ):  # fmt: skip
        assert said in found, said


def test_during_the_show_only_its_end_is_said() -> None:
    assert "Spring show price to 08 Mar 2026" in words(replace(SHEET, printed_on=date(2026, 3, 7)))


def test_twenty_sails_go_on_as_many_pages_as_they_need() -> None:
    reader = PdfReader(io.BytesIO(documents.show_sheet_pdf(replace(SHEET, sails=(SAIL,) * 20))))
    assert len(reader.pages) > 1
    assert sum(page.extract_text().count("Mainsail, cross-cut") for page in reader.pages) == 20


def test_it_fetches_nothing() -> None:
    content = documents.show_sheet_pdf(SHEET)
    assert b"/URI" not in content and b"http" not in content.replace(b"http://www.w3.org", b"")
