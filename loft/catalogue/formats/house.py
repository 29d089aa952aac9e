"""What the loft itself brings, from its file: who it is, labour standards, terms, margins, tax, table, what is charged on."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from costing import money
from costing.cloth import Table
from costing.errors import InputError, did_you_mean
from costing.money import Currency
from costing.quote import BatchTier, MarginPolicy, Overhead, PassThrough, TaxRate, Terms
from costing.work import LabourStandard, LabourStandards, Station
from costing.work import Term as LabourTerm
from loft.catalogue.formats.reader import Reader, open_file

_UNSOURCED = "common practice, no source"


#: More than any tool needs: a larger gap was typed in another unit.
_WIDEST_GAP_MM = 50.0


@dataclass(frozen=True, slots=True)
class Profile:
    """Who the loft is, as its papers print it; date_format is a strftime format."""

    name: str
    address: tuple[str, ...]
    email: str
    phone: str
    tax_number: str
    currency: str
    date_format: str
    public_base_url: str
    time_zone: str


@dataclass(frozen=True, slots=True)
class HouseFile:
    """A dated set of everything that the loft decides for itself."""

    version: str
    valid_from: date
    profile: Profile
    labour: LabourStandards
    terms: tuple[Terms, ...]
    margins: MarginPolicy
    taxes: tuple[TaxRate, ...]
    sail_tax: str
    pass_through: tuple[PassThrough, ...]
    table: Table
    currency: Currency
    end_of_roll_fraction: Decimal
    special_as_bought: bool
    change_fee: Decimal
    overhead: Overhead | None
    gift_flag: Decimal | None
    labour_rates: tuple[tuple[date, Decimal], ...]

    def labour_on(self, on: date) -> LabourStandards:
        """The standards with the rate of a paid hour that holds on a day: the last that began, the first one before any did."""
        begun = [rate for start, rate in self.labour_rates if start <= on]
        return replace(self.labour, rate_per_paid_hour=begun[-1]) if begun else self.labour


def read_house(text: str) -> HouseFile:
    """The loft's own standards that a house file holds; InputError carries every problem with its path."""
    top = open_file(text)
    head, tax, cloth = top.table("house"), top.table("tax"), top.table("cloth")
    profile = _profile(top.table("profile"))
    valid_from = head.day("valid_from")
    version = head.code("version")
    house = HouseFile(
        version=version,
        valid_from=valid_from,
        profile=profile,
        labour=_labour(top.table("labour"), version, valid_from),
        terms=tuple(_terms(t) for t in top.tables("terms", least=1)),
        margins=_margins(top.table("margins")),
        taxes=tuple(TaxRate(r.text("code"), r.text("label"), r.fraction("fraction")) for r in tax.tables("rates", least=1)),
        sail_tax=tax.text("sails"),
        pass_through=tuple(_pass_through(r) for r in top.tables("pass_through")),
        table=_table(top.table("table")),
        currency=_currency(top, profile.currency),
        end_of_roll_fraction=cloth.fraction("end_of_roll"),
        special_as_bought=cloth.flag("special_as_bought", False),
        change_fee=top.table("changes").number("fee") if top.has("changes") else Decimal(0),
        overhead=_overhead(top.table("overhead")) if top.has("overhead") else None,
        gift_flag=top.table("gifts").number("flag_above") if top.has("gifts") else None,
        labour_rates=_labour_rates(top, valid_from),
    )
    _check_tax_codes(top, house)
    _check_below_minimum(top, house)
    top.finish()
    return house


def _overhead(t: Reader) -> Overhead:
    """Per hour or a fraction of the cost, and whether margins are before or after it."""
    per_hour, fraction = t.number("per_hour", Decimal(0)), t.fraction("of_cost", Decimal(0))
    if bool(per_hour) == bool(fraction):
        t.wrong("per_hour", "one_of_two", "overhead is an amount per_hour or a share of_cost: exactly one of them, above 0")
    margin = t.text("margin")
    if margin not in ("after", "before", ""):
        t.wrong("margin", "unknown", f"margins are 'after' or 'before' overhead, not {margin!r}")
    return Overhead(per_hour, fraction, margin == "after")


def _labour_rates(top: Reader, valid_from: date) -> tuple[tuple[date, Decimal], ...]:
    """Later rates of a paid hour, each with its first day, rising in time."""
    rows = top.tables("labour_rates")
    found = tuple((r.day("valid_from"), r.number("rate_per_paid_hour")) for r in rows)
    for i, (start, _) in enumerate(found):
        if start != date.min and start <= (found[i - 1][0] if i else valid_from):
            rows[i].wrong("valid_from", "not_rising", f"{start} is not after the day before it")
    return found


def _profile(t: Reader) -> Profile:
    return Profile(
        name=t.text("name"),
        address=t.texts("address"),
        email=t.text("email"),
        phone=t.text("phone"),
        tax_number=t.text("tax_number", ""),
        currency=t.text("currency"),
        date_format=t.text("date_format"),
        public_base_url=t.text("public_base_url"),
        time_zone=t.text("time_zone"),
    )


