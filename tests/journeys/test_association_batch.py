"""The main job from end to end, as the desk, the customer and the floor go through it."""

from __future__ import annotations

import uuid
from datetime import timedelta
from typing import Any
from urllib.parse import urlsplit

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone
from rest_framework.test import APIClient

from loft.orders.models import Order, Quote
from loft.workshop.models import Ticket
from tests import desk, skerling

ASKED = {
    "new_customer": {"kind": "association", "name": skerling.CUSTOMER, "email": "sails@skerling.example", "buyer": "trade"},
    "pattern": desk.PATTERN,
    "terms": skerling.TERMS,
    "priced_on": "2026-03-02",
}


class Desk:
    """Somebody signed in, with a new key for each thing to make."""

    def __init__(self, user: User) -> None:
        self.client = APIClient(headers={"If-Match": "*"})
        self.client.force_login(user)

    def get(self, path: str) -> Any:
        answer = self.client.get(path)
        assert answer.status_code == 200, (path, answer.content)
        return answer.json()

    def post(self, path: str, body: object = None) -> Any:
        answer = self.client.post(path, body or {}, format="json", headers={"Idempotency-Key": uuid.uuid4().hex})
        assert answer.status_code in (200, 201), (path, answer.content)
        return answer.json()


@pytest.fixture
def boats() -> str:
    return (skerling.FIXTURES / "skerling_batch_2026.csv").read_text(encoding="utf-8")


def test_from_the_list_of_boats_to_released_tickets(loft: None, manager: User, cutter: User, boats: str) -> None:
    office, floor, customer = Desk(manager), Desk(cutter), Client()
    quote = office.post("/api/quotes/", ASKED | {"csv": boats})
    place = f"/api/quotes/{quote['id']}/"
    assert office.post(f"{place}issue/")["number"] == "Q-0001"

    letter = desk.sent(f"quote_issued:{Quote.objects.get().revisions.get().pk}")
    page = urlsplit(desk.link_in(letter)).path
    shown = customer.get(page)
    assert (shown.status_code, shown["Referrer-Policy"], Order.objects.count()) == (200, "no-referrer", 0)
    assert skerling.CUSTOMER in shown.content.decode()
    for _ in range(2):
        assert customer.post(page, {"name": "Hester Lorne", "agreed": "yes"}, follow=True).status_code == 200
    assert Order.objects.count() == 1
    assert "O-0001" in customer.get(page).content.decode()
    assert office.get(place)["revisions"][0]["state"] == "accepted"
    assert desk.sent(f"order_accepted:{Order.objects.get().pk}")["To"] == "sails@skerling.example"

    (order,) = office.get("/api/orders/")["results"]
    order_place = f"/api/orders/{order['id']}/"
    assert [line["ticket"] for line in order["lines"]] == [f"O-0001-{n:02d}" for n in range(1, 13)]
    assert {t["state"] for t in floor.get("/api/tickets/")["results"]} == {"held"}
    office.post(f"{order_place}payments/", {"amount": order["money"]["deposit"], "received_on": "2026-03-09"})
    for colour, roll in (("white", "R-0412"), ("light grey", "R-0413"), ("red", "R-0414")):
        office.post(f"{order_place}cloth/", {"roll": roll, "lot": "7731", "colour": colour})
    assert floor.get("/api/tickets/?state=released")["count"] == 10  # two variants still wait for their fit
    assert {m["kind"] for m in office.get(order_place)["missing"] if m["holds"] == "release"} == {"fit"}
    late = next(line["position"] for line in order["lines"] if "to follow" in line["label"])
    office.post(f"{order_place}lines/{late}/sail-number/", {"number": "251"})
    assert floor.get(order_place)["lines"][late - 1]["label"] == "Linnet 251"

    ticket = floor.get("/api/tickets/?state=released")["results"][0]
    steps = floor.get(f"/api/tickets/{ticket['id']}/")["steps"]
    stations = [s["station"] for s in steps]
    assert list(dict.fromkeys(stations)) == ["cutter", "sewer", "finisher"]
    floor.post(f"/api/tickets/{ticket['id']}/steps/1/start/")
    assert floor.post(f"/api/tickets/{ticket['id']}/steps/1/finish/", {"metres_used": "11.4"})["state"] == "in_work"
    assert floor.get(order_place)["progress"] == "in work"


def test_a_revised_quote_is_accepted_by_the_new_link_only(loft: None, manager: User) -> None:
    office, customer = Desk(manager), Client()
    quote = office.post("/api/quotes/", ASKED | {"csv": desk.TWO_BOATS.decode(), "terms": "STANDARD"})
    place = f"/api/quotes/{quote['id']}/"
    pages = []
    for number in (1, 2):
        if number == 2:
            office.post(f"{place}revise/", {"csv": desk.ONE_BOAT.decode(), "priced_on": "2026-03-02"})
        office.post(f"{place}issue/")
        revision = Quote.objects.get().revisions.get(revision=number)
        pages.append(urlsplit(desk.link_in(desk.sent(f"quote_issued:{revision.pk}"))).path)
    old, new = pages
    assert customer.get(old).status_code == 404
    assert customer.post(old, {"name": "Hester Lorne", "agreed": "yes"}).status_code == 404
    assert Order.objects.count() == 0
    assert customer.post(new, {"name": "Hester Lorne", "agreed": "yes"}, follow=True).status_code == 200
    assert (Order.objects.get().revision.revision, Ticket.objects.count()) == (2, 1)


def test_the_link_of_an_expired_quote_shows_nothing(loft: None, manager: User) -> None:
    long_ago = timezone.now() - timedelta(days=40)
    revision = desk.issued(manager, desk.ONE_BOAT, now=long_ago)
    page = f"/accept/{desk.token_of(revision)}/"
    unknown = Client().get(f"/accept/{'A' * 43}/")
    for answer in (Client().get(page), Client().post(page, {"name": "Hester Lorne", "agreed": "yes"})):
        assert (answer.status_code, answer.content) == (404, unknown.content)
    assert Order.objects.count() == 0
