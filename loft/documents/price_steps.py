"""The quote's price by the number of sails: a drawing of its steps, and the same figures as a table."""

from __future__ import annotations

from reportlab.platypus import Flowable, KeepTogether

from costing.quote import PricedBatch
from loft.documents import layout, wording
from loft.documents.drawing import ACCENT, HAIR, SOFT, Drawing, Item, Letters, Pen, Stroke
from loft.documents.figure import Figure

_WIDTH, _HEIGHT, _FOOT, _TOP = 96.0, 34.0, 6.0, 4.0


def price_steps(batch: PricedBatch) -> list[Flowable]:
    """Nothing where the terms have no tiers."""
    if not batch.steps:
        return []
    ends = [_range(step.from_sails, after.from_sails - 1) for step, after in zip(batch.steps, batch.steps[1:], strict=False)]
    ends.append(f"{batch.steps[-1].from_sails} and more")
    rows = [
        (sails, wording.rate(step.discount) if step.discount else wording.DASH, wording.amount(step.net, batch.currency))
        for sails, step in zip(ends, batch.steps, strict=True)
    ]
    table = layout.table(("Sails", "Discount", f"A sail, net {batch.currency}"), rows, (26, 20, 28), right=(1, 2))
    words = "For the sail of which this quote has most, without what is charged on at cost. The number on the day of acceptance counts"
    words += f", with the {wording.sails(batch.joined)} in the batch of order {batch.joins}." if batch.joins else "."
    return [
        KeepTogether(
            [
                layout.heading("The price by the number of sails", layout.SUBHEADING),
                layout.side_by_side([Figure(drawing(batch), "LEFT")], [table], (100, 76)),
                layout.text(words, layout.SMALL),
            ]
        )
    ]


def _range(first: int, last: int) -> str:
    return f"{first} to {last}" if first < last else str(first)


def drawing(batch: PricedBatch) -> Drawing:
    """The net price of a sail against the number of sails, to a little past the last step; this quote's number is marked."""
    count, first = batch.counted, batch.steps[0].from_sails
    most = max(round(batch.steps[-1].from_sails * 1.25), count + 1, batch.steps[-1].from_sails + 2)
    high, low = float(batch.steps[0].net), float(batch.steps[-1].net)

    def x(sails: float) -> float:
        return 2 + (sails - first) * (_WIDTH - 12) / (most - first)

    def y(net: float) -> float:
        return _FOOT + 3 + (net - low) * (_HEIGHT - _FOOT - _TOP - 5) / (high - low)

    items: list[Item] = [Stroke(((2, _FOOT), (_WIDTH - 8, _FOOT)), Pen(0.2, SOFT))]
    starts = [step.from_sails for step in batch.steps]
    line: list[tuple[float, float]] = []
    for step, end in zip(batch.steps, [*starts[1:], most], strict=True):
        at = y(float(step.net))
        line += [(x(step.from_sails), at), (x(end), at)]
        items.append(Stroke(((x(step.from_sails), _FOOT), (x(step.from_sails), at)), Pen(0.12, HAIR, (0.8, 0.8))))
        items.append(Letters(str(step.from_sails), (x(step.from_sails), _FOOT - 4), 2.5, colour=SOFT))
        items.append(Letters(wording.amount(step.net, batch.currency), (x(step.from_sails) + 0.8, at + 1), 2.5, "start"))
    items.append(Stroke(tuple(line), Pen(0.5, ACCENT)))
    reached = [step for step in batch.steps if step.from_sails <= count][-1]
    here, at = x(count), y(float(reached.net))
    items.append(Stroke(((here - 0.9, at), (here, at - 0.9), (here + 0.9, at), (here, at + 0.9)), None, True, ACCENT))
    aside = 0.8 if count in starts else -0.9  # beside the dashes where a step begins
    items.append(Letters(f"{'with ' if batch.joins else ''}this quote: {count}", (here + aside, at - 3.8), 2.4, "start", colour=ACCENT))
    return Drawing(_WIDTH, _HEIGHT, tuple(items), "The net price of a sail by the number of sails")
