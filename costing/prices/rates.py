"""Exchange rates of a day: what a unit of one currency is in another, from rates that are given against one base."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from costing.errors import problem

#: Reference rates are not given for weekends and holidays: the newest one holds, but not for longer than this.
MOST_DAYS_OLD = 7


@dataclass(frozen=True, slots=True)
class DayRates:
    """How much of each currency one unit of `base` was on a day."""

    on: date
    per_base: Mapping[str, Decimal]
    base: str = "EUR"

    def of(self, currency: str) -> Decimal | None:
        """Units of a currency for one of the base; None when the day has none."""
        return Decimal(1) if currency == self.base else self.per_base.get(currency)


@dataclass(frozen=True, slots=True)
class Exchange:
    """One unit of `theirs` is `ours_per_base / theirs_per_base` of ours, as of a day; kept apart, so that it is divided once."""

    theirs: str
    ours: str
    theirs_per_base: Decimal
    ours_per_base: Decimal
    on: date
    base: str

    def converted(self, amount: Decimal) -> Decimal:
        """An amount of theirs in ours, not rounded."""
        return amount * self.ours_per_base / self.theirs_per_base

    @property
    def words(self) -> str:
        """The rate as a cost line states it: to six places, with the two figures that it comes from."""
        one = self.converted(Decimal(1)).quantize(Decimal("0.000001"))
        pair = ((self.theirs, self.theirs_per_base), (self.ours, self.ours_per_base))
        parts = [f"{value} {code}" for code, value in pair if code != self.base]
        return f"1 {self.theirs} = {one} {self.ours} on {self.on.day} {self.on:%b %Y} ({' and '.join(parts)} a {self.base})"


def exchange(rates: Iterable[DayRates], *, theirs: str, ours: str, on: date) -> Exchange:
    """The newest rate not after a day and at most a week old; InputError names the nearest day that has one."""
    both = [(r, theirs_rate, ours_rate) for r in rates if (theirs_rate := r.of(theirs)) and (ours_rate := r.of(ours))]
    in_time = [found for found in both if 0 <= (on - found[0].on).days <= MOST_DAYS_OLD]
    if not in_time:
        near = min((r.on for r, _, _ in both), key=lambda d: abs((d - on).days), default=None)
        nearest = f"the nearest is of {near.day} {near:%b %Y}" if near else "none is loaded"
        raise problem("", "no_rate", f"no exchange rate from {theirs} to {ours} for {on.day} {on:%b %Y}; {nearest}")
    day, theirs_rate, ours_rate = max(in_time, key=lambda found: found[0].on)
    return Exchange(theirs, ours, theirs_rate, ours_rate, day.on, day.base)
