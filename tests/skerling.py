"""The invented scenario of the tests: the loft, its class, its pattern and twelve boats; from fixtures/, without a database."""

from __future__ import annotations

from datetime import date
from functools import cache
from pathlib import Path

from costing.quote import BatchRequest, House
from loft.catalogue import formats
from loft.customers import boats_csv

FIXTURES = Path(__file__).resolve().parents[1] / "fixtures"
PRICED_ON = date(2026, 3, 2)
TERMS = "ASSOC-2026"
CUSTOMER = "Skerling Class Association of the Northern Tarns"
SUPPLIER_FILES = ("tarnside_2026.toml", "fellgate_2026.toml", "association_2026.toml")


def text(name: str) -> str:
    """A fixture's text."""
    return (FIXTURES / name).read_text(encoding="utf-8")


def second_main_text() -> str:
    """Another pattern of the same kind of sail: the main with a flatter foot, under a code of its own."""
    changes = (
        ('code = "SK13-MAIN"', 'code = "SK13-FLAT"'), ("version = 3", "version = 1"),
        ('name = "Skerling 13 mainsail, cross-cut"', 'name = "Skerling 13 flat mainsail"'),
        ('foot_round = "55 mm"', 'foot_round = "35 mm"'),
    )  # fmt: skip
    found = text("sk13_main_v3.toml")
    for old, new in changes:
        assert found.count(old) == 1, old
        found = found.replace(old, new)
    return found


@cache
def house(terms: str = TERMS) -> House:
    """The loft as of `PRICED_ON`, with all supplier lists."""
    own = formats.read_house(text("larkfield_2026.toml"))
    files = [formats.read_prices(text(name)) for name in SUPPLIER_FILES]
    return House(
        class_rule=formats.read_class(text("skerling_13_2025.toml")),
        pattern=formats.read_pattern(text("sk13_main_v3.toml")),
        cloths={cloth.code: cloth for file in files for cloth in file.cloths},
        lists=tuple(file.prices for file in files),
        labour=own.labour,
        terms=next(t for t in own.terms if t.code == terms),
        margins=own.margins,
        taxes=own.taxes,
        sail_tax=own.sail_tax,
        pass_through=own.pass_through,
        table=own.table,
        currency=own.currency,
        end_of_roll_fraction=own.end_of_roll_fraction,
        change_fee=own.change_fee,
    )


@cache
def batch(terms: str = TERMS) -> BatchRequest:
    """The association's twelve boats: ten take the pattern as it is, two are variants."""
    sails = boats_csv.read_boats((FIXTURES / "skerling_batch_2026.csv").read_bytes(), pattern=house().pattern)
    return BatchRequest(customer=CUSTOMER, buyer="trade", sails=sails, terms=terms)
