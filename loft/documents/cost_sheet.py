"""The cost sheet: the loft's own view of a batch, every figure with what it was multiplied from and where it stands."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from reportlab.lib.pagesizes import A4, landscape
from reportlab.platypus import Flowable

from costing.quote import CostLine, PricedBatch, PricedSail
from loft.documents import cost_shares, layout, letterhead, page, quote_designs, wording
from loft.documents.content import CostSheetDocument

_SIZE = landscape(A4)


def cost_sheet(doc: CostSheetDocument) -> page.Sheet:
    """The pages of the cost sheet."""
    name = f"Cost sheet, quote {doc.reference}"
    return page.Sheet(
        story=[
            layout.text(name, layout.TITLE),
            layout.text("For the loft only. Not for the customer.", layout.NOTICE),
            layout.gap(2),
            *_summary(doc),
            *_sails(doc),
            *_lays(doc),
            *cost_shares.shares(doc.batch),
            *_lines(doc),
            *_prices(doc),
        ],
        foot=f"{doc.letterhead.name} · {name} · for the loft only",
        running=(doc.batch.customer, name),
        head=lambda canvas: letterhead.draw_letterhead(canvas, doc.letterhead, _SIZE),
        head_height=letterhead.LETTERHEAD_HEIGHT - 14,
        size=_SIZE,
    )


def _summary(doc: CostSheetDocument) -> list[Flowable]:
    batch = doc.batch
    passed_on = sum((s.pass_through for s in batch.sails), Decimal(0))
    facts: list[tuple[str, layout.Cell]] = [
        ("Customer", batch.customer),
        ("Sails", f"{len(batch.sails)}, {batch.class_name}, {_patterns(batch)}"),
        ("Priced on", wording.day(batch.priced_on, doc.letterhead.date_format)),
        ("Discount", f"{wording.rate(batch.discount)} {batch.discount_reason}"),
        ("Margins", batch.margin_basis or "no overhead is reckoned"),
    ]
    money = [
        ("Net", batch.totals.net),
        ("of which charged on at cost", passed_on),
        ("Net of what the loft makes", batch.totals.net - passed_on),
        ("Cost of what the loft makes", batch.cost),
        *([("of which given away, in no margin", batch.given_cost)] if batch.given_cost else []),
        ("Gross margin", batch.totals.net - passed_on - (batch.cost - batch.given_cost)),
    ]
    rows = [(label, wording.amount(value, batch.currency)) for label, value in money]
    story: list[Flowable] = [
        layout.side_by_side(
            [layout.pairs(facts, (26, 86)), layout.gap(2), *_verdict(doc)], [layout.table((), rows, (70, 30), right=(1,))], (135, 120)
        ),
    ]
    return story + [layout.bullet(f"Warning: {w}", 255, layout.CAUTION) for w in batch.warnings]


def _patterns(batch: PricedBatch) -> str:
    named = ", ".join(f"{p.code} version {p.version}" for p in batch.made_by)
    return f"patterns {named}" if batch.is_mixed else f"pattern {named}"


def _verdict(doc: CostSheetDocument) -> list[Flowable]:
    """The batch's margin against target, warning and floor, in words."""
    batch = doc.batch
    marks = (
        f"target {wording.percent(batch.margin_target)}, warning below {wording.percent(batch.margin_warning)}, "
        f"floor {wording.percent(batch.margin_floor)}"
    )
    return [
        layout.text(f"Margin {margin_text(batch.margin)} – {_judged(doc, batch.margin)}", layout.BIG_BOLD),
        layout.text(marks, layout.SMALL),
    ]


def _judged(doc: CostSheetDocument, margin: Decimal | None) -> str:
    batch = doc.batch
    if margin is None:
        return "given away, not judged"
    if margin < batch.margin_floor:
        return "BELOW THE FLOOR"
    if margin < batch.margin_warning:
        return "below the warning"
    return "on target" if margin >= batch.margin_target else "below target"


def margin_text(margin: Decimal | None) -> str:
    """A margin to a tenth of a per cent, or that there is none."""
    return "none" if margin is None else wording.percent(margin, 1)


def _called(sail: PricedSail) -> layout.Cell:
    return [layout.text(sail.label, layout.CELL), layout.text(wording.NOT_LEGAL, layout.MARK)] if sail.breaches else sail.label


