"""A priced batch: every figure that a document prints, with where it comes from."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from costing.cloth.lay import Lay, Table
from costing.cloth.part import Cloth, Panel, Part
from costing.errors import CostingBug
from costing.measurements import SailKind
from costing.rules.compare import Breach, Headroom, Undetermined, breach_in_words
from costing.rules.limits import ByEye, RoyaltyLabel
from costing.rules.targets import Target
from costing.sail.shape import Outline, Point, SailShape
from costing.takeoff.quantities import NumberPlan, TakeOff
from costing.work.standards import OperationMinutes

SCHEMA_VERSION = 1


@dataclass(frozen=True, slots=True)
class Ring:
    """A ring away from the corners (cunningham, reef): where it lies on the finished sail, and how far that is from the corner point.

    at: sail coordinates; from_corner_mm: straight line, from the tack point for one at the luff, from the clew point for one at the leech.
    """

    name: str
    edge: str  # "luff" or "leech"
    at: Point
    from_corner_mm: float


@dataclass(frozen=True, slots=True)
class Design:
    """A sail that has been computed: shared by every sail with the same canonical inputs (key = their sha256).

    sizes: what the finished outline measures by the ERS constructions, Decimal mm to 0.1 mm, a maximum never rounded up;
    assumed: one sentence for each value that neither a rule nor the customer gave; lays: by material, the body cloth first;
    headroom: class limits against the designed values; area_m2: the outline's own; formula_area_m2: the published formula's.
    """

    key: str
    pattern: str
    variant: bool
    targets: tuple[Target, ...]
    sizes: tuple[tuple[str, Decimal], ...]
    headroom: tuple[Headroom, ...]
    assumed: tuple[str, ...]
    shape: SailShape
    outline: Outline
    cut_outline: Outline
    panels: tuple[Panel, ...]
    parts: tuple[Part, ...]
    cloth: Cloth
    table: Table
    lays: tuple[Lay, ...]
    area_m2: Decimal
    formula_area_m2: Decimal
    options: tuple[str, ...]
    takeoff: TakeOff
    rings: tuple[Ring, ...] = ()  # none in designs of earlier releases
    open_limits: tuple[Undetermined, ...] = ()  # limits that a design has no value for, and why; none in designs of earlier releases


@dataclass(frozen=True, slots=True)
class CostLine:
    """quantity x unit cost = amount, and where both come from.

    group: cloth, hardware, consumables, labour, pass-through. quantity to 3 places, unit_cost to 4, amount to the cent.
    """

    group: str
    code: str
    label: str
    quantity: Decimal
    unit: str
    unit_cost: Decimal
    amount: Decimal
    how: str  # how the quantity was found
    source: str  # list, version, row, break; or the labour standard


@dataclass(frozen=True, slots=True)
class PriceItem:
    """One line of the customer's price: quantity x unit_price - discount = net, taxed at one rate.

    shown_unit_price is the price the buyer sees (with tax for private buyers, net for trade).
    """

    label: str
    quantity: int
    unit_price: Decimal
    shown_unit_price: Decimal
    discount: Decimal
    net: Decimal
    tax: str
    pass_through: bool


@dataclass(frozen=True, slots=True)
class PricedSail:
    """One line of the batch: one sail.

    operations: the sail's own minutes and its share of the set-up minutes; one_off_cost: what the sail would cost made alone, which
    sets its unit price; alone_lines: those cost lines of the sail made alone that are not as in the batch; price_how: the way from
    there to the unit price, in words; assumed: what this sail's price rests on and nobody gave.
    """

    path: str
    label: str  # "Heron 214" or "Heron (number to follow)"
    boat: str
    owner: str
    sail_number: str | None
    design_key: str
    cloth_label: str
    colour: str
    number_colour: str
    chosen: tuple[str, ...]  # labels of options that the sail has
    not_chosen: tuple[str, ...]  # and of those that it could have and has not
    numbers: NumberPlan | None
    operations: tuple[OperationMinutes, ...]
    cost_lines: tuple[CostLine, ...]
    items: tuple[PriceItem, ...]
    cost: Decimal  # without pass-through
    pass_through: Decimal
    net: Decimal  # of all items
    margin: Decimal | None  # (net - pass-through - cost) / (net - pass-through); None for a sail that is given away
    note: str = ""
    one_off_cost: Decimal = Decimal(0)
    price_how: str = ""
    assumed: tuple[str, ...] = ()
    alone_lines: tuple[CostLine, ...] = ()
    pattern_code: str = ""  # empty in batches of the time when all sails were of one pattern
    certified_on: date | None = None  # when it is expected to be certified
    edition_notes: tuple[str, ...] = ()  # what the edition in force on that day says of the design, where that is another
    given_as: str = ""  # given away, as what: its cost is kept, nothing is charged
    change_fees: tuple[PriceItem, ...] = ()  # among `items`: charged for changes after the order, kept by later changes
    required: tuple[tuple[str, str], ...] = ()  # of `chosen`: those that the class requires, each label with the rule's number
    given: tuple[str, ...] = ()  # each size that the customer gave, and what it decides
    breaches: tuple[Breach, ...] = ()  # of its class's limits, by the design: a sail that has any is NON-CLASS, not sold as legal

    @property
    def not_legal(self) -> tuple[str, ...]:
        """Why the sail is not class legal, a sentence for each limit; empty for a class sail."""
        return tuple(breach_in_words(breach) for breach in self.breaches)


@dataclass(frozen=True, slots=True)
class TaxLine:
    """Tax once per rate on the sum of nets (EN 16931 order: category, rate, taxable amount, tax)."""

    code: str
    label: str
    fraction: Decimal
    taxable: Decimal
    tax: Decimal


@dataclass(frozen=True, slots=True)
class Totals:
    """Net, tax and gross; refuses to exist unless they add up."""

    net: Decimal
    taxes: tuple[TaxLine, ...]
    tax: Decimal
    gross: Decimal
    deposit: Decimal

    def __post_init__(self) -> None:
        if self.net + self.tax != self.gross:
            raise CostingBug(f"net {self.net} + tax {self.tax} is not gross {self.gross}")
        if sum((t.tax for t in self.taxes), Decimal(0)) != self.tax:
            raise CostingBug(f"the taxes {[str(t.tax) for t in self.taxes]} do not add up to {self.tax}")
        if sum((t.taxable for t in self.taxes), Decimal(0)) != self.net:
            raise CostingBug(f"the taxable amounts do not add up to the net {self.net}")


@dataclass(frozen=True, slots=True)
class PriceStep:
    """From this number of sails on, a sail's net price under the terms."""

    from_sails: int
    discount: Decimal
    net: Decimal


