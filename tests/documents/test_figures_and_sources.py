"""What a customer checks on a quote: figures that are whole, where each size comes from, and no row that vanishes."""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal

import pytest
from reportlab.lib.units import mm
from reportlab.platypus import Paragraph

from costing.quote import Design
from costing.rules import Headroom, Limit, Undetermined
from loft.documents import QuoteDocument, deposit_shares, layout, quote_designs, quote_pdf, quote_prices, wording
from loft.documents.sail_drawing import dimensioned_sail
from tests.documents import reading, sample

D = Decimal
RATIO = Limit("ratio", "C.9", D("0.65"), None, "", name="half width over foot", formula="half_width / foot_length")
WEIGHT = Limit("cloth_weight", "Mainsail clause, cloth", D("299.7981881989592439223864802"), None, "7 oz", note="without finish")
REEF = Undetermined(Limit("reef_height", "Mainsail clause, reef", D(1830), None, "1830 mm"), "measure the finished sail")


def document(*rooms: Headroom, left: tuple[Undetermined, ...] = ()) -> QuoteDocument:
    """The association's quote with further limits on every design."""
    doc = sample.quote_document()
    designs = {k: replace(d, headroom=(*d.headroom, *rooms), open_limits=left) for k, d in doc.designs.items()}
    return replace(doc, designs=designs)


def only(doc: QuoteDocument) -> Design:
    return next(iter(doc.designs.values()))


def test_no_figure_of_a_quote_runs_over_four_decimals() -> None:
    value = D("0.9096385542168674698795180723")
    text = reading.text(quote_pdf(document(
        Headroom(RATIO, value, value - D("0.65"), D(0)), Headroom(WEIGHT, D(305), D("5.2018118010407560776135198"), D(0)),
    )))  # fmt: skip
    assert not re.findall(r"\d\.\d{5,}", text)
    assert "0.9096" in text and "min 299.8" in text


def test_every_size_says_where_it_comes_from() -> None:
    text = reading.text(quote_pdf(sample.quote_document()))
    assert re.search(r"foot median [\d,.]+ \(computed from the others\)", text)
    assert "Computed from the others: measured on the outline that the other sizes make." in text
    without = re.findall(r"Without a class limit, mm: (.+?\))\.", text)
    source = r"(the pattern's|as asked for this boat|by the boat's spars|assumed|computed from the others)"
    sizes = [size for listed in without for size in listed.split(", ")]
    assert sizes and all(re.fullmatch(rf"[a-z -]+ [\d,.]+ \({source}\)", size) for size in sizes)


@pytest.mark.parametrize(
    ("label", "measurement", "expected"),
    [
        ("by its limit", "leech_length", "limit"),
        ("by the pattern", "top_width", "pattern"),
        ("measured on the outline", "luff_perpendicular", "computed"),
        ("the roll's", "cloth_weight", "the cloth"),
        ("what the pattern makes", "batten_pocket_count", "pattern"),
        ("a formula of the rule", "ratio", "computed"),
    ],
)
def test_source(label: str, measurement: str, expected: str) -> None:
    assert quote_designs.source(only(sample.quote_document()), measurement) == expected, label


def test_a_limit_that_stands_open_keeps_its_row_and_its_condition_is_said() -> None:
    text = reading.text(quote_pdf(document(Headroom(WEIGHT, D(305), D("5.2"), D(0)), left=(REEF,))))
    assert "Reef above the tack Mainsail clause, reef min 1,830 – – measure" in text
    assert "Cloth weight (g/m²) (Mainsail clause, cloth): without finish." in text
    assert "How the class measures: dry, flat, battens out" in text


def test_a_long_rule_stands_under_its_measurement_on_one_line() -> None:
    lines = reading.lines(quote_pdf(document(left=(REEF,))))
    assert "Mainsail clause, reef" in lines and "C.6.3 (a)" in lines


@pytest.mark.parametrize(("figure", "width_mm"), [("341.5", 10.0), ("2,994.95", 13.5), ("12,345,678.90", 22.0)])
def test_a_figure_is_made_smaller_and_not_broken(figure: str, width_mm: float) -> None:
    (row,) = layout.table((), [(figure,)], [width_mm], right=(0,), style=layout.STEP)._cellvalues
    if isinstance(row[0], Paragraph):
        row[0].wrap(width_mm * mm - 6, 1000)
        assert len(row[0].blPara.lines) == 1
    else:
        assert row[0] == figure


def test_large_prices_stand_whole_in_every_column() -> None:
    doc = sample.quote_document()
    sails = tuple(
        replace(s, items=tuple(replace(i, unit_price=D("102994.95"), shown_unit_price=D("123593.94"), net=D("102994.95")) for i in s.items))
        for s in doc.batch.sails
    )
    for buyer in ("private", "trade"):
        table = quote_prices.price_table(replace(doc, batch=replace(doc.batch, sails=sails, buyer=buyer)))[0]
        cells = [cell for row in table._cellvalues for cell in row]  # type: ignore[attr-defined]
        assert cells.count(wording.amount(D("102994.95"), "GBP")) == 2 * 12 + 2  # plain text: one line at its full size
        assert sum(table._argW) <= 176.5 * mm  # type: ignore[attr-defined]


def test_the_deposit_by_boat_is_announced_where_it_stands() -> None:
    doc = sample.quote_document()
    alone = replace(doc, batch=replace(doc.batch, sails=doc.batch.sails[:1]))
    assert deposit_shares.has_table(doc) and "(by boat: at the end)" in reading.text(quote_pdf(doc))
    assert not deposit_shares.has_table(alone) and "at the end" not in reading.text(quote_pdf(alone))


def test_the_drawing_names_sources_that_are_short() -> None:
    design = only(sample.quote_document())
    rooms = tuple(replace(r, limit=replace(r.limit, rule="Mainsail clause, half width")) if r.limit.measurement == "half_width" else r
                  for r in design.headroom if r.limit.measurement != "upper_width")  # fmt: skip
    free = tuple(t for t in design.targets if t.measurement != "upper_width")
    texts = dimensioned_sail(replace(design, headroom=rooms, targets=free)).texts
    assert "Mainsail clause, half width" not in texts  # it stands in the table
    upper = next(i for i, words in enumerate(texts) if words.startswith("upper "))
    assert texts[upper + 1] == "computed"
