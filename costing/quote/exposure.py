"""What a price rise does to a quote that is out: its frozen quantities at other unit costs, against its frozen price.

`cost_rows` turns a batch into whole numbers that a database can add up; `at_lists` is the same sum in decimals, straight from the batch.
Labour and overhead stay as they were: they do not stand on a supplier's list.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import IntEnum

from costing import money
from costing.errors import InputError
from costing.money import Currency, minor_units, to_cents
from costing.prices.lists import SupplierList
from costing.prices.lookup import unit_costs
from costing.prices.rates import DayRates
from costing.quote.costs import OUTSIDE, OVERHEAD, OVERHEAD_OUTSIDE
from costing.quote.priced import CostLine, PricedBatch, PricedSail

END_OF_ROLL = "end-of-roll"


class Role(IntEnum):
    """What a cost line is to its sail: laid cloth bears the loss of roll ends too, what is passed on stands outside the cost."""

    OWN = 0
    LAID = 1
    PASSED = 2


@dataclass(frozen=True, slots=True)
class CostRow:
    """A bought material in one kind of sail of a batch (sails with equal cost lines are one kind).

    quantity_e3: in one sail, in 0.001 units; together_e3: in the whole batch, which decides the break; amount_minor: its frozen cost;
    colour: of the sail's body cloth, empty for everything else.
    """

    kind: int
    sails: int
    material: str
    role: Role
    quantity_e3: int
    together_e3: int
    amount_minor: int
    colour: str = ""


@dataclass(frozen=True, slots=True)
class Exposed:
    """A quote at its frozen price, with its cost as it was frozen and as it is at other lists; minor units of one currency.

    net includes what is passed on. missing: how many of its cost lines have no price on those lists; they keep the frozen cost.
    """

    net: int
    passed: int
    cost: int
    new_passed: int
    new_cost: int
    missing: int = 0

    @property
    def lost(self) -> int:
        """What the loft earns less at the frozen price; negative where it earns more."""
        return self.new_cost - self.cost + self.new_passed - self.passed

    @property
    def margin(self) -> Decimal | None:
        """The margin as it was offered, 4 places; None for what is given away."""
        return _margin(self.net - self.passed, self.cost)

    @property
    def new_margin(self) -> Decimal | None:
        """The margin that is left at the frozen price; what is passed on was sold at the frozen price too."""
        return _margin(self.net - self.passed, self.cost + self.lost)

    @property
    def new_net(self) -> int:
        """The net that would keep the offered margin: what the loft makes rises as its cost does, what is passed on as itself."""
        made = self.net - self.passed
        kept = made if self.cost == 0 else (2 * made * self.new_cost + self.cost) // (2 * self.cost)
        return kept + self.new_passed


def _margin(made: int, cost: int) -> Decimal | None:
    """(made - cost) / made to 4 places, half to even as in the quote."""
    return None if made == 0 else (Decimal(made - cost) / Decimal(made)).quantize(Decimal("0.0001"))


def cost_rows(batch: PricedBatch) -> tuple[CostRow, ...]:
    """Every bought line of a batch, one row for each kind of sail that has it."""
    cur, together = money.currency(batch.currency), _together(batch)
    kinds: dict[tuple[tuple[CostLine, str], ...], int] = {}
    for sail in batch.sails:
        bought = tuple((line, _colour(line, sail)) for line in _bought(sail))
        kinds[bought] = kinds.get(bought, 0) + 1
    return tuple(
        CostRow(
            kind, sails, line.code, _role(line), _e3(line.quantity), _e3(together[line.code][0]), minor_units(line.amount, cur), colour
        )
        for kind, (lines, sails) in enumerate(kinds.items())
        for line, colour in lines
    )  # fmt: skip


def laid(sail: PricedSail) -> Iterator[tuple[str, str, Decimal]]:
    """(code, colour, metres) of everything that a sail is cut from."""
    return ((line.code, _colour(line, sail), line.quantity) for line in _bought(sail) if _role(line) is Role.LAID)


def _colour(line: CostLine, sail: PricedSail) -> str:
    """The colour that a laid cloth is bought in: that of the sail, for its body alone."""
    return sail.colour if line.group == "cloth" and line.label == sail.cloth_label else ""


def end_of_roll_e3(batch: PricedBatch) -> int:
    """The share of laid cloth that roll ends cost, in thousandths; 0 where the house reckons none."""
    return max((_e3(line.quantity) for sail in batch.sails for line in sail.cost_lines if line.code == END_OF_ROLL), default=0)


def frozen_sums(batch: PricedBatch) -> tuple[int, int]:
    """Cost and passed-on charge of a batch in minor units."""
    cur = money.currency(batch.currency)
    return minor_units(batch.cost, cur), minor_units(sum((s.pass_through for s in batch.sails), Decimal(0)), cur)


def at_lists(batch: PricedBatch, lists: tuple[SupplierList, ...], *, on: date, rates: tuple[DayRates, ...] = ()) -> Exposed:
    """A batch at the lists of a day, one line after the other in decimals: the yardstick for the sum in the database."""
    cur = money.currency(batch.currency)
    fresh = _fresh_costs(batch, lists, on, rates)
    new_cost, new_passed, missing = Decimal(0), Decimal(0), 0
    for sail in batch.sails:
        lines = [_at(line, fresh, cur) for line in sail.cost_lines]
        laid = sum((a for line, a in zip(sail.cost_lines, lines, strict=True) if _role(line) is Role.LAID and _is_bought(line)), Decimal(0))
        for line, amount in zip(sail.cost_lines, lines, strict=True):
            if line.group == "pass-through":
                new_passed += amount
            elif line.group not in OUTSIDE:
                new_cost += to_cents(line.quantity * laid, cur) if line.code == END_OF_ROLL else amount
            missing += _is_bought(line) and line.code not in fresh
    cost, passed = frozen_sums(batch)
    return Exposed(
        minor_units(batch.totals.net, cur), passed, cost, minor_units(new_passed, cur), minor_units(new_cost, cur), missing
    )  # fmt: skip


def _at(line: CostLine, fresh: Mapping[str, Decimal], cur: Currency) -> Decimal:
    return to_cents(line.quantity * fresh[line.code], cur) if _is_bought(line) and line.code in fresh else line.amount


def _fresh_costs(batch: PricedBatch, lists: tuple[SupplierList, ...], on: date, rates: tuple[DayRates, ...]) -> dict[str, Decimal]:
    found = {}
    for material, needed in _together(batch).items():
        try:
            found[material] = unit_costs(lists, {material: needed}, on=on, currency=batch.currency, rates=rates)[material].amount
        except InputError:
            continue  # counted as missing
    return found


def _together(batch: PricedBatch) -> dict[str, tuple[Decimal, str]]:
    total: dict[str, tuple[Decimal, str]] = {}
    for sail in batch.sails:
        for line in _bought(sail):
            total[line.code] = (total.get(line.code, (Decimal(0), ""))[0] + line.quantity, line.unit)
    return total


def _bought(sail: PricedSail) -> Iterator[CostLine]:
    return (line for line in sail.cost_lines if _is_bought(line))


def _is_bought(line: CostLine) -> bool:
    return line.group not in ("labour", OVERHEAD, OVERHEAD_OUTSIDE) and line.code != END_OF_ROLL


def _role(line: CostLine) -> Role:
    return {"cloth": Role.LAID, "pass-through": Role.PASSED}.get(line.group, Role.OWN)


def _e3(quantity: Decimal) -> int:
    scaled = quantity.scaleb(3)
    if scaled != scaled.to_integral_value():
        raise ValueError(f"{quantity} has more than three decimals")
    return int(scaled)
