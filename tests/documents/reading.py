"""Reading a PDF back: its text as one string or as lines, page by page."""

from __future__ import annotations

import re
from decimal import Decimal
from io import BytesIO

from pypdf import PdfReader

#: An amount as the paper writes it: thousands separators and two decimals.
AMOUNT = re.compile(r"^−?\d{1,3}(,\d{3})*\.\d{2}$")


def reader(pdf: bytes) -> PdfReader:
    return PdfReader(BytesIO(pdf))


def lines(pdf: bytes) -> list[str]:
    """Every printed line of every page, in order: one for each cell of a table."""
    return [line.strip() for page in reader(pdf).pages for line in page.extract_text().splitlines() if line.strip()]


def text(pdf: bytes) -> str:
    """All text with white space as single blanks."""
    return " ".join(" ".join(lines(pdf)).split())


def amount(words: str) -> Decimal:
    """A printed amount as a number; ValueError when it is none."""
    if not AMOUNT.match(words):
        raise ValueError(f"{words!r} is not an amount")
    return Decimal(words.replace(",", "").replace("−", "-"))


def page_words(pdf: bytes) -> list[str]:
    """The text of each page."""
    return [" ".join(page.extract_text().split()) for page in reader(pdf).pages]
