"""A supplier's price list, and the sailcloth that it sells, from its file."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from costing import money
from costing.cloth import Cloth, Orientation
from costing.prices import Break, SupplierList, SupplierRow
from loft.catalogue.formats.reader import Reader, open_file

#: What the rims of a roll cost: usable width where a supplier does not state one (common practice, no source).
RIM_MM = Decimal(15)
#: No quantity and no unit cost on a list is larger.
MOST = Decimal(1_000_000)


@dataclass(frozen=True, slots=True)
class PriceFile:
    """What a supplier file holds: the list, the cloths it describes, and names of materials by code."""

    prices: SupplierList
    cloths: tuple[Cloth, ...]
    names: dict[str, str]


def read_prices(text: str) -> PriceFile:
    """The supplier list that a price file holds; InputError carries every problem with its path."""
    top = open_file(text)
    head = top.table("list")
    rows = top.tables("rows", least=1)
    prices = SupplierList(
        supplier=head.text("supplier"),
        version=head.code("version"),
        valid_from=head.day("valid_from"),
        valid_to=head.optional_day("valid_to"),
        currency=head.code("currency"),
        carriage=head.fraction("carriage", Decimal(0)),
        duty=head.fraction("duty", Decimal(0)),
        rows=tuple(_row(r) for r in rows),
    )
    names = {row.material: r.text("name", row.material) for row, r in zip(prices.rows, rows, strict=True)}
    cloths = tuple(_cloth(t) for t in top.tables("cloth"))
    _check_list(top, head, prices)
    for key, codes in (("rows[{}].material", [r.material for r in prices.rows]), ("cloth[{}].code", [c.code for c in cloths])):
        for i, code in enumerate(codes):
            if code and code in codes[:i]:
                top.wrong(key.format(i), "twice", f"{code} stands on this list already, at {key.format(codes.index(code))}")
    top.finish()
    return PriceFile(prices, cloths, names)


def _row(r: Reader) -> SupplierRow:
    breaks = tuple(Break(_from(b), _cost(b)) for b in r.tables("breaks", least=1))
    if breaks and breaks[0].from_quantity != 0:
        r.wrong("breaks[0].from", "not_zero", "the first break starts at 0")
    for i in range(1, len(breaks)):
        if breaks[i].from_quantity <= breaks[i - 1].from_quantity:
            r.wrong(f"breaks[{i}].from", "not_rising", "the breaks rise in quantity: this one is not above the one before")
    return SupplierRow(
        row=r.integer("row", least=1),
        material=r.code("material"),
        their_code=r.code("their_code"),
        unit=r.text("unit", most=20),
        breaks=breaks,
        minimum=_amount(r, "minimum"),
        pack=_amount(r, "pack"),
        expected=r.optional_day("expected"),
        special=r.flag("special", False),
    )


def _amount(r: Reader, key: str) -> Decimal:
    """A quantity in the row's unit that may be left out."""
    amount = r.number(key, Decimal(0), most=MOST)
    if amount != money.quantity_3(amount):
        r.wrong(key, "too_fine", f"{amount} has more than three decimals")
    if r.has(key) and amount == 0:
        r.wrong(key, "zero", "should be above 0, or be left out")
    return amount


def _from(b: Reader) -> Decimal:
    quantity = b.number("from", most=MOST)
    if quantity != money.quantity_3(quantity):
        b.wrong("from", "too_fine", f"{quantity} has more than three decimals")
    return quantity


def _cost(b: Reader) -> Decimal:
    cost = b.number("cost", most=MOST)
    if cost != money.unit_cost_4(cost):
        b.wrong("cost", "too_fine", f"{cost} has more than four decimals")
    return cost


def _cloth(t: Reader) -> Cloth:
    width = t.length("width")
    usable = t.length("usable_width", width - RIM_MM)
    if usable > width:
        t.wrong("usable_width", "above_width", f"{usable:,f} mm is more than the roll's {width:,f} mm")
    elif usable <= 0 and t.has("width") and not any(p.path == t.path("width") for p in t.problems):
        told = f"a roll of {width:,f} mm has no usable width: its rims take {RIM_MM:f} mm unless usable_width says otherwise"
        t.wrong("usable_width" if t.has("usable_width") else "width", "zero", f"{told}; write the width as it is on the supplier's list")
    return Cloth(
        code=t.code("code"),
        name=t.text("name"),
        construction=t.text("construction"),
        finish=t.text("finish", ""),
        width_mm=float(width),
        usable_width_mm=float(usable),
        gsm=float(t.size("weight", "g/m2")),
        orientation=t.choice("orientation", Orientation),
        same_faced=t.flag("same_faced"),
        colours=t.texts("colours"),
        role=t.text("role", "body"),
    )


def _check_list(top: Reader, head: Reader, prices: SupplierList) -> None:
    if prices.valid_to is not None and prices.valid_to < prices.valid_from:
        head.wrong("valid_to", "ends_before_start", f"{prices.valid_to} is before valid_from {prices.valid_from}")
    if prices.currency:
        with top.problems.under("list"):
            money.currency(prices.currency)
