"""The cost sheet: every figure can be followed with a pencil."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from itertools import takewhile

import pytest

from loft.documents import cost_sheet_pdf, wording
from tests.documents import reading, sample


@pytest.fixture(scope="module")
def lines() -> list[str]:
    return reading.lines(cost_sheet_pdf(sample.cost_sheet()))


@pytest.fixture(scope="module")
def text(lines: list[str]) -> str:
    return " ".join(" ".join(lines).split())


def test_the_margin_can_be_worked_out(lines: list[str]) -> None:
    """(net - pass-through - cost) / (net - pass-through)."""
    net, passed_on, own, cost, margin = (
        reading.amount(lines[lines.index(label) + 1])
        for label in ("Net", "of which charged on at cost", "Net of what the loft makes", "Cost of what the loft makes", "Gross margin")
    )
    assert own == net - passed_on
    assert margin == own - cost
    fraction = (margin / own * 100).quantize(Decimal("0.1"), ROUND_HALF_UP)
    assert any(line.startswith(f"Margin {fraction} %") for line in lines)


def test_thresholds_stand_beside_the_margin(text: str) -> None:
    assert "target 42 %, warning below 35 %, floor 25 %" in text


def test_quantity_times_unit_cost_is_the_amount_on_every_line(lines: list[str]) -> None:
    """Read from the page alone; the sum of the first sail's lines is its total."""
    start = next(i for i, line in enumerate(lines) if line.startswith("Cost of one sail, lines 1"))
    stop = next(i for i in range(start, len(lines)) if lines[i].startswith("Total of all"))
    total, count = Decimal(0), 0
    for i in range(start, stop - 2):
        unit_cost, amount = lines[i], lines[i + 1]
        if len(unit_cost.partition(".")[2]) == 4 and reading.AMOUNT.match(amount):
            quantity = Decimal(lines[i - 2].replace(",", ""))
            exact = (quantity * Decimal(unit_cost.replace(",", ""))).quantize(Decimal("0.01"), ROUND_HALF_UP)
            assert abs(exact - reading.amount(amount)) <= Decimal("0.01"), lines[i - 3 : i + 2]
            total, count = total + reading.amount(amount), count + 1
    mine = sample.result().batch.sails[0].cost_lines
    assert count == sum(line.unit != "share" for line in mine)
    shares = shares_of(lines)[1]
    assert reading.amount(lines[stop + 1]) == total + shares[-1]
    assert lines[stop] == f"Total of all {len(mine)} lines"


def shares_of(lines: list[str]) -> dict[int, list[Decimal]]:
    """The row of each line of the batch in the table of shares: its shares and their sum."""
    table = lines[lines.index("Shares of set-ups, by sail") : lines.index("How it was found")]
    found: dict[int, list[Decimal]] = {}
    for i, cell in enumerate(table[:-2]):
        if cell.isdigit() and reading.AMOUNT.match(table[i + 2]):
            found[int(cell)] = [reading.amount(c) for c in takewhile(reading.AMOUNT.match, table[i + 2 :])]
    return found


def test_shares_add_up_by_sail_and_over_the_batch(lines: list[str]) -> None:
    """Each row's sum, and each order-wide set-up over all sails, against the priced lines."""
    batch, found = sample.result().batch, shares_of(lines)
    assert list(found) == list(range(1, len(batch.sails) + 1))
    for number, sail in enumerate(batch.sails, start=1):
        *shares, total = found[number]
        assert sum(shares) == total
        assert [s for s in shares if s] == [line.amount for line in sail.cost_lines if line.unit == "share" and line.amount]
    assert "20 min × 0.6556 = 13.11, borne by 12 sails" in " ".join(lines)
    assert sum(shares[0] for shares in found.values()) == Decimal("13.11")


def test_no_word_is_broken_in_the_group_column(lines: list[str]) -> None:
    assert "pass-through" in lines
    assert "consumables" in lines


def test_the_way_from_cost_to_unit_price_is_printed(lines: list[str], text: str) -> None:
    """Cost in the batch, the lines that are dearer for a sail made alone, their sum, and the division by 1 - target."""
    sail = sample.result().batch.sails[0]
    start = next(i for i, line in enumerate(lines) if line.startswith("Unit price, lines 1"))
    stop = lines.index("More when made alone", start)
    unit_costs = [i for i in range(start, stop) if len(lines[i].partition(".")[2]) == 4]
    more = Decimal(0)
    for i in unit_costs:
        alone, in_batch, difference = (reading.amount(lines[i + k]) for k in (1, 2, 3))
        exact = Decimal(lines[i - 2].replace(",", "")) * Decimal(lines[i].replace(",", ""))
        assert abs(exact - alone) <= Decimal("0.005"), lines[i - 3 : i + 4]
        assert alone - in_batch == difference
        more += difference
    assert len(unit_costs) == len(sail.alone_lines) > 5
    assert reading.amount(lines[stop + 1]) == more == sail.one_off_cost - sail.cost
    assert f"{sail.one_off_cost} / (1 − 0.42) = {sail.items[0].unit_price}" in text


def test_later_unit_prices_add_up_with_the_lines_alike(lines: list[str]) -> None:
    """Line 2's table: the lines that are otherwise and the sum of those as for line 1 make what it costs more alone."""
    sail = sample.result().batch.sails[1]
    start = lines.index("Unit price, line 2")
    stop = lines.index("More when made alone", start)
    at = next(i for i in range(start, stop) if lines[i].endswith("lines as for line 1"))
    own = [reading.amount(lines[i + 3]) for i in range(start, at) if len(lines[i].partition(".")[2]) == 4]
    assert len(own) + int(lines[at].split()[0]) == len(sail.alone_lines)
    assert sum(own) + reading.amount(lines[at + 1]) == reading.amount(lines[stop + 1]) == sail.one_off_cost - sail.cost


def test_every_sail_has_its_total(text: str) -> None:
    for sail in sample.result().batch.sails:
        total = sum((line.amount for line in sail.cost_lines), Decimal(0))
        assert f"Total of all {len(sail.cost_lines)} lines {total:,.2f} line" in text


def test_sources_and_gaps_are_there(text: str) -> None:
    sail = sample.result().batch.sails[0]
    for line in sail.cost_lines:
        assert wording.spelled(line.source) in text
    lay = sample.first_design().lays[0]
    assert wording.percent(lay.gap_fraction, 1) in text
    assert wording.percent(lay.yield_fraction, 1) in text


def test_the_batch_lay_stands_beside_single_ones(text: str) -> None:
    (both,) = sample.cost_sheet().batch_lays
    saved = wording.metres(both.one_by_one_mm - both.together_mm, 3)
    assert f"DW170 2 {wording.metres(both.one_by_one_mm, 3)} {wording.metres(both.together_mm, 3)} {saved}" in text


def test_it_is_for_the_loft_only_on_every_page() -> None:
    for words in reading.page_words(cost_sheet_pdf(sample.cost_sheet())):
        assert "for the loft only" in words


def test_two_renders_are_the_same_bytes() -> None:
    assert cost_sheet_pdf(sample.cost_sheet()) == cost_sheet_pdf(sample.cost_sheet())
