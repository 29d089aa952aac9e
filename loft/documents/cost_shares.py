"""What the sails of a batch share: each set-up, who bears it and each sail's share of it to the cent."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from reportlab.platypus import Flowable

from costing.quote import CostLine, PricedBatch
from loft.documents import layout, quote_designs, wording


def is_share(line: CostLine) -> bool:
    """Whether a cost line is a share of something that several sails bear."""
    return line.unit == "share"


def share_sum(lines: Sequence[CostLine]) -> Decimal:
    """All shares among the lines of one sail."""
    return sum((line.amount for line in lines if is_share(line)), Decimal(0))


def shares(batch: PricedBatch) -> list[Flowable]:
    """One row a sail with its shares and their sum, then how each was found; nothing when there are none."""
    labels = dict.fromkeys(line.label for sail in batch.sails for line in sail.cost_lines if is_share(line))
    if not labels:
        return []
    rows: list[list[layout.Cell]] = []
    for number, sail in enumerate(batch.sails, start=1):
        mine = {line.label: line.amount for line in sail.cost_lines if is_share(line)}
        amounts = [wording.amount(mine.get(label, Decimal(0)), batch.currency) for label in labels]
        rows.append([str(number), sail.label, *amounts, wording.amount(share_sum(sail.cost_lines), batch.currency)])
    widths = (8, 47, *([180 / len(labels)] * len(labels)), 20)
    right = range(2, len(labels) + 3)
    return [
        layout.heading("Shares of set-ups, by sail", layout.HEADING),
        layout.table(("", "Sail", *labels, "Sum"), rows, widths, right=tuple(right), style=layout.FINE, pad=1),
        layout.gap(1.5),
        _found(batch),
    ]


def _found(batch: PricedBatch) -> Flowable:
    bearers: dict[tuple[str, str, str], list[int]] = {}
    for number, sail in enumerate(batch.sails, start=1):
        for line in sail.cost_lines:
            if is_share(line):
                bearers.setdefault((line.label, line.how, line.source), []).append(number)
    rows = [
        (label, wording.spelled(how), wording.spelled(source), quote_designs.line_numbers(numbers))
        for (label, how, source), numbers in bearers.items()
    ]
    names = ("Share", "How it was found", "Source of the unit cost", "Lines")
    return layout.table(names, rows, (70, 70, 80, 35), style=layout.FINE, pad=1)
