"""What is asked: a batch of sails; and what the house brings to it: rules, pattern, cloth, lists, standards, terms, tax."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal

from costing.cloth.lay import Table
from costing.cloth.part import Cloth
from costing.errors import did_you_mean, problem
from costing.money import Currency
from costing.prices.lists import Gone, SupplierList
from costing.prices.rates import DayRates
from costing.prices.retail import RetailList
from costing.quote.pattern import Pattern, kind_words, meant
from costing.rules.limits import ClassRule
from costing.sail.shape import LuffCurve
from costing.work.standards import LabourStandards


@dataclass(frozen=True, slots=True)
class SailRequest:
    """One sail of the batch. sail_number None: to follow. sizes: what was asked or measured on this boat, exact mm by measurement name.

    path names the place in the customer's text ("row 7"), so that a problem can be pointed at; options are the codes that were
    chosen; options that were explicitly left out are in `declined` (a required option there is a problem).
    """

    path: str
    boat: str
    owner: str
    sail_number: str | None
    sizes: Mapping[str, Decimal] = field(default_factory=dict)
    luff_curve: LuffCurve | None = None
    options: frozenset[str] = frozenset()
    declined: frozenset[str] = frozenset()
    cloth: str = ""  # empty: the pattern's first
    colour: str = ""  # empty: the cloth's first
    number_colour: str = ""
    note: str = ""
    given_as: str = ""  # a prize, a sponsored or a demonstration sail, in words: nothing is charged for it
    pattern: str = ""  # code; empty: the house's first
    certified_on: date | None = None  # when it is expected to be certified; None: at the end of the lead time
    measured: Mapping[str, str] = field(default_factory=dict)  # how, by whom and when a size was taken, where that is on record
    non_class: bool = False  # it may lie outside its class's limits, and is then not sold as legal


@dataclass(frozen=True, slots=True)
class BatchRequest:
    """A batch for one customer. buyer "trade" sees net prices, "private" tax-inclusive ones.

    joins, joined: the order whose batch these sails join late, and how many sails that batch has: the tiers of the terms count them too.
    """

    customer: str
    buyer: str
    sails: tuple[SailRequest, ...]
    terms: str = ""
    joins: str = ""
    joined: int = 0


@dataclass(frozen=True, slots=True)
class BatchTier:
    """From this number of sails on, this fraction off what the loft makes."""

    from_sails: int
    discount: Decimal


@dataclass(frozen=True, slots=True)
class Terms:
    """Conditions of sale: discounts (the best single one applies), deposit, validity, batch wording.

    below_minimum: the terms that hold instead with fewer than minimum_sails, empty where the file names none; late_joiners: a boat may
    join a batch that was ordered on these terms.
    """

    code: str
    tiers: tuple[BatchTier, ...]
    early_discount: Decimal  # for a show or early order, 0 where none applies
    deposit_fraction: Decimal
    valid_days: int
    minimum_sails: int
    cut_off: date | None
    lead_time: str
    text: tuple[str, ...]  # drop-outs, tier missed, late joiners: printed as they stand
    price_point: Decimal = Decimal(0)  # the price shown is rounded up to a whole multiple; 0: none
    below_minimum: str = ""
    late_joiners: bool = False


@dataclass(frozen=True, slots=True)
class MarginPolicy:
    """Gross margin fractions: target sets a price, below warning the desk says so, below floor the owner must agree."""

    target: Decimal
    warning: Decimal
    floor: Decimal


@dataclass(frozen=True, slots=True)
class Overhead:
    """What the loft costs beside its sails: an amount for each productive hour or a fraction of a sail's other cost, never both.

    in_margin: it is part of the cost, so that margins are what is left after it; otherwise it is only shown.
    """

    per_hour: Decimal = Decimal(0)
    fraction: Decimal = Decimal(0)
    in_margin: bool = True


@dataclass(frozen=True, slots=True)
class TaxRate:
    """A tax rate with its category letter (EN 16931: S standard, Z zero), valid from a day."""

    code: str
    label: str
    fraction: Decimal


@dataclass(frozen=True, slots=True)
class PassThrough:
    """Something charged on at cost for each sail: the class's royalty label, a measuring fee. Outside discount and margin."""

    material: str  # code on a supplier list
    label: str
    tax: str
    rule: str = ""
    option: str = ""
    class_code: str = ""  # empty: of every class


@dataclass(frozen=True, slots=True)
class House:
    """What the loft brings to a calculation, all as of one day.

    pattern: what a sail that names none is made by; others: further patterns of the class, for sails that name them.
    """

    class_rule: ClassRule
    pattern: Pattern
    cloths: Mapping[str, Cloth]  # sailcloth and film by code
    lists: tuple[SupplierList, ...]
    labour: LabourStandards
    terms: Terms
    margins: MarginPolicy
    taxes: tuple[TaxRate, ...]
    sail_tax: str  # code of the rate on what the loft makes
    pass_through: tuple[PassThrough, ...]
    table: Table
    currency: Currency
    end_of_roll_fraction: Decimal = Decimal("0.03")
    rates: tuple[DayRates, ...] = ()  # for lists in other currencies
    gone: tuple[Gone, ...] = ()  # what suppliers no longer sell
    overhead: Overhead | None = None
    gift_flag: Decimal | None = None  # cost given to one person in twelve months above which tax is looked at
    retail: RetailList | None = None  # the loft's list, where sails are sold at list price and not costed
    special_as_bought: bool = False  # cloth got in for one job is charged by what must be bought
    editions: tuple[ClassRule, ...] = ()  # every edition of the class that is known, for the days after today
    change_fee: Decimal = Decimal(0)  # net, for each sail that is changed when a change is no longer free
    others: tuple[Pattern, ...] = ()

    @property
    def patterns(self) -> tuple[Pattern, ...]:
        return (self.pattern, *self.others)

    def making(self, code: str) -> House:
        """The same house with the pattern of this code in front, the first when empty; InputError when it has no such pattern."""
        if code in ("", self.pattern.code):
            return self
        known = {p.code: p for p in self.patterns}
        if code not in known:
            several = [p.code for p in self.patterns if code.casefold() in kind_words(p.sail_kind)]
            if several:
                raise problem("", "several_patterns", f"{code!r} may be {' or '.join(several)}: write which of them")
            near = meant(code, self.patterns)
            hint = f"; did you mean {' or '.join(near)}?" if near else did_you_mean(code, known)
            told = f"the loft has no pattern {code!r} for class {self.class_rule.code}{hint}"
            raise problem("", "unknown_pattern", told)
        return replace(self, pattern=known[code], others=tuple(p for p in self.patterns if p.code != code))
