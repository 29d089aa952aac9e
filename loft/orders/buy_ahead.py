"""What to buy before a dearer list comes into force: cloth for orders and open quotes against the rolls, by minimum order and pack."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from costing import money
from costing import prices as costing_prices
from costing.errors import InputError
from costing.prices.lookup import row_in_force, to_buy
from costing.quote import colours
from costing.quote.exposure import laid
from loft import documents
from loft.catalogue import selectors as catalogue
from loft.common.models import LoftProfile
from loft.orders import exposure, paper
from loft.orders.models import OrderLine, Revision
from loft.orders.states import OrderState
from loft.workshop import lay_selectors, rolls
from loft.workshop.states import TicketState

Cloth = tuple[str, str]  # code, colour


@dataclass(frozen=True, slots=True)
class Purchase:
    """A cloth in a colour: metres in hand, wanted by orders that are not cut yet and by open quotes, and what must be bought for both.

    cost_now, cost_then: of that purchase at the lists of today and of the report's day, None where a list has no price; where: supplier,
    minimum and pack, and when it is back.
    """

    material: str
    name: str
    colour: str
    in_stock: Decimal
    ordered: Decimal
    quoted: Decimal
    short: Decimal
    to_buy: Decimal
    cost_now: Decimal | None
    cost_then: Decimal | None
    where: str

    @property
    def saved(self) -> Decimal | None:
        """What buying it today saves against buying it on the report's day."""
        return None if self.cost_now is None or self.cost_then is None else self.cost_then - self.cost_now


@dataclass(frozen=True, slots=True)
class BuyAhead:
    """The list, the cloth that saves most first; total: what is saved by all of it."""

    today: date
    on: date
    currency: str
    purchases: tuple[Purchase, ...]

    @property
    def saved(self) -> Decimal:
        return sum((p.saved or Decimal(0) for p in self.purchases), Decimal(0))


def buy_ahead(report: exposure.Exposure, *, today: date) -> BuyAhead:
    """The list for an exposure report, as of today."""
    quoted = {(c.material, c.colour): c.metres for c in report.cloths}
    ordered, stock = _ordered(), _in_stock()
    now, then = _Market(today, report.currency), _Market(report.on, report.currency)
    names, nothing = catalogue.material_names({code for code, _ in quoted.keys() | ordered.keys()}), Decimal(0)
    found = [
        _purchase(cloth, names[cloth[0]], stock.get(cloth, nothing), ordered.get(cloth, nothing), quoted.get(cloth, nothing), now, then)
        for cloth in quoted.keys() | ordered.keys()
    ]
    return BuyAhead(today, report.on, report.currency, tuple(sorted(found, key=lambda p: (-(p.saved or nothing), p.material, p.colour))))


HEADINGS = (
    "cloth", "name", "colour", "in stock m", "ordered m", "quoted m", "short m", "to buy m", "cost today", "cost then", "saved", "from",
)  # fmt: skip


def table(found: BuyAhead) -> Iterator[tuple[str, ...]]:
    """The list as rows of text, the headings first."""
    yield HEADINGS
    for p in found.purchases:
        lengths = (str(m) for m in (p.in_stock, p.ordered, p.quoted, p.short, p.to_buy))
        amounts = ("" if a is None else str(a) for a in (p.cost_now, p.cost_then, p.saved))
        yield p.material, p.name, p.colour, *lengths, *amounts, p.where


def document(found: BuyAhead, profile: LoftProfile) -> documents.BuyAheadDocument:
    """The list for paper: what nothing has to be bought of is left out."""
    rows = tuple(
        documents.PurchaseRow(
            cloth=f"{p.material}{', ' + p.colour if p.colour else ''}: {p.name}", where=p.where, in_stock=p.in_stock, ordered=p.ordered,
            quoted=p.quoted, to_buy=p.to_buy, cost_now=p.cost_now, cost_then=p.cost_then, saved=p.saved,
        )
        for p in found.purchases
        if p.to_buy
    )  # fmt: skip
    return documents.BuyAheadDocument(profile.name, profile.date_format, found.today, found.on, found.currency, rows, found.saved)