def _sails(doc: CostSheetDocument) -> list[Flowable]:
    letters = quote_designs.design_letters(doc)
    money = doc.batch.currency
    rows = [
        (
            str(n), _called(s), s.owner, letters[s.design_key], wording.amount(s.cost, money),
            wording.amount(s.net - s.pass_through, money), wording.amount(s.pass_through, money),
            wording.amount(s.net, money), margin_text(s.margin), _judged(doc, s.margin),
        )
        for n, s in enumerate(doc.batch.sails, start=1)
    ]  # fmt: skip
    names = ("", "Sail", "Owner", "Design", "Cost", "Net of own work", "Charged on", "Net", "Margin", "")
    return [
        layout.heading("Sails", layout.HEADING),
        layout.table(names, rows, (8, 58, 50, 14, 23, 26, 20, 23, 16, 25), right=(4, 5, 6, 7, 8), pad=1.8),
    ]


def _lines(doc: CostSheetDocument) -> list[Flowable]:
    """All lines of each pattern's first sail but its shares; then, for each further set of lines, what is different from it."""
    groups: dict[tuple[CostLine, ...], list[int]] = {}
    firsts: dict[str, tuple[CostLine, ...]] = {}
    for number, sail in enumerate(doc.batch.sails, start=1):
        own = tuple(line for line in sail.cost_lines if not cost_shares.is_share(line))
        groups.setdefault(own, []).append(number)
        firsts.setdefault(sail.pattern_code, own)
    story: list[Flowable] = []
    for lines, numbers in groups.items():
        first = firsts[doc.batch.sails[numbers[0] - 1].pattern_code]
        changed = lines if lines is first else tuple(line for line in lines if line not in first)
        left_out = [line for line in first if line.code not in {other.code for other in lines}]
        title = f"Cost of one sail, {quote_designs.lines_named(numbers)}"
        if lines is not first:
            title += f": as line {groups[first][0]}, but for"
        story += [layout.heading(title, layout.HEADING), _line_table(doc, changed, left_out, numbers)]
    return story


def _totals(doc: CostSheetDocument, numbers: Sequence[int]) -> list[list[layout.Cell]]:
    """The total of each of these lines of the batch: the same but for their shares."""
    by_shares: dict[tuple[int, Decimal, Decimal], list[int]] = {}
    for number in numbers:
        lines = doc.batch.sails[number - 1].cost_lines
        total = sum((line.amount for line in lines), Decimal(0))
        by_shares.setdefault((len(lines), cost_shares.share_sum(lines), total), []).append(number)
    rows: list[list[layout.Cell]] = []
    for (count, share, total), alike in by_shares.items():
        own, shared, whole = (wording.amount(v, doc.batch.currency) for v in (total - share, share, total))
        how = f"{quote_designs.lines_named(alike)}: {own} + {shared} shares"
        rows.append(["", f"Total of all {count} lines", "", "", "", whole, how, ""])
    return rows


def _line_cells(line: CostLine, currency: str) -> list[layout.Cell]:
    return [
        wording.spelled(line.label), wording.plain(line.quantity), line.unit, f"{line.unit_cost:,.4f}",
        wording.amount(line.amount, currency), wording.spelled(line.how), wording.spelled(line.source),
    ]  # fmt: skip


def _line_table(doc: CostSheetDocument, shown: Sequence[CostLine], left_out: Sequence[CostLine], numbers: Sequence[int]) -> Flowable:
    currency = doc.batch.currency
    rows: list[list[layout.Cell]] = []
    last = ""
    for line in shown:
        rows.append([line.group if line.group != last else "", *_line_cells(line, currency)])
        last = line.group
    rows += [
        ["left out", line.label, "0", line.unit, "", wording.amount(Decimal(0), currency), "not on this sail", ""] for line in left_out
    ]
    totals = _totals(doc, numbers)
    names = ("Group", "Cost line", "Quantity", "Unit", "Unit cost", "Amount", "How the quantity was found", "Source of the unit cost")
    bold = [("FONT", (0, -len(totals)), (5, -1), layout.CELL_BOLD.fontName, layout.FINE.fontSize)]
    widths = (21, 49, 15, 13, 15, 15, 50, 85)
    return layout.table(names, [*rows, *totals], widths, right=(2, 4, 5), style=layout.FINE, pad=1, extra=bold)


def _prices(doc: CostSheetDocument) -> list[Flowable]:
    """The way from each cost to the unit price that the customer sees: what a sail made alone would cost otherwise, and the target."""
    groups: dict[tuple[tuple[CostLine, ...], str], list[int]] = {}
    for number, sail in enumerate(doc.batch.sails, start=1):
        same = (sail.alone_lines, sail.price_how.partition(";")[2])
        groups.setdefault(same, []).append(number)
    story: list[Flowable] = []
    firsts: dict[str, tuple[int, PricedSail]] = {}
    for (alone, _), numbers in groups.items():
        sail = doc.batch.sails[numbers[0] - 1]
        like = firsts.get(sail.pattern_code)
        firsts.setdefault(sail.pattern_code, (numbers[0], sail))
        story += [
            layout.heading(f"Unit price, {quote_designs.lines_named(numbers)}", layout.HEADING),
            layout.text(wording.spelled(sail.price_how), layout.SMALL),
            *([_alone_table(sail, like, doc.batch.currency)] if alone else []),
        ]
    return story


