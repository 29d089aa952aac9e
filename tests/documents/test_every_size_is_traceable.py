"""A quote of mainsail, headsail and spinnaker, read back: beside every size stands where it comes from.

A rule number, what was asked for the boat, the pattern, the word "assumed", or, of a size that follows from such sizes alone, that it is
computed from the others.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from decimal import Decimal
from functools import cache

from costing.quote import BatchRequest, BatchResult, SailRequest, price_batch
from loft.catalogue import formats
from loft.documents import quote_pdf
from tests import skerling
from tests.documents import reading, sample

#: A designed size as papers print it, one decimal at least; no share, area, amount or rule number.
SIZE = re.compile(r"(?<![\d,.])\d{1,3}(?:,\d{3})*\.\d+(?![\d.]| %| m²)")
RULE = re.compile(r"[A-Z]\.\d+(?:\.\d+)? \([a-z]\)")
SOURCES = ("the pattern's", "as asked for this boat", "assumed", "computed from the others")
IN_MM = re.compile(r"\d mm\b")


@cache
def suit() -> BatchResult:
    """A suit of three, and a second mainsail to a boat's own luff."""
    others = tuple(formats.read_pattern(skerling.text(name)) for name in ("sk13_jib_v1.toml", "sk13_spinnaker_v1.toml"))
    sails = (
        SailRequest("row 2", "Heron", "Maud Pellow", "214", pattern="SK13-MAIN"),
        SailRequest("row 3", "Heron", "Maud Pellow", "214", pattern="SK13-JIB"),
        SailRequest("row 4", "Heron", "Maud Pellow", "214", pattern="SK13-SPI", colour="white + accent red"),
        SailRequest("row 5", "Linnet", "Morwenna Fell", None, pattern="SK13-MAIN", sizes={"luff_length": Decimal(5205)}),
    )
    house = replace(skerling.house(), others=others)
    return price_batch(BatchRequest(skerling.CUSTOMER, "trade", sails, skerling.TERMS), house, on=skerling.PRICED_ON)


@cache
def printed() -> tuple[str, ...]:
    """The lines of the suit's quote."""
    result = suit()
    return tuple(reading.lines(quote_pdf(replace(sample.quote_document(), batch=result.batch, designs=result.designs))))


def designs(lines: Sequence[str]) -> list[list[str]]:
    """The lines of each design, from its title on."""
    found: list[list[str]] = []
    for line in lines:
        if re.match(r"Design [A-Z]+ – ", line):
            found.append([])
        if found:
            found[-1].append(line)
    return found


def untraced(lines: Sequence[str]) -> list[str]:
    """Every size of one design that nothing beside it explains."""
    table = lines.index("Headroom") + 1
    rest = next(i for i, line in enumerate(lines) if line.startswith("Without a class limit, mm:"))
    return [*_drawn(lines[:table]), *_tabled(lines[table:rest]), *_remarked(" ".join(lines[rest:]))]


def _drawn(lines: Sequence[str]) -> Iterator[str]:
    """On the drawing the source stands behind the size or below it."""
    for line, below in zip(lines, [*lines[1:], ""], strict=True):
        if SIZE.search(line) and not (RULE.search(line) or "assumed" in line or RULE.fullmatch(below) or below == "assumed"):
            yield line


def _tabled(lines: Sequence[str]) -> Iterator[str]:
    """In the table each row begins with its rule."""
    rule = ""
    for line in lines:
        rule = line if RULE.fullmatch(line) else rule
        if SIZE.search(line) and not rule:
            yield line


def _remarked(text: str) -> Iterator[str]:
    """In the remarks each size has its source in brackets behind it."""
    remark = re.split(r"\.(?= [A-Z]|$)", text)[0]
    for size in SIZE.finditer(remark):
        behind = re.match(r" \(([^)]*)\)", remark[size.end() :])
        if behind is None or behind[1] not in SOURCES:
            yield size[0]


def test_beside_every_designed_size_stands_where_it_comes_from() -> None:
    found = designs(printed())
    assert [lines[0].partition(" – ")[2].partition(",")[0] for lines in found] == [
        "Skerling 13 mainsail", "Skerling 13 headsail", "Skerling 13 spinnaker", "Skerling 13 mainsail",
    ]  # fmt: skip
    sizes = [sum(len(SIZE.findall(line)) for line in lines) for lines in found]
    assert min(sizes) >= 15, sizes  # what is looked at is there
    assert [untraced(lines) for lines in found] == [[], [], [], []]
    assert "As asked for this boat: luff length." in found[3]


def test_what_has_lost_its_source_is_found() -> None:
    headsail = designs(printed())[1]
    gone = [line for line in headsail if line != "assumed"]
    assert {"quarter 1,111.1", "three-quarter 365.1", "upper 188.8"} <= set(untraced(gone))
    first = headsail.index("Headroom") + 1
    assert untraced([line for i, line in enumerate(headsail) if i < first or not RULE.fullmatch(line)])
    bare = [line.replace(" (assumed)", "") for line in headsail]
    assert "188.8" in untraced(bare)


def test_every_other_length_on_the_quote_has_its_source_too() -> None:
    """Before the designs: rules by their number, the rest under the headings that say it was given or is assumed."""
    lines = printed()[: printed().index("What we have designed")]
    given = lines.index("Sizes that you gave us")
    assert list(lines[given + 1 : given + 3]) == [
        "– Line 4, Linnet (number to follow), mainsail (row 5 of the list of boats): luff length 5,205 mm: the sail is made so",
        "Assumed, please check",
    ]
    lengths = [(i, line) for i, line in enumerate(lines) if IN_MM.search(line)]
    assert len(lengths) >= 5
    assert [line for i, line in lengths if not (RULE.match(line) or i > given)] == []