@dataclass(frozen=True, slots=True)
class TicketStep:
    """One step of a ticket: what to do, how many minutes, what it acts on, the caution beside it."""

    operation: str
    label: str
    minutes: Decimal
    how: str
    caution: str
    needs_number: bool = False  # waits for the sail number


@dataclass(frozen=True, slots=True)
class TicketPlan:
    """The work of one station on one sail, in the pattern's order."""

    station: str
    steps: tuple[TicketStep, ...]


@dataclass(frozen=True, slots=True)
class QuotedPattern:
    """A pattern of the batch with what the quote says of the sails that are made by it; called: the sail in a word or two."""

    code: str
    version: int
    name: str
    called: str
    sail_kind: SailKind
    included: tuple[str, ...]
    not_included: tuple[str, ...]
    by_eye: tuple[ByEye, ...]
    royalty_label: RoyaltyLabel | None
    condition: str = ""  # how the class measures this kind of sail: dry, battens out


@dataclass(frozen=True, slots=True)
class PricedBatch:
    """Everything that a quote says, computed once; the designs' geometry is kept beside it by key.

    batch_cost_lines: set-up shared by the batch and the end-of-roll loss are inside each sail's cost_lines as its share.
    minimum_sails, below_minimum, tier_from: how many sails the terms ask for, which terms hold with fewer, and from how many the discount
    is; 0 and empty where no such thing was kept. joins, joined: the order whose batch the sails join, and the sails of that batch.
    patterns: those of its sails, the batch's own first; pattern_name to royalty_label are the first one's, and all that older
    snapshots have: read `made_by` and `pattern_of`.
    """

    schema_version: int
    priced_on: date
    currency: str
    customer: str
    buyer: str
    class_code: str
    class_name: str
    edition: str
    edition_from: date
    pattern_name: str
    pattern_code: str
    pattern_version: int
    sail_kind: SailKind
    terms_code: str
    discount: Decimal
    discount_reason: str
    deposit_fraction: Decimal
    valid_days: int
    lead_time: str
    terms_text: tuple[str, ...]
    included: tuple[str, ...]
    not_included: tuple[str, ...]
    by_eye: tuple[ByEye, ...]
    royalty_label: RoyaltyLabel | None
    insignia: str
    sails: tuple[PricedSail, ...]
    totals: Totals
    cost: Decimal
    margin: Decimal | None
    margin_target: Decimal
    margin_warning: Decimal
    margin_floor: Decimal
    warnings: tuple[str, ...]
    cut_off: date | None = None  # the last day on which the batch terms take orders
    steps: tuple[PriceStep, ...] = ()  # by the number of sails, for the sail of which there are most
    given_cost: Decimal = Decimal(0)  # of `cost`, that of sails given away, which no margin counts
    margin_basis: str = ""  # "after overhead of 8 an hour"; empty: no overhead is reckoned
    price_basis: str = ""  # "list 2026, version 1" where sails are sold at list price; empty: costed
    change_of: str = ""  # the order that this changes
    patterns: tuple[QuotedPattern, ...] = ()
    doubts: tuple[str, ...] = ()  # sizes that are hard to believe: somebody stands by them by name before the quote is issued
    minimum_sails: int = 0
    below_minimum: str = ""
    tier_from: int = 0
    joins: str = ""
    joined: int = 0

    @property
    def counted(self) -> int:
        """The sails that the batch terms count: its own, and those of the batch that they join."""
        return len(self.sails) + self.joined

    @property
    def made_by(self) -> tuple[QuotedPattern, ...]:
        """The patterns of the batch, at least one."""
        return self.patterns or (
            QuotedPattern(
                self.pattern_code, self.pattern_version, self.pattern_name, self.sail_kind.value.replace("_", " "), self.sail_kind,
                self.included, self.not_included, self.by_eye, self.royalty_label,
            ),
        )  # fmt: skip

    @property
    def is_mixed(self) -> bool:
        """Whether its sails are of more than one pattern."""
        return len(self.made_by) > 1

    def pattern_of(self, sail: PricedSail) -> QuotedPattern:
        """The pattern that one of the batch's sails is made by."""
        return next((p for p in self.made_by if p.code == sail.pattern_code), self.made_by[0])

    def boats(self) -> tuple[tuple[tuple[int, PricedSail], ...], ...]:
        """The sails with their line numbers, those of one boat that follow each other drawn together."""
        groups: list[list[tuple[int, PricedSail]]] = []
        for number, sail in enumerate(self.sails, start=1):
            if groups and _boat(groups[-1][0][1]) == _boat(sail):
                groups[-1].append((number, sail))
            else:
                groups.append([(number, sail)])
        return tuple(tuple(group) for group in groups)


def _boat(sail: PricedSail) -> tuple[str, str, str]:
    return sail.boat.casefold(), sail.owner.casefold(), sail.sail_number or ""