def _more(sail: PricedSail) -> dict[CostLine, tuple[Decimal, Decimal]]:
    """For each line that is otherwise when the sail is made alone: its amount in this batch, and how much more it is alone."""
    here = {line.code: line.amount for line in sail.cost_lines}
    return {line: (here.get(line.code, Decimal(0)), line.amount - here.get(line.code, Decimal(0))) for line in sail.alone_lines}


def _alone_table(sail: PricedSail, like: tuple[int, PricedSail] | None, currency: str) -> Flowable:
    """Every such line; or, beside a line that has its own table, those that are not as there, and the sum of the others."""
    number, other = like or (0, None)
    more, known = _more(sail), _more(other) if other else {}
    rows: list[Sequence[layout.Cell]] = []
    for line, (in_batch, difference) in more.items():
        if known.get(line) != (in_batch, difference):
            name, quantity, unit, unit_cost, amount, _, source = _line_cells(line, currency)
            rows.append(
                (name, quantity, unit, unit_cost, amount, wording.amount(in_batch, currency), wording.amount(difference, currency), source)
            )
    alike = [difference for line, (in_batch, difference) in more.items() if known.get(line) == (in_batch, difference)]
    if alike:
        name = f"{len(alike)} lines as for line {number}"
        rows.append((name, "", "", "", "", "", wording.amount(sum(alike, Decimal(0)), currency), "in its table of unit prices"))
    total = sum((difference for _, difference in more.values()), Decimal(0))
    rows.append(("More when made alone", "", "", "", "", "", wording.amount(total, currency), ""))
    names = ("Cost line", "Quantity", "Unit", "Unit cost", "Alone", "In this batch", "More", "Source of the unit cost, alone")
    bold = [("FONT", (0, -1), (-1, -1), layout.CELL_BOLD.fontName, layout.FINE.fontSize)]
    return layout.table(names, rows, (62, 16, 16, 17, 18, 20, 16, 92), right=(1, 3, 4, 5, 6), style=layout.FINE, pad=1.2, extra=bold)


def _lays(doc: CostSheetDocument) -> list[Flowable]:
    letters = quote_designs.design_letters(doc)
    rows = [
        (
            letters[key], f"{lay.material} {lay.colour}".strip(), str(len(lay.sections)),
            wording.metres(lay.length_mm, 3), wording.metres(lay.bound_mm, 3),
            wording.percent(lay.gap_fraction, 1), wording.percent(lay.yield_fraction, 1),
        )
        for key in letters for lay in doc.designs[key].lays
    ]  # fmt: skip
    names = ("Design", "Material", "Sections", "Lay, m", "Bound, m", "Gap over the bound", "Yield")
    story: list[Flowable] = [
        layout.heading("Lays of one sail", layout.HEADING),
        layout.table(names, rows, (18, 80, 22, 26, 26, 36, 22), right=(2, 3, 4, 5, 6), pad=1.8),
        layout.gap(1),
        layout.text(
            "Bound: no lay can be shorter. It is the parts' area, with half the tool's gap around each and what window holes must waste, "
            "over the usable width and a gap. Yield: cut-part area / cloth used.",
            layout.SMALL,
        ),
    ]
    return story + _batch_lays(doc)


def _batch_lays(doc: CostSheetDocument) -> list[Flowable]:
    if not doc.batch_lays:
        return []
    rows = [
        (
            b.material, str(b.sails), wording.metres(b.one_by_one_mm, 3), wording.metres(b.together_mm, 3),
            wording.metres(b.one_by_one_mm - b.together_mm, 3), wording.metres(b.bound_mm, 3),
            wording.percent(b.together_mm / b.bound_mm - 1, 1),
        )
        for b in doc.batch_lays
    ]  # fmt: skip
    names = ("Material", "Sails", "One by one, m", "Together, m", "Saved, m", "Bound, m", "Gap over the bound")
    return [
        layout.heading("The whole batch laid together, both lays audited", layout.HEADING),
        layout.table(names, rows, (80, 18, 30, 28, 26, 26, 36), right=(1, 2, 3, 4, 5, 6), pad=1.8),
    ]
