"""Where a material is used, counted again from the snapshots."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.test import Client

from costing.quote import PricedBatch
from loft.catalogue import services as catalogue
from loft.common.errors import NotFound
from loft.orders import paper, services, where_used
from loft.workshop.models import Roll, Ticket
from tests import desk, skerling

NOW = desk.NOW + timedelta(minutes=5)


def amount(batch: PricedBatch, code: str) -> Decimal:
    return sum((line.quantity for sail in batch.sails for line in sail.cost_lines if line.code == code), Decimal(0))


def found(code: str) -> where_used.Used:
    return where_used.used(code, on=desk.TODAY, now=NOW)


def one(name: str, number: int, by: User) -> bytes:
    return desk.ONE_BOAT.replace(b"214", str(number).encode())


@pytest.mark.parametrize("code", ["DW170", "RING-12", "LABEL-SK13"])
def test_everything_that_takes_it_with_how_much(loft: None, manager: User, code: str) -> None:
    order = desk.accepted(manager)
    draft = desk.draft(one("a", 401, manager), customer=desk.association(name="A"), by=manager)
    out = services.issue(
        revision=desk.draft(one("b", 402, manager), customer=desk.association(name="B"), by=manager), by=manager, now=desk.NOW
    )
    used = found(code)
    assert [(t.reference, t.amount) for t in used.open_quotes] == [("Q-0002", amount(paper.thaw(out), code))]
    assert [(t.quote, t.amount) for t in used.drafts] == [(draft.quote_id, amount(paper.thaw(draft), code))]
    assert [(t.reference, t.amount) for t in used.orders] == [("O-0001", amount(desk.paper_of(order), code))]
    assert [t.number for t in used.tickets] == ["O-0001-01", "O-0001-02"]
    assert used.promised == used.open_quotes[0].amount + used.orders[0].amount
    Ticket.objects.filter(number="O-0001-01").update(state="scrapped", scrapped_at=desk.NOW)
    assert [t.number for t in found(code).tickets] == ["O-0001-02"]


def test_a_finished_sail_of_a_cancelled_order_is_in_stock(loft: None, manager: User) -> None:
    order = desk.accepted(manager, desk.ONE_BOAT)
    stamps = {"released_at": desk.NOW, "started_at": desk.NOW, "ready_at": desk.NOW}
    Ticket.objects.update(state="ready", **stamps)
    services.cancel_order(order=order, reason="the boat was sold", now=NOW, by=manager)
    used = found("DW170")
    assert (used.tickets, used.orders) == ((), ())
    assert [(t.number, t.amount) for t in used.stock_sails] == [("O-0001-01", amount(paper.thaw(order.revision), "DW170"))]


def test_patterns_name_it_as_cloth_film_or_kit(loft: None) -> None:
    for code in ("DW170", "DW185", "FILM-05", "HEADBOARD-130"):
        assert [p.code for p in found(code).patterns] == ["SK13-MAIN"], code
    assert found("DW150").patterns == ()


def test_free_metres_on_its_rolls(loft: None) -> None:
    values = {"cloth_code": "DW170", "colour": "white", "lot": "1", "usable_width_mm": 1355, "booked_at": desk.NOW}
    Roll.objects.create(name="R-1", length_mm=40_000, flaws=[[1000, 2000]], **values)
    assert found("DW170").in_stock == Decimal(39)


def test_the_page_says_since_when_it_is_gone(loft: None, manager: User, client: Client) -> None:
    text = skerling.text("tarnside_2026.toml").replace('version = "2026"', 'version = "2026b"').replace("2026-01-05", "2026-03-09")
    before, _, after = text.replace(', "red"]', "]").partition("[[rows]]\nrow = 9\n")
    catalogue.load_prices(text=before + after[after.index("[[rows]]") :])
    client.force_login(manager)
    page = client.get("/materials/DW150/").content.decode()
    assert "all of it: not on Tarnside Sailcloth 2026b, since 09 Mar 2026" in page
    assert "red 09 Mar 2026" in " ".join(client.get("/materials/").content.decode().split())
    assert client.get("/materials/NONE/").status_code == 404
    with pytest.raises(NotFound):
        found("NONE")
