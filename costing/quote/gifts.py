"""Sails that are given away: what each recipient has had in twelve months, and whether its tax must be looked at."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from costing.quote.priced import PricedSail
from costing.quote.request import House


@dataclass(frozen=True, slots=True)
class Gift:
    """A sail that was given: to whom, as what, when, and what it cost the loft."""

    recipient: str
    given_as: str
    sail: str
    reference: str
    on: date
    cost: Decimal


@dataclass(frozen=True, slots=True)
class LedgerRow:
    """A gift with what its recipient had in the twelve months that end with it; flagged: that is above the house's bound."""

    gift: Gift
    in_twelve_months: Decimal
    flagged: bool


def ledger(gifts: Iterable[Gift], flag_above: Decimal | None) -> tuple[LedgerRow, ...]:
    """Every gift, the newest first. A recipient is one however his name is spaced or written in capitals."""
    known = tuple(gifts)
    rows = [_row(gift, known, flag_above) for gift in known]
    return tuple(sorted(rows, key=lambda r: (-r.gift.on.toordinal(), r.gift.reference, r.gift.sail)))


def _row(gift: Gift, known: Sequence[Gift], flag_above: Decimal | None) -> LedgerRow:
    since = _year_before(gift.on)
    own = (g.cost for g in known if _same(g.recipient, gift.recipient) and since < g.on <= gift.on)
    whole = sum(own, Decimal(0))
    return LedgerRow(gift, whole, flag_above is not None and whole > flag_above)


def _same(a: str, b: str) -> bool:
    return "".join(a.split()).casefold() == "".join(b.split()).casefold()


def _year_before(day: date) -> date:
    """The same day a year before; 28 February for the 29th."""
    return day.replace(year=day.year - 1, day=28 if (day.month, day.day) == (2, 29) else day.day)


def gift_warnings(sails: Sequence[PricedSail], house: House) -> Iterator[str]:
    """A sentence for each sail that is given away."""
    for sail in sails:
        if sail.given_as:
            told = f"{sail.path}, {sail.label}: given to {sail.owner} as {sail.given_as}; it costs {sail.cost}"
            if house.gift_flag is not None and sail.cost > house.gift_flag:
                told += f", more than the {house.gift_flag} in twelve months above which tax may be due: ask an accountant"
            yield told
