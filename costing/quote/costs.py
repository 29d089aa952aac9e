"""Cost lines: every quantity of a sail times what a unit of it costs us."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal

from costing import takeoff, units, work
from costing.cloth.lay import Lay
from costing.money import quantity_3, share, shares, to_cents, unit_cost_4
from costing.prices.lists import UnitCost
from costing.quote import colours
from costing.quote.priced import CostLine, Design
from costing.quote.request import House, PassThrough
from costing.quote.wanted import Wanted
from costing.rules.compare import Breach

_MINUTE_QUANTUM = Decimal("0.001")
_SETUP = {"order": "order_min", "lay": "lay_min"}

#: Groups of cost lines: overhead in the cost or beside it, and what is no cost of the loft's own.
OVERHEAD, OVERHEAD_OUTSIDE = "overhead", "overhead outside"
OUTSIDE = ("pass-through", OVERHEAD_OUTSIDE)

Needs = Mapping[str, tuple[Decimal, str]]


@dataclass(frozen=True, slots=True)
class Made:
    """One sail of the batch with everything that it takes; operations carry the set-up minutes whole.

    bought: metres of special cloth that are charged instead of those that are laid, by material and colour slot.
    breaches: of the class's limits, where the sail is NON-CLASS.
    """

    wanted: Wanted
    design: Design
    takeoff: takeoff.TakeOff
    operations: tuple[work.OperationMinutes, ...]
    passed_on: tuple[PassThrough, ...]
    bought: Mapping[tuple[str, str], Decimal] = field(default_factory=dict)
    breaches: tuple[Breach, ...] = ()


@dataclass(frozen=True, slots=True)
class Setup:
    """One sail's share of a set-up operation: the whole minutes, how many sails share them, its minutes and its amount."""

    operation: work.OperationMinutes
    kind: str  # "order" or "lay"
    whole_min: Decimal
    sails: int
    minutes: Decimal
    amount: Decimal


def needs(made: Made) -> dict[str, tuple[Decimal, str]]:
    """What one sail takes of each material: amount and unit, to three places."""
    taken: dict[str, tuple[Decimal, str]] = {}
    for lay in made.design.lays:
        taken[lay.material] = (taken.get(lay.material, (Decimal(0), ""))[0] + charged_m(made, lay), "m")
    for m in made.takeoff.materials:
        taken[m.material] = (quantity_3(m.amount), m.unit)
    taken |= {p.material: (Decimal(1), "piece") for p in made.passed_on}
    return taken


def charged_m(made: Made, lay: Lay) -> Decimal:
    """The metres of a lay that the sail pays for."""
    return made.bought.get((lay.material, lay.colour), units.metres(lay.length_mm))


def total_needs(sails: Sequence[Needs]) -> dict[str, tuple[Decimal, str]]:
    """What several sails take together."""
    total: dict[str, tuple[Decimal, str]] = {}
    for sail in sails:
        for material, (amount, unit) in sail.items():
            total[material] = (total.get(material, (Decimal(0), unit))[0] + amount, unit)
    return total


def setup_shares(sails: Sequence[Made], house: House) -> tuple[tuple[Setup, ...], ...]:
    """Each sail's shares of the set-up, which add up exactly to the whole.

    All sails share that of the order; the sails of one pattern, cloth and colour, which is one roll to load, share that of a lay.
    """
    found: list[list[Setup]] = [[] for _ in sails]
    by_cloth: dict[tuple[str, str, str], list[int]] = {}
    for i, made in enumerate(sails):
        by_cloth.setdefault((made.design.pattern, made.design.cloth.code, made.wanted.colour), []).append(i)
    for kind, groups in (("order", [list(range(len(sails)))]), ("lay", list(by_cloth.values()))):
        for group in groups:
            for operation in sails[group[0]].operations:
                for i, setup in zip(group, _divided(operation, kind, len(group), house), strict=True):
                    if setup.whole_min:
                        found[i].append(setup)
    return tuple(tuple(f) for f in found)


