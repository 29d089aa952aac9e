"""Exchange rates in the database: stored once, and used for a list in another currency."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
from django.core.management import call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from costing.errors import InputError
from costing.prices import unit_costs
from loft.catalogue import rates, selectors, services
from loft.catalogue.models import ExchangeRate
from loft.orders import paper
from tests import desk, skerling

TABLE = "Date,USD,GBP,\n2026-03-02,1.25,0.85,\n2026-02-27,1.2412,0.8471,\n"


def test_rates_are_stored_once_and_never_edited(db: None) -> None:
    assert rates.load_rates(text=TABLE, dry_run=True).outcome == "new"
    assert not ExchangeRate.objects.exists()
    assert rates.load_rates(text=TABLE).details == ("4 rates that were not stored yet",)
    assert rates.load_rates(text=TABLE).outcome == "unchanged"
    with pytest.raises(InputError) as caught:
        rates.load_rates(text=TABLE.replace("0.8471", "0.8472"))
    assert [(p.path, p.code) for p in caught.value.problems] == [("2026-02-27.GBP", "other_rate")]
    assert ExchangeRate.objects.count() == 4


def test_a_quote_is_priced_from_a_list_in_dollars(db: None, tmp_path: Path) -> None:
    """Tarnside in USD: DW170 at 16.40 USD is 16.40 x 0.85 / 1.25 = 11.152 GBP."""
    for name, load in (("skerling_13_2025.toml", services.load_class), ("sk13_main_v3.toml", services.load_pattern)):
        load(text=skerling.text(name))
    for name in skerling.SUPPLIER_FILES:
        services.load_prices(text=skerling.text(name).replace('currency = "GBP"', f'currency = "{"USD" if "tarn" in name else "GBP"}"'))
    services.load_house(text=skerling.text("larkfield_2026.toml"))
    with pytest.raises(InputError) as caught:
        desk.draft(desk.ONE_BOAT)
    assert {p.code for p in caught.value.problems} == {"currency"}
    (tmp_path / "rates.csv").write_text(TABLE)
    call_command("load_rates", str(tmp_path / "rates.csv"))
    (sail,) = paper.thaw(desk.draft(desk.ONE_BOAT, customer=desk.association(name="Another"))).sails
    cloth = next(line for line in sail.cost_lines if line.code == "DW170")
    assert cloth.unit_cost == Decimal("11.1520")
    assert "1 USD = 0.680000 GBP on 2 Mar 2026" in cloth.source


def test_where_no_rate_holds_the_nearest_day_is_named(db: None) -> None:
    rates.load_rates(text="Date,GBP,\n2026-02-20,0.85,\n2026-03-04,0.86,\n")
    (far,) = (replace(skerling.house().lists[0], currency="EUR", supplier="Far"),)
    found = selectors.rates((far,), on=desk.TODAY, currency="GBP")
    with pytest.raises(InputError) as caught:
        unit_costs((far,), {"DW170": (Decimal(8), "m")}, on=desk.TODAY, currency="GBP", rates=found)
    assert caught.value.problems[0].message == "no exchange rate from EUR to GBP for 2 Mar 2026; the nearest is of 4 Mar 2026"


def test_no_rate_is_read_where_all_lists_are_in_the_lofts_own_currency(db: None) -> None:
    desk.load_catalogue()
    with CaptureQueriesContext(connection) as asked:
        selectors.house(pattern=desk.PATTERN, on=desk.TODAY)
    assert not any("exchangerate" in statement["sql"] for statement in asked)