class _Market:
    """Supplier lists and rates of a day, read once."""

    def __init__(self, on: date, currency: str) -> None:
        self.on, self.currency = on, currency
        sold = catalogue.assortment_of(on=on)
        self.lists = tuple(file.prices for file in sold.files)
        self.gone = {(g.material, g.colour.casefold()) for g in sold.gone}
        self.rates = catalogue.rates(self.lists, on=on, currency=currency)

    def sells(self, material: str, colour: str) -> bool:
        """Whether the colour is not gone; a material that never had a price is found by its cost."""
        return not {(material, ""), (material, colour.casefold())} & self.gone

    def cost(self, material: str, colour: str, metres: Decimal) -> Decimal | None:
        """Of this many metres at the break that they reach; None when nobody sells it."""
        if not self.sells(material, colour):
            return None
        try:
            needed = {material: (metres, "m")}
            unit = costing_prices.unit_costs(self.lists, needed, on=self.on, currency=self.currency, rates=self.rates)[material]
        except InputError:
            return None
        return money.to_cents(metres * unit.amount, money.currency(self.currency))


def _purchase(cloth: Cloth, name: str, stock: Decimal, ordered: Decimal, quoted: Decimal, now: _Market, then: _Market) -> Purchase:
    code, colour = cloth
    short = max(ordered + quoted - stock, Decimal(0))
    found = row_in_force(now.lists, code, now.on)
    bought = to_buy(found[1], short) if found and short else short
    costs = (now.cost(code, colour, bought), then.cost(code, colour, bought)) if bought else (None, None)
    where = _where(found, last_call=now.sells(code, colour) and not then.sells(code, colour))
    return Purchase(code, name, colour, stock, ordered, quoted, short, bought, *costs, where)


def _where(found: tuple[costing_prices.SupplierList, costing_prices.SupplierRow] | None, *, last_call: bool) -> str:
    if found is None:
        return "nobody sells it today"
    listed, row = found
    words = [listed.supplier]
    words += [f"at least {row.minimum.normalize():f} {row.unit}"] if row.minimum else []
    words += [f"in packs of {row.pack.normalize():f} {row.unit}"] if row.pack else []
    words += [f"back on {row.expected.day} {row.expected:%b %Y}"] if row.expected else []
    words += ["not sold any more on the later day"] if last_call else []
    return ", ".join(words)


def _ordered() -> Mapping[Cloth, Decimal]:
    """Metres of each cloth in sails that are ordered, not begun, and of that cloth on no lay that a roll is set aside for."""
    waiting = (TicketState.HELD, TicketState.RELEASED)
    rows = OrderLine.objects.filter(order__state=OrderState.OPEN, ticket__state__in=waiting)
    tickets: dict[int, dict[int, int]] = {}
    revisions: dict[int, Revision] = {}
    for line in rows.select_related("order__revision"):
        tickets.setdefault(line.order_id, {})[line.position] = line.ticket_id
        revisions[line.order_id] = line.order.revision
    on_lays = lay_selectors.cloths_on_lays([pk for own in tickets.values() for pk in own.values()])
    metres: dict[Cloth, Decimal] = {}
    for order, revision in revisions.items():
        for place, sail in enumerate(paper.thaw(revision).sails, start=1):
            for code, colour, taken in laid(sail) if place in tickets[order] else ():
                if not {(code, each) for each in colours.all_in(colour)} <= on_lays.get(tickets[order][place], set()):
                    metres[code, colour] = metres.get((code, colour), Decimal(0)) + taken
    return metres


def _in_stock() -> Mapping[Cloth, Decimal]:
    """Free metres on whole rolls by cloth and colour, and of a cloth in all colours under no colour; a remnant is too short to count on."""
    metres: dict[Cloth, Decimal] = {}
    for row in rolls.rolls():
        free = Decimal(0) if row.remnant else Decimal(rolls.free_mm(row)) / 1000
        for colour in {row.colour, ""}:
            metres[row.cloth_code, colour] = metres.get((row.cloth_code, colour), Decimal(0)) + free
    return metres
