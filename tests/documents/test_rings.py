"""Rings away from the corners: a reef is drawn and its places are given, with the rule that limits its height."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from costing.quote import Design, PricedSail
from loft.documents import finisher_sheet_pdf, quote_pdf, rings, sewer_sheet_pdf, wording
from loft.documents.drawing import Drawing, Letters, Stroke
from loft.documents.sail_drawing import dimensioned_sail, making_sail
from tests.documents import reading, sample
from tests.quote import test_reefs


@cache
def reefed() -> tuple[PricedSail, Design]:
    return test_reefs.made(test_reefs.LUFF, test_reefs.LEECH, limits=(test_reefs.HEIGHT,))


def test_each_place_has_its_point_its_distance_and_its_source() -> None:
    _, design = reefed()
    (room,) = (r for r in design.headroom if r.limit.measurement == "reef_height")
    found = {place.name: (place.measured.partition(" point")[0], place.source) for place in rings.places(design)}
    assert found == {"cunningham": ("tack", "pattern"), "reef 1 luff": ("tack", "C.8"), "reef 1 leech": ("clew", "pattern")}
    assert [place.mm for place in rings.places(design) if place.source == "C.8"] == [wording.designed_text(room)]


def test_the_reef_line_is_drawn_from_ring_to_ring_with_its_sizes() -> None:
    _, design = reefed()
    for drawn in (dimensioned_sail(design), making_sail(design)):
        dashed = [item for item in drawn.items if isinstance(item, Stroke) and item.pen is not None and item.pen.dashes]
        assert len(dashed) == 1 and len(dashed[0].line) == 2
        assert all(_middle(dashed[0].line[end]) in _circles(drawn) for end in (0, 1))
    said = [item.text for item in dimensioned_sail(design).items if isinstance(item, Letters)]
    places = {place.name: place.mm for place in rings.places(design)}
    assert f"reef 1 {places['reef 1 luff']}" in said and "C.8" in said
    assert f"leech {places['reef 1 leech']}" in said and "from clew · pattern" in said
    assert min(item.height for item in dimensioned_sail(design).items if isinstance(item, Letters)) >= 1.9  # none too small to read


def _middle(point: tuple[float, float]) -> tuple[float, float]:
    return round(point[0], 3), round(point[1], 3)


def _circles(drawn: Drawing) -> list[tuple[float, float]]:
    """The middles of all closed lines of sixteen points, paper mm."""
    lines = [item.line for item in drawn.items if isinstance(item, Stroke) and len(item.line) == 16]
    return [_middle((sum(x for x, _ in line) / 16, sum(y for _, y in line) / 16)) for line in lines]


def test_papers_say_that_the_class_requires_it_and_where_its_rings_go() -> None:
    sail, design = reefed()
    ticket = replace(sample.ticket(), sail=sail, design=design)
    doc = sample.quote_document()
    papers = (
        quote_pdf(replace(doc, batch=replace(doc.batch, sails=(sail,)), designs={design.key: design})),
        sewer_sheet_pdf(ticket), finisher_sheet_pdf(ticket),
    )  # fmt: skip
    texts = [reading.text(pdf) for pdf in papers]
    assert all("Reef (required, C.8)" in text for text in texts)
    for place in rings.places(design):
        assert all(f"{place.name} {place.mm}" in text for text in texts[1:])


def test_a_sail_that_wears_no_number_has_no_colour_for_one() -> None:
    sail, design = reefed()
    bare = replace(sail, numbers=None, number_colour="", operations=tuple(o for o in sail.operations if "number" not in o.drivers))
    text = reading.text(finisher_sheet_pdf(replace(sample.ticket(), sail=bare, design=design)))
    assert "Number colour" not in text and "214, not worn on this sail" in text
    unstated = reading.text(finisher_sheet_pdf(replace(sample.ticket(), sail=replace(sail, number_colour=""), design=design)))
    assert "Number colour not stated: ask" in unstated
