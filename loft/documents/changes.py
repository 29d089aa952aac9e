"""What is new in a revision of a quote against the one before it: every line that a customer would want pointed out."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from reportlab.platypus import Flowable

from costing.quote import PricedBatch, PricedSail
from loft.documents import layout, wording


@dataclass(frozen=True, slots=True)
class Change:
    """One difference: where it is, what it is, before and after in words; a sail that came or went has an empty side."""

    where: str
    what: str
    before: str
    after: str


def changes(old: PricedBatch, new: PricedBatch) -> tuple[Change, ...]:
    """The differences that a customer sees: sails, their options, cloth and prices, then terms and sums."""
    return (*_sails(old, new), *_of_the_whole(old, new))


def changes_table(found: Iterable[Change], *, since: int) -> list[Flowable]:
    """The section of the paper; it says so when nothing differs."""
    title = layout.heading(f"What is new since revision {since}", layout.SECTION)
    rows = [(c.where, c.what, c.before or wording.DASH, c.after or wording.DASH) for c in found]
    if not rows:
        return [title, layout.text("Nothing that you ordered and no price: the validity is new.", layout.BODY)]
    emphasis = [("FONT", (3, 1), (3, -1), layout.CELL_BOLD.fontName, layout.CELL.fontSize)]
    return [title, layout.table(("Sail", "What", "Before", "Now"), rows, (42, 34, 50, 50), extra=emphasis), layout.gap(2)]


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
        ("measurements", "as before", "as before" if was.design_key == now.design_key else "new, see its drawing"),
        ("net price", wording.amount(was.net, old.currency), wording.amount(now.net, new.currency)),
    )
    return [Change(now.label, what, before, after) for what, before, after in pairs if before != after]


def _patterns(batch: PricedBatch) -> str:
    return "; ".join(f"{p.name}, version {p.version}" for p in batch.made_by)


def _of_the_whole(old: PricedBatch, new: PricedBatch) -> Iterable[Change]:
    pairs = (
        ("rules", f"edition {old.edition}", f"edition {new.edition}"),
        ("pattern", _patterns(old), _patterns(new)),
        ("discount", wording.rate(old.discount), wording.rate(new.discount)),
        ("delivery", old.lead_time, new.lead_time),
        ("deposit", wording.amount(old.totals.deposit, old.currency), wording.amount(new.totals.deposit, new.currency)),
        ("total with tax", wording.amount(old.totals.gross, old.currency), wording.amount(new.totals.gross, new.currency)),
    )
    return [Change("the quote", what, before, after) for what, before, after in pairs if before != after]
