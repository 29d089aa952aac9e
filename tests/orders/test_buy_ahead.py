"""The buy-ahead list by hand: quotes, orders and rolls against minimum orders, at the lists of today and of the day of a rise."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.test import Client
from pypdf import PdfReader

from loft import documents
from loft.catalogue import services as catalogue
from loft.common import selectors as common
from loft.orders import buy_ahead, exposure, paper
from loft.workshop.models import Roll
from tests import desk, skerling

RISE = date(2026, 3, 9)


def dearer(*, minimum: str = "") -> None:
    """DW170 from 16.40 to 18.00 a metre below 50 m, from 15.20 to 17.00 at 50 m."""
    text = skerling.text("tarnside_2026.toml").replace('version = "2026"', 'version = "2026b"').replace("2026-01-05", RISE.isoformat())
    catalogue.load_prices(text=text.replace("cost = 16.40", "cost = 18.00").replace("cost = 15.20", "cost = 17.00"))


def minimum_order(words: str) -> None:
    """Tarnside's list of a month ago: the same prices, and how DW170 is sold."""
    text = skerling.text("tarnside_2026.toml").replace('version = "2026"', 'version = "2026a"').replace("2026-01-05", "2026-02-02")
    catalogue.load_prices(text=text.replace('their_code = "TS 170 F"', f'their_code = "TS 170 F"\n{words}'))


def roll(name: str, metres: int, **fields: object) -> None:
    values = {"cloth_code": "DW170", "colour": "white", "lot": "1180", "usable_width_mm": 1355, "booked_at": desk.NOW} | fields
    Roll.objects.create(name=name, length_mm=metres * 1000, **values)


def found(on: date = RISE) -> buy_ahead.BuyAhead:
    report = exposure.exposure(on=on, now=desk.NOW + timedelta(minutes=1), currency="GBP")
    return buy_ahead.buy_ahead(report, today=desk.TODAY)


def cloth(code: str = "DW170", colour: str = "white") -> buy_ahead.Purchase:
    (row,) = [p for p in found().purchases if (p.material, p.colour) == (code, colour)]
    return row


def metres(batch: object) -> Decimal:
    return sum((line.quantity for sail in batch.sails for line in sail.cost_lines if line.code == "DW170"), Decimal(0))  # type: ignore[attr-defined]


def test_what_is_quoted_is_bought_at_the_minimum_and_in_packs(loft: None, manager: User) -> None:
    """Two sails take less than 20 m; at least 20 m, in packs of 10: 20 m. 20 x 16.40 = 328.00 today, 20 x 18.00 = 360.00 then."""
    minimum_order("minimum = 20\npack = 10")
    needed = metres(paper.thaw(desk.issued(manager)))
    dearer()
    row = cloth()
    assert 10 < needed < 20
    assert (row.in_stock, row.ordered, row.quoted, row.short, row.to_buy) == (0, 0, needed, needed, Decimal("20.000"))
    assert (row.cost_now, row.cost_then, row.saved) == (Decimal("328.00"), Decimal("360.00"), Decimal("32.00"))
    assert row.where == "Tarnside Sailcloth, at least 20 m, in packs of 10 m"


def test_rolls_of_the_colour_come_off_and_nothing_else_does(loft: None, manager: User) -> None:
    needed = metres(paper.thaw(desk.issued(manager)))
    roll("R-1", 6)
    roll("R-2", 40, colour="red")
    roll("R-3", 40, cloth_code="DW150")
    roll("R-4", 40, remnant=True)
    roll("R-5", 40, gone_at=desk.NOW)
    row = cloth()
    assert (row.in_stock, row.short, row.to_buy) == (Decimal(6), needed - 6, needed - 6)
    roll("R-6", 40)
    assert (cloth().short, cloth().to_buy, cloth().cost_now) == (0, 0, None)


def test_orders_that_are_not_begun_want_their_cloth_first(loft: None, manager: User) -> None:
    order = desk.accepted(manager)
    needed = metres(desk.paper_of(order))
    row = cloth()
    assert (row.ordered, row.quoted) == (needed, 0)
    ticket = order.lines.order_by("position")[0].ticket
    type(ticket).objects.filter(pk=ticket.pk).update(state="in_work", released_at=desk.NOW, started_at=desk.NOW)
    assert cloth().ordered < needed


def test_film_is_counted_in_any_colour(loft: None, manager: User) -> None:
    desk.issued(manager)
    roll("F-1", 3, cloth_code="FILM-05", colour="clear")
    assert cloth("FILM-05", "").in_stock == Decimal(3)


def test_a_cloth_that_nobody_sells_any_more_has_no_cost_then(loft: None, manager: User) -> None:
    desk.issued(manager)
    text = skerling.text("tarnside_2026.toml").replace('version = "2026"', 'version = "2026b"').replace("2026-01-05", RISE.isoformat())
    before, _, after = text.partition("[[rows]]\nrow = 12\n")
    catalogue.load_prices(text=before + after[after.index("[[rows]]") :])
    row = cloth()
    assert row.cost_now is not None and (row.cost_then, row.saved) == (None, None)


def test_a_colour_that_will_be_gone_is_a_last_call(loft: None, manager: User) -> None:
    desk.issued(manager, b"boat,owner,sail_number,colour\nScarlet,Ada Fenwick,318,red\n")
    text = skerling.text("tarnside_2026.toml").replace('version = "2026"', 'version = "2026b"').replace("2026-01-05", RISE.isoformat())
    catalogue.load_prices(text=text.replace(', "red"]', "]"))
    row = cloth(colour="red")
    assert row.cost_now is not None and row.cost_then is None
    assert row.where == "Tarnside Sailcloth, not sold any more on the later day"


def test_the_table_and_the_paper_say_the_same(loft: None, manager: User, client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    minimum_order("minimum = 20\npack = 10")
    desk.issued(manager)
    dearer()
    monkeypatch.setattr("django.utils.timezone.now", lambda: desk.NOW + timedelta(minutes=1))
    client.force_login(manager)
    rows = list(csv.DictReader(io.StringIO(client.get(f"/quotes/exposure/buy-ahead.csv?on={RISE}").content.decode())))
    (row,) = [r for r in rows if r["cloth"] == "DW170"]
    assert (row["colour"], row["to buy m"], row["cost today"], row["saved"]) == ("white", "20.000", "328.00", "32.00")
    pdf = client.get(f"/quotes/exposure/buy-ahead.pdf?on={RISE}")
    words = " ".join(PdfReader(io.BytesIO(pdf.content)).pages[0].extract_text().split())
    assert "328.00" in words and "360.00" in words and "at least 20 m" in words
    assert client.get("/quotes/exposure/buy-ahead.doc").status_code == 404


def test_a_hundred_cloths_fit_on_their_pages(loft: None) -> None:
    row = documents.PurchaseRow("DW170, white: woven polyester", "Mill", *[Decimal(5)] * 4, Decimal(1), None, None)
    doc = buy_ahead.document(buy_ahead.BuyAhead(desk.TODAY, RISE, "GBP", ()), common.loft_profile())
    reader = PdfReader(io.BytesIO(documents.buy_ahead_pdf(replace(doc, rows=(row,) * 100))))
    assert sum(page.extract_text().count("DW170, white") for page in reader.pages) == 100
