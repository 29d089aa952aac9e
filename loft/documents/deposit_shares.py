"""The batch's total and deposit by boat, so that a treasurer can collect them."""

from __future__ import annotations

from decimal import Decimal

from reportlab.platypus import Flowable, KeepTogether

from costing import money
from costing.quote import PricedBatch
from loft.documents import layout, quote_designs, wording
from loft.documents.content import QuoteDocument

_BLOCKS = 3
_NAMES, _WIDTHS = ("", "Boat", "With tax", "Deposit"), (6.0, 22.6, 15.5, 14.5)


def deposit_shares(batch: PricedBatch) -> tuple[tuple[Decimal, Decimal], ...]:
    """Total with tax and deposit of each line, in order: they add up to the batch's to the cent (largest remainder)."""
    fractions = {tax.code: tax.fraction for tax in batch.totals.taxes}
    weights = [sum((i.net * (1 + fractions[i.tax]) for i in sail.items), Decimal(0)) for sail in batch.sails]
    currency = money.currency(batch.currency)
    gross = money.share(batch.totals.gross, weights, currency)
    return tuple(zip(gross, money.share(batch.totals.deposit, gross, currency), strict=True))


def has_table(doc: QuoteDocument) -> bool:
    """Whether the quote ends with the deposit by boat: not for one boat, where nothing is due, or of a change."""
    return len(doc.batch.boats()) > 1 and bool(doc.batch.totals.deposit) and not doc.batch.change_of


def deposit_table(doc: QuoteDocument) -> list[Flowable]:
    """Deposit by boat, three boats to a row; nothing for one boat, where nothing is due, or of a change, for which none is asked anew."""
    batch, boats = doc.batch, doc.batch.boats()
    if not has_table(doc):
        return []
    shares = deposit_shares(batch)
    cells = []
    for sails in boats:
        numbers = [n for n, _ in sails]
        sums = (sum(both, Decimal(0)) for both in zip(*(shares[n - 1] for n in numbers), strict=True))
        cells.append((quote_designs.line_numbers(numbers), sails[0][1].boat, *(wording.amount(v, batch.currency) for v in sums)))
    high = -(-len(cells) // _BLOCKS)
    cells += [("", "", "", "")] * (high * _BLOCKS - len(cells))
    rows = [[cell for block in range(_BLOCKS) for cell in cells[block * high + row]] for row in range(high)]
    right = [block * 4 + column for block in range(_BLOCKS) for column in (2, 3)]
    table = layout.table(_NAMES * _BLOCKS, rows, _WIDTHS * _BLOCKS, right=right, style=layout.FINE, pad=0.8)
    total, deposit = (wording.amount(v, batch.currency) for v in (batch.totals.gross, batch.totals.deposit))
    words = f"They add up to {total} with tax and {deposit} deposit. What is charged on at cost is in each boat's amounts."
    title = layout.text(f"Deposit by boat, in {batch.currency}", layout.SUBHEADING)
    return [KeepTogether([title, table, layout.gap(0.6), layout.text(words, layout.SMALL)])]
