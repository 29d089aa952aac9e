"""What is new in a revision of a quote against the one before it: every line that a customer would want pointed out."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from reportlab.platypus import Flowable, KeepTogether

from costing.quote import PricedBatch, PricedSail
from loft.documents import layout, wording
from loft.documents.content import Balance


@dataclass(frozen=True, slots=True)
class Change:
    """One difference: where it is, what it is, before and after in words; a sail that came or went has an empty side."""

    where: str
    what: str
    before: str
    after: str


def changes(old: PricedBatch, new: PricedBatch) -> tuple[Change, ...]:
    """The differences that a customer sees: sails, their options, cloth and prices, then terms and sums.

    Of a change of an order the total is left to its balance.
    """
    return (*_sails(old, new), *_of_the_whole(old, new))


def changes_table(found: Iterable[Change], *, since: int) -> list[Flowable]:
    """The section of the paper; it says so when nothing differs."""
    title = layout.heading(f"What is new since revision {since}", layout.SECTION)
    rows = [(c.where, c.what, c.before or wording.DASH, c.after or wording.DASH) for c in found]
    if not rows:
        return [title, layout.text("Nothing that you ordered and no price: the validity is new.", layout.BODY)]
    emphasis = [("FONT", (3, 1), (3, -1), layout.CELL_BOLD.fontName, layout.CELL.fontSize)]
    return [title, layout.table(("Sail", "What", "Before", "Now"), rows, (42, 34, 50, 50), extra=emphasis), layout.gap(2)]


def change_tables(found: Iterable[Change], balance: Balance, batch: PricedBatch) -> list[Flowable]:
    """The section of a change of an order: what changes, and what that does to the money."""
    rows = [(c.where, c.what, c.before or wording.DASH, c.after or wording.DASH) for c in found]
    emphasis = [("FONT", (3, 1), (3, -1), layout.CELL_BOLD.fontName, layout.CELL.fontSize)]
    head = ("Sail", "What", "Agreed now", "With the change")
    money = balance_rows(balance, batch.currency)
    last = [("FONT", (0, len(money)), (-1, len(money)), layout.CELL_BOLD.fontName, layout.CELL.fontSize)]
    money_head = (f"The order's money, {batch.currency}", "Agreed now", "With the change")
    owed = owed_back(balance, batch.currency)
    return [
        layout.heading("What changes", layout.SECTION),
        layout.table(head, rows, (42, 34, 50, 50), extra=emphasis),
        layout.gap(3),
        KeepTogether(
            [
                layout.table(money_head, money, (76, 34, 34), right=(1, 2), extra=last),
                *([layout.gap(1), layout.text(owed, layout.BODY)] if owed else []),
            ]
        ),
        layout.gap(3),
    ]


def balance_rows(balance: Balance, currency: str) -> list[tuple[str, str, str]]:
    """The money of an order before and after a change: what, agreed now, with the change; the last row is what is left to settle."""
    pairs = [
        ("total with tax", balance.before, balance.after),
        ("received so far", balance.paid, balance.paid),
        ("still to pay", balance.open_before, balance.open_after),
    ]
    if balance.owed_before or balance.owed_after:
        pairs.append(("owed back", balance.owed_before, balance.owed_after))
    return [(what, wording.amount(was, currency), wording.amount(now, currency)) for what, was, now in pairs]


def owed_back(balance: Balance, currency: str) -> str:
    """What the loft owes the customer with the change, in a sentence; empty when nothing."""
    if not balance.owed_after:
        return ""
    over = wording.amount(balance.owed_after, currency)
    return f"You have paid {currency} {over} more than the order comes to with this change: we pay it back once you have accepted."


def _key(sail: PricedSail, batch: PricedBatch) -> tuple[str, str, str]:
    return sail.boat.casefold(), sail.owner.casefold(), batch.pattern_of(sail).code


def _by_boat(batch: PricedBatch) -> dict[tuple[str, str, str, int], PricedSail]:
    """Sails by boat, owner, pattern and which one of those it is: a suit has several."""
    found: dict[tuple[str, str, str, int], PricedSail] = {}
    for sail in batch.sails:
        key = _key(sail, batch)
        nth = sum(other[:3] == key for other in found)
        found[(*key, nth)] = sail
    return found


def _sails(old: PricedBatch, new: PricedBatch) -> Iterable[Change]:
    before, after = _by_boat(old), _by_boat(new)
    for key in dict.fromkeys([*before, *after]):
        was, now = before.get(key), after.get(key)
        if was is None and now is not None:
            yield Change(now.label, "added", "", f"net {wording.amount(now.net, new.currency)}")
        elif was is not None and now is None:
            yield Change(was.label, "no longer in it", f"net {wording.amount(was.net, old.currency)}", "")
        elif was is not None and now is not None:
            yield from _one_sail(was, now, old, new)


def _one_sail(was: PricedSail, now: PricedSail, old: PricedBatch, new: PricedBatch) -> Iterable[Change]:
    pairs = (
        ("sail number", was.sail_number or "to follow", now.sail_number or "to follow"),
        ("cloth", wording.spelled(was.cloth_label), wording.spelled(now.cloth_label)),
        ("colour", was.colour, now.colour),
        ("options", ", ".join(was.chosen) or "none", ", ".join(now.chosen) or "none"),
        ("design", "", "" if was.design_key == now.design_key else "new, see its drawing"),
        ("class rules", wording.not_legal(was.not_legal) or "class sail", wording.not_legal(now.not_legal) or "class sail"),
        ("colour of the numbers", was.number_colour, now.number_colour),
        ("note", was.note, now.note),
        ("fee for the change", "", _fee(was, now, new.currency)),
        ("net price", wording.amount(was.net, old.currency), wording.amount(now.net, new.currency)),
    )
    return [Change(now.label, what, before, after) for what, before, after in pairs if before != after]


def _fee(was: PricedSail, now: PricedSail, currency: str) -> str:
    """What is charged for this change, which the net price holds; empty when it is free. Fees of earlier changes stand first."""
    new = now.change_fees[len(was.change_fees) :]
    return f"net {wording.amount(sum((f.net for f in new), Decimal(0)), currency)}" if new else ""


def _patterns(batch: PricedBatch) -> str:
    return "; ".join(f"{p.name}, version {p.version}" for p in batch.made_by)


def _of_the_whole(old: PricedBatch, new: PricedBatch) -> Iterable[Change]:
    pairs = [
        ("rules", f"edition {old.edition}", f"edition {new.edition}"),
        ("pattern", _patterns(old), _patterns(new)),
        ("terms", old.terms_code, new.terms_code),
        ("discount", wording.rate(old.discount), wording.rate(new.discount)),
        ("delivery", old.lead_time, new.lead_time),
        ("deposit", wording.amount(old.totals.deposit, old.currency), wording.amount(new.totals.deposit, new.currency)),
    ]
    if not new.change_of:
        pairs.append(("total with tax", wording.amount(old.totals.gross, old.currency), wording.amount(new.totals.gross, new.currency)))
    return [Change("the order" if new.change_of else "the quote", what, before, after) for what, before, after in pairs if before != after]
