"""Rates typed on their page: stored once, refused with everything that is wrong, and the nearest day named where there is none."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User
from django.test import Client

from loft.catalogue import rates
from loft.catalogue.models import ExchangeRate
from tests import desk


@pytest.fixture
def page(db: None, manager: User, client: Client) -> Client:
    desk.load_catalogue()
    client.force_login(manager)
    return client


def stored() -> list[tuple[str, str, int]]:
    return [(str(row.on), row.currency, row.per_euro_e6) for row in ExchangeRate.objects.order_by("on", "currency")]


def test_a_typed_rate_is_stored_once_and_never_edited(page: Client) -> None:
    form = {"on": "2026-03-02", "currency": "usd", "rate": "1.0821"}
    assert page.post("/rates/type/", form).status_code == 302
    assert stored() == [("2026-03-02", "USD", 1_082_100)]
    page.post("/rates/type/", form)
    page.post("/rates/type/", form | {"rate": "1.0822"})
    assert stored() == [("2026-03-02", "USD", 1_082_100)]


@pytest.mark.parametrize(("field", "text"), [
    ("on", "2 March"), ("on", ""), ("currency", "XXX"), ("currency", ""), ("rate", "0"), ("rate", "-1"), ("rate", "1,08"), ("rate", ""),
    ("rate", "1.08\n2026-03-03,1.09"), ("currency", "US\n"),
])  # fmt: skip
def test_nonsense_stores_nothing(page: Client, field: str, text: str) -> None:
    page.post("/rates/type/", {"on": "2026-03-02", "currency": "USD", "rate": "1.0821"} | {field: text})
    assert stored() == []


def test_the_day_that_holds_or_the_nearest_is_named(page: Client) -> None:
    rates.load_rates(text="Date,USD,GBP,\n2026-03-02,1.25,0.85,\n")
    answer = page.get("/rates/?on=2026-03-06&currency=usd").content.decode()
    assert "1 USD = 0.680000 GBP on 2 Mar 2026 (1.250000 USD and 0.850000 GBP a EUR)" in answer
    late = page.get("/rates/?on=2026-03-10&currency=USD").content.decode()
    assert "no exchange rate from USD to GBP for 10 Mar 2026; the nearest is of 2 Mar 2026" in late
    early = page.get("/rates/?on=2026-02-01&currency=USD").content.decode()
    assert "the nearest is of 2 Mar 2026" in early
    assert "is not a day" in page.get("/rates/?on=soon&currency=USD").content.decode()