def _labour(t: Reader, version: str, valid_from: date) -> LabourStandards:
    operations = tuple(_operation(r) for r in t.tables("operations", least=1))
    codes = [o.operation for o in operations]
    for i, code in enumerate(codes):
        if code and code in codes[:i]:
            t.wrong(f"operations[{i}].operation", "twice", f"{code} stands in operations[{codes.index(code)}] already")
    return LabourStandards(
        version=version,
        valid_from=valid_from.isoformat(),
        rate_per_paid_hour=t.number("rate_per_paid_hour"),
        productive_fraction=_above_zero(t, "productive_fraction"),
        unplanned_fraction=t.fraction("unplanned_fraction"),
        operations=operations,
        learning_per_doubling=t.fraction("learning_per_doubling", Decimal(1)),
        learning_floor=t.fraction("learning_floor", Decimal("0.85")),
    )


def _above_zero(t: Reader, key: str) -> Decimal:
    found = t.fraction(key)
    if found == 0 and t.has(key):
        t.wrong(key, "zero", "should be above 0: it divides the rate")
    return found


def _operation(r: Reader) -> LabourStandard:
    return LabourStandard(
        operation=r.code("operation"),
        label=r.text("label"),
        station=r.choice("station", Station),
        terms=tuple(LabourTerm(t.text("per"), t.number("minutes")) for t in r.tables("terms", least=1)),
        caution=r.sentence("caution", ""),
        source=r.sentence("source", _UNSOURCED),
    )


def _terms(t: Reader) -> Terms:
    tiers = tuple(BatchTier(r.integer("from_sails", least=1), r.fraction("discount")) for r in t.tables("tiers"))
    for i in range(1, len(tiers)):
        if tiers[i].from_sails <= tiers[i - 1].from_sails:
            t.wrong(f"tiers[{i}].from_sails", "not_rising", "the tiers rise in number: this one is not above the one before")
    return Terms(
        code=t.code("code"),
        tiers=tiers,
        early_discount=t.fraction("early_discount", Decimal(0)),
        deposit_fraction=t.fraction("deposit"),
        valid_days=t.integer("valid_days", least=1),
        minimum_sails=t.integer("minimum_sails", 1, least=1),
        cut_off=t.optional_day("cut_off"),
        lead_time=t.text("lead_time"),
        text=t.texts("text", ()),
        price_point=t.number("price_point", Decimal(0)),
        below_minimum=t.text("below_minimum", ""),
        late_joiners=t.flag("late_joiners", bool(tiers)),
    )


def _check_below_minimum(top: Reader, house: HouseFile) -> None:
    """What holds with too few sails are other terms of the file, which ask for no number themselves."""
    by_code = {t.code: t for t in house.terms}
    for i, terms in enumerate(house.terms):
        named, path = terms.below_minimum, f"terms[{i}].below_minimum"
        if named and named not in by_code:
            top.wrong(path, "unknown_terms", f"there are no terms {named!r} in this file{did_you_mean(named, by_code, listed=False)}")
        elif named and by_code[named].minimum_sails > 1:
            top.wrong(path, "asks_for_a_number", f"terms {named} ask for {by_code[named].minimum_sails} sails themselves")


def _margins(t: Reader) -> MarginPolicy:
    policy = MarginPolicy(target=t.fraction("target"), warning=t.fraction("warning"), floor=t.fraction("floor"))
    if not policy.floor <= policy.warning <= policy.target:
        t.wrong("target", "out_of_order", f"{policy.floor} (floor), {policy.warning} (warning) and {policy.target} (target) should rise")
    return policy


def _pass_through(r: Reader) -> PassThrough:
    return PassThrough(
        material=r.text("material"), label=r.text("label"), tax=r.text("tax"), rule=r.text("rule", ""), option=r.text("option", ""),
        class_code=r.text("class", ""),
    )  # fmt: skip


def _table(t: Reader) -> Table:
    table = Table(
        length_mm=t.mm("length"), gap_mm=t.mm("gap"), tool=t.text("tool"), pen=t.text("pen"), window_holes=t.flag("window_holes", False)
    )
    if table.length_mm <= 0 and t.has("length"):
        t.wrong("length", "zero", "should be above 0")
    if not 0 < table.gap_mm <= _WIDEST_GAP_MM and t.has("gap"):
        told = f"{table.gap_mm:g} mm is no gap that a tool needs between parts: it must be above 0 and at most {_WIDEST_GAP_MM:g} mm"
        t.wrong("gap", "impossible", f"{told}; a drag or rotary knife needs 3 to 5, a hot knife 8 to 10 (common practice, no source)")
    return table


def _currency(top: Reader, code: str) -> Currency:
    try:
        return money.currency(code)
    except InputError as error:
        if code:
            top.wrong("profile.currency", "unknown_currency", error.problems[0].message)
        return Currency("GBP")


def _check_tax_codes(top: Reader, house: HouseFile) -> None:
    codes = [t.code for t in house.taxes]
    used = [("tax.sails", house.sail_tax), *((f"pass_through[{i}].tax", p.tax) for i, p in enumerate(house.pass_through))]
    for path, code in used:
        if code and code not in codes:
            top.wrong(path, "unknown_tax", f"{code!r} is not one of the rates {', '.join(codes)}{did_you_mean(code, codes, listed=False)}")
