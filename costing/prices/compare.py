"""A supplier's new list beside the one before: what is new, what moved and by how much, what is gone, and what somebody must look at."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal
from enum import StrEnum
from itertools import pairwise

from costing.prices.lists import SupplierList, SupplierRow

#: A price that moves by more than this is looked at (the loft's own rule, no source).
SUSPICIOUS = Decimal("0.25")
_TEN = (Decimal(10), Decimal("0.1"))


class Change(StrEnum):
    NEW = "new"
    CHANGED = "changed"
    UNCHANGED = "unchanged"
    VANISHED = "vanished"


@dataclass(frozen=True, slots=True)
class RowChange:
    """One material on either list. old, new: the unit costs at the break where they differ most; fraction: (new - old) / old.

    suspicious: what to look at before the list is stored; empty when nothing strikes.
    """

    material: str
    change: Change
    unit: str
    old: Decimal | None = None
    new: Decimal | None = None
    at: Decimal = Decimal(0)
    fraction: Decimal | None = None
    suspicious: tuple[str, ...] = ()

    def __str__(self) -> str:
        """For a terminal: "DW170: 13.95 -> 15.36 a metre from 80 on, +10.1 %"."""
        if self.old is None or self.new is None:
            return f"{self.material}: {self.change.value}, {self.new if self.old is None else self.old:f} a {self.unit}"
        from_ = f" from {self.at:f} on" if self.at else ""
        return f"{self.material}: {self.old:f} -> {self.new:f} a {self.unit}{from_}, {self.percent}"

    @property
    def percent(self) -> str:
        """The change as it is read: "+10.1 %"; empty where there is none to tell."""
        return "" if self.fraction is None else f"{self.fraction * 100:+.1f} %"


def compare_lists(old: SupplierList | None, new: SupplierList) -> tuple[RowChange, ...]:
    """Every material of the new list in its order, then those that only the old one had."""
    before = {row.material: row for row in old.rows} if old else {}
    now = {row.material: row for row in new.rows}
    found = [_moved(before[row.material], row) if row.material in before else _new(row) for row in new.rows]
    if old and old.currency != new.currency:
        found = [replace(c, suspicious=(*c.suspicious, f"the currency was {old.currency} and is {new.currency}")) for c in found]
    gone = [RowChange(r.material, Change.VANISHED, r.unit, old=r.breaks[0].unit_cost) for r in before.values() if r.material not in now]
    return (*found, *gone)


def _new(row: SupplierRow) -> RowChange:
    cost = row.breaks[0].unit_cost
    return RowChange(row.material, Change.NEW, row.unit, new=cost, suspicious=(*_zero(row), *_rising(row)))


def _moved(before: SupplierRow, now: SupplierRow) -> RowChange:
    at, old, new = max(_pairs(before, now), key=lambda pair: _distance(pair[1], pair[2]))
    fraction = (new - old) / old if old else None
    strikes = list(_zero(now))
    if now.unit != before.unit:
        strikes.append(f"the unit was {before.unit} and is {now.unit}")
    if old and new / old in _TEN:
        strikes.append("exactly ten times" if new > old else "exactly a tenth")
    elif fraction is not None and abs(fraction) > SUSPICIOUS and new:
        strikes.append(f"moves by more than {SUSPICIOUS:.0%}")
    strikes += _rising(now)
    same = before.breaks == now.breaks and before.unit == now.unit
    return RowChange(now.material, Change.UNCHANGED if same else Change.CHANGED, now.unit, old, new, at, fraction, tuple(strikes))


def _pairs(before: SupplierRow, now: SupplierRow) -> list[tuple[Decimal, Decimal, Decimal]]:
    """(quantity, old cost, new cost) at every break of either list."""
    starts = sorted({b.from_quantity for b in (*before.breaks, *now.breaks)})
    return [(start, _cost_at(before, start), _cost_at(now, start)) for start in starts]


def _cost_at(row: SupplierRow, quantity: Decimal) -> Decimal:
    return [b.unit_cost for b in row.breaks if b.from_quantity <= quantity][-1]


def _distance(old: Decimal, new: Decimal) -> Decimal:
    return abs(new - old) / old if old else Decimal("Infinity") if new else Decimal(0)


def _rising(row: SupplierRow) -> list[str]:
    """More costs more a unit: two costs or two quantities in each other's place."""
    risen = [(low, high) for low, high in pairwise(row.breaks) if high.unit_cost > low.unit_cost]
    return [
        f"costs {high.unit_cost:f} from {high.from_quantity:f} on and {low.unit_cost:f} from {low.from_quantity:f}" for low, high in risen
    ]


def _zero(row: SupplierRow) -> list[str]:
    return ["a price of zero"] if any(b.unit_cost == 0 for b in row.breaks) else []