def _divided(operation: work.OperationMinutes, kind: str, sails: int, house: House) -> Iterator[Setup]:
    whole: Decimal = getattr(operation, _SETUP[kind])
    weights = [Decimal(1)] * sails
    amount = to_cents(whole * unit_cost_4(work.cost_of_minute(house.labour)), house.currency)
    minutes = shares(whole, weights, _MINUTE_QUANTUM)
    for part, cents in zip(minutes, share(amount, weights, house.currency), strict=True):
        yield Setup(operation, kind, whole, sails, part, cents)


def with_shares(operations: tuple[work.OperationMinutes, ...], setups: Sequence[Setup]) -> tuple[work.OperationMinutes, ...]:
    """The operations with this sail's share of the set-up minutes in place of the whole."""
    by_operation: dict[str, list[Setup]] = {}
    for s in setups:
        by_operation.setdefault(s.operation.operation, []).append(s)
    return tuple(_with_shares(o, by_operation.get(o.operation, [])) for o in operations)


def _with_shares(operation: work.OperationMinutes, setups: Sequence[Setup]) -> work.OperationMinutes:
    part = {s.kind: s.minutes for s in setups}
    words = (f"{takeoff.plain(s.minutes)} min of {takeoff.plain(s.whole_min)} min set-up of the {s.kind}" for s in setups)
    how = " + ".join(([operation.how] if operation.how else []) + list(words))
    return replace(operation, order_min=part.get("order", Decimal(0)), lay_min=part.get("lay", Decimal(0)), how=how)


def cost_lines(made: Made, house: House, costs: Mapping[str, UnitCost], setups: Sequence[Setup]) -> tuple[CostLine, ...]:
    """Every cost line of a sail, pass-through last; quantity x unit cost is the amount, rounded to the cent once."""
    laid = tuple(_cloth_lines(made, house, costs))
    own = (
        *laid,
        *_end_of_roll(laid, house),
        *_material_lines(made, house, costs),
        *_labour_lines(made.operations, house),
        *_setup_lines(setups, house),
    )
    minutes = sum((o.own_min for o in made.operations), Decimal(0)) + sum((s.minutes for s in setups), Decimal(0))
    return (*own, *_overhead_line(own_cost(own), minutes, house), *_pass_through_lines(made, house, costs))


def _overhead_line(cost: Decimal, minutes: Decimal, house: House) -> Iterator[CostLine]:
    """Overhead on a cost and its minutes, where the house reckons any."""
    overhead = house.overhead
    if overhead is None:
        return
    group = OVERHEAD if overhead.in_margin else OVERHEAD_OUTSIDE
    source = f"the house's overhead, {'in the cost' if overhead.in_margin else 'outside the cost and the margin'}"
    if overhead.per_hour:
        how, quantity = f"{takeoff.plain(quantity_3(minutes))} productive min", quantity_3(minutes / 60)
        per = UnitCost("overhead", "h", unit_cost_4(overhead.per_hour), source)
    else:
        how, quantity = f"{takeoff.plain(overhead.fraction * 100)} % of {cost}", quantity_3(overhead.fraction)
        per = UnitCost("overhead", "of cost", unit_cost_4(cost), source)
    yield _line(house, group, "overhead", "Overhead", quantity, per, how)


def overhead_in_cost(cost: Decimal, minutes: Decimal, house: House) -> Decimal:
    """The overhead that a cost and its minutes add to a sail's own cost."""
    return own_cost(tuple(_overhead_line(cost, minutes, house)))


def _line(house: House, group: str, code: str, label: str, quantity: Decimal, cost: UnitCost, how: str) -> CostLine:
    amount = to_cents(quantity * cost.amount, house.currency)
    return CostLine(group, code, label, quantity, cost.unit, cost.amount, amount, how, cost.source)


def _cloth_lines(made: Made, house: House, costs: Mapping[str, UnitCost]) -> Iterator[CostLine]:
    """A line for each cloth and film; a sail of several colours has all their metres on one line, as they have one price."""
    for material in dict.fromkeys(lay.material for lay in made.design.lays):
        lays = [lay for lay in made.design.lays if lay.material == material]
        charged = sum((charged_m(made, lay) for lay in lays), Decimal(0))
        how = "; ".join(_laid_in_words(made, lay, several=len(lays) > 1) for lay in lays)
        yield _line(house, "cloth", material, house.cloths[material].name, charged, costs[material], how)


