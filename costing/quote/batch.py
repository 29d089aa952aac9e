"""The one call that does it all: a batch request and the house in, a priced batch and its designs out."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from costing import takeoff, work
from costing.errors import Collector
from costing.prices.lists import UnitCost
from costing.prices.lookup import unit_costs
from costing.quote import asked, costs, editions, given, lead_times, non_class, on_the_rig, pricing
from costing.quote.at_list import Listed, basis, check_listed, listed
from costing.quote.checks import check_prices, check_request, warnings
from costing.quote.costs import Made, Setup
from costing.quote.designs import design_sails
from costing.quote.gifts import gift_warnings
from costing.quote.numbering import Numbering, numbering
from costing.quote.pattern import Pattern
from costing.quote.price_steps import price_steps
from costing.quote.priced import SCHEMA_VERSION, CostLine, Design, PricedBatch, PricedSail, PriceItem, QuotedPattern
from costing.quote.request import BatchRequest, House
from costing.quote.supply import as_bought, supply_warnings
from costing.quote.wanted import Wanted, number_of, option_labels, patterns_used, required_options, sails_called, wanted_sails


@dataclass(frozen=True, slots=True)
class BatchResult:
    """A priced batch with the geometry of each design that it uses, by key."""

    batch: PricedBatch
    designs: Mapping[str, Design]


def price_batch(request: BatchRequest, house: House, *, on: date, known: Mapping[str, Design] | None = None) -> BatchResult:
    """Compute and price every sail of a batch on a day; identical designs are computed once, `known` ones not at all.

    Raises InputError with every problem of every sail: paths begin with the sail's own `path` ("row 7.half_width").
    """
    wrong = Collector()
    check_request(request, house, wrong)
    wanted = wanted_sails(request, house, wrong)
    editions.check_days(request.sails, on, wrong)
    check_prices(wanted, house, on, wrong)
    check_listed(wanted, house, on, wrong)
    designs = design_sails(wanted, house, known or {}, wrong)
    wrong.raise_if_any()
    on_the_rig.check(request.sails, designs, house, wrong)
    plans = numbering(request.sails, wanted, designs, house, wrong)
    wrong.raise_if_any()
    discount = pricing.best_discount(house.terms, len(wanted), joins=request.joins, joined=request.joined)
    sails = editions.dated(_priced_sails(wanted, designs, plans, house, request.buyer, discount, on), request.sails, designs, house, on)
    sails = non_class.said(on_the_rig.told(sails, request.sails, designs, house), request.sails)
    sails = given.told(sails, request.sails, designs)
    told = tuple(asked.warnings(sails, request.sails, designs, house))
    return BatchResult(_batch(request, house, sails, discount, on, told), {d.key: d for d in designs})


def _priced_sails(
    wanted: Sequence[Wanted], designs: Sequence[Design], plans: Sequence[Numbering], house: House, buyer: str,
    discount: pricing.Discount, on: date,
) -> tuple[PricedSail, ...]:  # fmt: skip
    made = as_bought([made_of(w, d, n.drivers, house) for w, d, n in zip(wanted, designs, plans, strict=True)], house, on)
    alike = Counter(m.design.pattern for m in made)
    learned = [learned_in(m, alike[m.design.pattern], house) for m in made]
    needed = costs.total_needs([costs.needs(m) for m in made])
    together = unit_costs(house.lists, needed, on=on, currency=house.currency.code, rates=house.rates)
    priced = []
    for i, (sail, setups) in enumerate(zip(learned, costs.setup_shares(learned, house), strict=True)):
        # What is got in for the order is shared by its sails: none of them would be made alone from it.
        alone = replace(made_of(sail.wanted, sail.design, plans[i].priced_drivers, house), bought=sail.bought)
        lines, at_list = lines_alone(alone, house, on), listed(sail.wanted, sail.design.variant, house, buyer, on)
        priced.append(_priced(sail, setups, together, lines, plans[i], discount, house, buyer, at_list))
    return tuple(priced)


def made_of(wanted: Wanted, design: Design, own: tuple[takeoff.Driver, ...], house: House) -> Made:
    """The sail with its take-off (the design's and what only this sail has) and its operations."""
    kit = house.making(wanted.request.pattern).pattern.kit
    taken = takeoff.together(design.takeoff, takeoff.take_off(own, kit, wanted.options))
    passed = tuple(p for p in house.pass_through if not p.option or p.option in wanted.options)
    outside = non_class.breaches(wanted.request, design, house)
    if outside:
        taken, passed = non_class.without_label(taken, kit), tuple(p for p in passed if not non_class.of_the_class(p))
    return Made(wanted, design, taken, work.operation_minutes(taken, house.labour), passed, breaches=outside)


def learned_in(made: Made, sails: int, house: House) -> Made:
    """The sail as one of so many, with what is learned in making them."""
    return replace(made, operations=work.learned(made.operations, sails, house.labour))


def lines_alone(made: Made, house: House, on: date) -> tuple[CostLine, ...]:
    """The sail's cost lines if it were made alone: nothing shared, nothing learned, the price of its own quantities."""
    own = unit_costs(house.lists, costs.needs(made), on=on, currency=house.currency.code, rates=house.rates)
    (setups,) = costs.setup_shares([made], house)
    return costs.cost_lines(made, house, own, setups)


def _priced(
    made: Made, setups: tuple[Setup, ...], unit: Mapping[str, UnitCost], alone: tuple[CostLine, ...], plan: Numbering,
    discount: pricing.Discount, house: House, buyer: str, at_list: Listed | None,
) -> PricedSail:  # fmt: skip
    sail = made.wanted.request
    own = house.making(sail.pattern)
    lines = costs.cost_lines(made, house, unit, setups)
    one_off = costs.own_cost([line for line in alone if line.group != "bought in"])  # a price covers no label that is given
    price, off = (at_list.price, at_list.off) if at_list else (pricing.unit_price(one_off, house, buyer), Decimal(0))
    items: tuple[PriceItem, ...] = (
        pricing.sail_item(_item_label(made, own), price, discount, house, offered_off=off),
        *(pricing.passed_item(p.label, unit[p.material].amount, p.tax, house, buyer) for p in made.passed_on),
    )
    if sail.given_as:
        items = (pricing.given_item(items[0], sail.given_as),)
    cost, net = costs.own_cost(lines), sum((i.net for i in items), Decimal(0))
    passed = sum((i.net for i in items if i.pass_through), Decimal(0))
    has, could = option_labels(made.wanted.options, own)
    return PricedSail(
        path=sail.path, label=made.wanted.label, boat=sail.boat, owner=sail.owner, sail_number=number_of(sail),
        design_key=made.design.key, cloth_label=made.design.cloth.name, colour=made.wanted.colour,
        number_colour=sail.number_colour, chosen=has, not_chosen=could, numbers=plan.plan,
        operations=costs.with_shares(made.operations, setups), cost_lines=lines, items=items, cost=cost, pass_through=passed, net=net,
        margin=pricing.margin(net, passed, cost), note=sail.note, one_off_cost=one_off,
        assumed=plan.assumed,
        price_how=price.how if at_list else _price_how(cost, one_off, price), alone_lines=costs.other_lines(alone, lines),
        required=required_options(made.wanted.options, own), pattern_code=own.pattern.code, given_as=sail.given_as, breaches=made.breaches,
    )  # fmt: skip


def _item_label(made: Made, house: House) -> str:
    return house.pattern.name + (", to the boat's own measurements" if made.design.variant else "")


def _price_how(cost: Decimal, alone: Decimal, price: pricing.UnitPrice) -> str:
    more = alone - cost
    why = "the set-up not shared, materials at one sail's price, its number as long as the longest of the batch"
    return f"made alone {alone}: {cost} in this batch, {'+' if more >= 0 else '-'} {abs(more)} for {why}; {price.how}"


def _batch(
    request: BatchRequest, house: House, sails: tuple[PricedSail, ...], discount: pricing.Discount, on: date, of_sizes: tuple[str, ...]
) -> PricedBatch:  # fmt: skip
    used, terms = patterns_used(request, house), house.terms
    pattern, rule = used[0], house.class_rule.sail_or_none(used[0].sail_kind)
    total = pricing.totals((item for sail in sails for item in sail.items), house)
    cost, passed = sum((s.cost for s in sails), Decimal(0)), sum((s.pass_through for s in sails), Decimal(0))
    given = sum((s.cost for s in sails if s.given_as), Decimal(0))
    margin = pricing.margin(total.net, passed, cost - given)
    return PricedBatch(
        schema_version=SCHEMA_VERSION, priced_on=on, currency=house.currency.code, customer=request.customer, buyer=request.buyer,
        class_code=house.class_rule.code, class_name=house.class_rule.name, edition=house.class_rule.edition,
        edition_from=house.class_rule.valid_from, pattern_name=pattern.name, pattern_code=pattern.code,
        pattern_version=pattern.version, sail_kind=pattern.sail_kind, terms_code=terms.code, discount=discount.fraction,
        discount_reason=discount.reason, deposit_fraction=terms.deposit_fraction, valid_days=terms.valid_days,
        lead_time=lead_times.longest(terms.lead_time, used), terms_text=terms.text, included=pattern.included,
        not_included=pattern.not_included, by_eye=rule.by_eye, royalty_label=rule.royalty_label, insignia=house.class_rule.insignia,
        sails=sails, totals=total, cost=cost, margin=margin, margin_target=house.margins.target,
        margin_warning=house.margins.warning, margin_floor=house.margins.floor,
        warnings=(
            *warnings(sails, used, house, on, joined=request.joined), *of_sizes, *supply_warnings(sails, house, on),
            *gift_warnings(sails, house), *non_class.warnings(sails),
            *pricing.margin_warnings(_margins(sails, margin), house),
        ),
        cut_off=terms.cut_off, price_basis=basis(house, on), margin_basis=_margin_basis(house), given_cost=given,
        steps=price_steps(sails, house, joined=request.joined), minimum_sails=terms.minimum_sails, below_minimum=terms.below_minimum,
        tier_from=discount.from_sails, joins=request.joins, joined=request.joined,
        patterns=tuple(_quoted(p, sails_called(used)[p.code], house) for p in used),
    )  # fmt: skip


def _margin_basis(house: House) -> str:
    """Whether margins are before or after overhead, and of how much, in words."""
    overhead = house.overhead
    if overhead is None:
        return ""
    much = f"{takeoff.plain(overhead.per_hour)} an hour" if overhead.per_hour else f"{takeoff.plain(overhead.fraction * 100)} % of cost"
    return f"{'after' if overhead.in_margin else 'before'} overhead of {much}"


def _quoted(pattern: Pattern, called: str, house: House) -> QuotedPattern:
    rule = house.class_rule.sail_or_none(pattern.sail_kind)
    return QuotedPattern(
        pattern.code, pattern.version, pattern.name, called, pattern.sail_kind, pattern.included, pattern.not_included, rule.by_eye,
        rule.royalty_label, rule.condition if rule.limits else "",
    )  # fmt: skip


def _margins(sails: Sequence[PricedSail], margin: Decimal | None) -> dict[str, Decimal | None]:
    return {f"{sail.path}, {sail.label}": sail.margin for sail in sails} | {"the whole batch": margin}