def _laid_in_words(made: Made, lay: Lay, *, several: bool) -> str:
    length, charged = units.metres(lay.length_mm), charged_m(made, lay)
    how = f"laid in {len(lay.sections)} section{'s' if len(lay.sections) != 1 else ''}, {takeoff.plain(length)} m"
    if charged != length:
        how += f"; {takeoff.plain(charged)} m charged, its share of what must be bought"
    return f"{colours.of_slot(made.wanted.colour, lay.colour)}: {how}" if several else how


def _end_of_roll(laid: Sequence[CostLine], house: House) -> Iterator[CostLine]:
    """Roll ends and faults, once, on everything that is laid."""
    fraction = house.end_of_roll_fraction
    whole = sum((line.amount for line in laid), Decimal(0))
    if fraction and whole:
        how = f"{takeoff.plain(fraction * 100)} % of {whole} of laid cloth and film"
        cost = UnitCost("end-of-roll", "of cloth", unit_cost_4(whole), "the house's end-of-roll fraction (common practice, no source)")
        yield _line(house, "cloth", "end-of-roll", "Roll ends and faults", quantity_3(fraction), cost, how)


def _material_lines(made: Made, house: House, costs: Mapping[str, UnitCost]) -> Iterator[CostLine]:
    for m in sorted(made.takeoff.materials, key=lambda m: m.group != "hardware"):
        yield _line(house, m.group, m.material, m.label or m.material, quantity_3(m.amount), costs[m.material], m.how)


def _labour_lines(operations: Sequence[work.OperationMinutes], house: House) -> Iterator[CostLine]:
    labour = house.labour
    source = (
        f"labour standards {labour.version}: {takeoff.plain(labour.rate_per_paid_hour)} a paid hour / "
        f"{takeoff.plain(labour.productive_fraction)} productive / 60"
    )
    minute = UnitCost("labour", "min", unit_cost_4(work.cost_of_minute(labour)), source)
    for o in operations:
        if o.own_min:
            yield _line(house, "labour", o.operation, o.label, quantity_3(o.own_min), minute, o.how)


def _setup_lines(setups: Sequence[Setup], house: House) -> Iterator[CostLine]:
    minute = unit_cost_4(work.cost_of_minute(house.labour))
    for s in setups:
        whole = to_cents(s.whole_min * minute, house.currency)
        among = "this sail alone" if s.sails == 1 else f"{s.sails} sails"
        how = f"{takeoff.plain(s.whole_min)} min x {minute} = {whole}, borne by {among}"
        what = "order" if s.kind == "order" else "lay"
        yield CostLine(
            "labour", f"{s.operation.operation}-{s.kind}", f"{s.operation.label}: share of the {what}'s set-up", Decimal("1.000"), "share",
            unit_cost_4(s.amount), s.amount, how, f"labour standards {house.labour.version}, shares by largest remainder",
        )  # fmt: skip


def _pass_through_lines(made: Made, house: House, costs: Mapping[str, UnitCost]) -> Iterator[CostLine]:
    for p in made.passed_on:
        group = "bought in" if made.wanted.request.given_as else "pass-through"  # nobody pays for the label of a sail that is given away
        yield _line(house, group, p.material, p.label, Decimal("1.000"), costs[p.material], p.rule or "one a sail")


def other_lines(lines: Sequence[CostLine], than: Sequence[CostLine]) -> tuple[CostLine, ...]:
    """Those of the lines that do not stand alike among the others."""
    return tuple(line for line in lines if line not in than)


def own_cost(lines: Sequence[CostLine]) -> Decimal:
    """What the loft spends on a sail: all lines without what is passed through, and without overhead that stands outside the margin."""
    return sum((line.amount for line in lines if line.group not in OUTSIDE), Decimal(0))
