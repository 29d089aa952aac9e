"""A boat joins an order's batch, and boats drop out of a quote: at the desk, over HTTP for programs, and as the customer reads it."""

from __future__ import annotations

import uuid
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone
from rest_framework.test import APIClient

from loft.common import selectors as common
from loft.common.idempotency import FIELD
from loft.orders import paper, services
from loft.orders.models import Order, Quote, Revision
from loft.workshop import services as workshop
from tests import desk, skerling
from tests.documents import reading
from tests.orders.test_joining import boats
from tests.pages.markup import Page, words

JOINS = "This quote joins the batch of order O-0001, which has 9 sails: with the one here they are 10, and the discount is that of 10 "
PLOVER = {"boat": "Plover", "owner": "Isolde Marr", "sail_number": "301"}


@pytest.fixture
def order(loft: None, manager: User) -> Order:
    """An association's batch of nine, ordered a moment ago."""
    return services.accept(token=desk.token_of(offered(manager, 9)), name="Hester Lorne", now=timezone.now())


def offered(by: User, count: int) -> Revision:
    row = desk.draft(boats(count), terms=skerling.TERMS, by=by)
    return services.issue(revision=row, by=by, now=timezone.now())


def today() -> str:
    return common.local_time(timezone.now(), common.loft_profile()).date().isoformat()


def form(order: Order, **fields: object) -> dict[str, object]:
    values: dict[str, object] = {
        FIELD: "join-form-1", "customer": str(order.customer_id), "pattern": desk.PATTERN, "terms": skerling.TERMS, "on": today(),
        "boats": "boat,owner,sail_number\nPlover,Isolde Marr,301\n",
    }  # fmt: skip
    return values | fields


def api(user: User) -> APIClient:
    client = APIClient(headers={"If-Match": "*"})
    client.force_login(user)
    return client


def sent(client: APIClient, path: str, body: object) -> Any:
    return client.post(path, body, format="json", headers={"Idempotency-Key": uuid.uuid4().hex})


def test_from_the_order_s_page_to_the_customer_s(order: Order, at_the_desk: Client, manager: User) -> None:
    shown = at_the_desk.get(f"/orders/{order.pk}/").content.decode()
    assert f'href="/orders/{order.pk}/join/"' in shown and "A boat joins this batch" in shown
    asking = at_the_desk.get(f"/orders/{order.pk}/join/").content.decode()
    assert "The batch of order O-0001 has 9 sails." in words(asking)
    assert '<option value="ASSOC-2026" selected>' in asking and "STANDARD" not in asking
    assert Page(asking).faults == []
    made = at_the_desk.post(f"/orders/{order.pk}/join/", form(order))
    quote = Quote.objects.order_by("-pk")[0]
    assert (made.status_code, made["Location"], quote.joins_id) == (302, f"/quotes/{quote.pk}/", order.pk)
    page = at_the_desk.get(f"/quotes/{quote.pk}/").content.decode()
    assert JOINS + "sails and more, 10 %." in words(page)
    assert Page(page).faults == []
    row = services.issue(revision=quote.revisions.get(), by=manager, now=timezone.now())
    customer = Client().get(f"/accept/{desk.token_of(row)}/").content.decode()
    assert JOINS + "sails and more, 10 %." in words(customer)
    printed = reading.text(bytes(row.pdf or b""))
    assert JOINS + "sails and more, 10 %." in printed
    assert "10 to 19" in printed and "with this quote: 10" in printed
    assert "with the 9 sails in the batch of order O-0001." in printed
    joined = services.accept(token=desk.token_of(row), name="Isolde Marr", now=timezone.now())
    began = words(at_the_desk.get(f"/orders/{order.pk}/").content.decode())
    assert "Joined since by O-0002" in began and ": 10 sails in the batch." in began
    assert "Joined the batch of order O-0001" in words(at_the_desk.get(f"/orders/{joined.pk}/").content.decode())
    ladder = words(at_the_desk.get(f"/quotes/{quote.pk}/ladder/").content.decode())
    assert "They join the batch of order O-0001: its 9 sails count for the discount." in ladder


def test_what_is_wrong_is_shown_and_nothing_kept(order: Order, at_the_desk: Client) -> None:
    wrong = at_the_desk.post(f"/orders/{order.pk}/join/", form(order, boats="boat,owner,sail_number\nPlover,,301\n", terms="STANDARD"))
    assert wrong.status_code == 400
    assert {row.field or row.column for row in wrong.context["problems"]} == {"terms", "owner"}
    assert "A boat joins order O-0001" in words(wrong.content.decode())
    assert Quote.objects.count() == 1


def test_a_revision_s_form_has_the_batch_s_terms_alone(order: Order, at_the_desk: Client) -> None:
    at_the_desk.post(f"/orders/{order.pk}/join/", form(order))
    quote = Quote.objects.order_by("-pk")[0]
    shown = at_the_desk.get(f"/quotes/{quote.pk}/revise/").content.decode()
    assert '<option value="ASSOC-2026" selected>' in shown and "STANDARD" not in shown
    again = form(order, **{FIELD: "revise-form-1", "version": "1"})
    assert at_the_desk.post(f"/quotes/{quote.pk}/revise/", again).status_code == 302
    assert paper.thaw(Revision.objects.get(quote=quote, revision=2)).joined == 9


def test_an_order_that_nobody_may_join_says_why(loft: None, accepted: Order, at_the_desk: Client) -> None:
    assert "A boat joins this batch" not in at_the_desk.get(f"/orders/{accepted.pk}/").content.decode()
    refused = at_the_desk.get(f"/orders/{accepted.pk}/join/", follow=True)
    assert refused.redirect_chain == [(f"/orders/{accepted.pk}/", 302)]
    told = "Not done: terms STANDARD of O-0001 let no boat join late: a further boat gets a quote of its own"
    assert told in words(refused.content.decode())


def test_a_missed_tier_is_told_to_the_customer_and_the_desk(order: Order, at_the_desk: Client, manager: User) -> None:
    at_the_desk.post(f"/orders/{order.pk}/join/", form(order))
    row = services.issue(revision=Revision.objects.order_by("-pk")[0], by=manager, now=timezone.now())
    workshop.scrap(ticket=order.lines.select_related("ticket").get(position=3).ticket, reason="gave up", now=timezone.now(), by=manager)
    told = "the batch of order O-0001 with this quote has 9 sails left, and its price holds from 10"
    path, customer = f"/accept/{desk.token_of(row)}/", Client()
    shown = customer.get(path)
    assert shown.status_code == 200
    assert told in words(shown.content.decode()) and "Accept and order" not in shown.content.decode()
    refused = customer.post(path, {"name": "Isolde Marr", "agreed": "yes"})
    assert (refused.status_code, Order.objects.count()) == (409, 1)
    assert told in words(refused.content.decode())
    page = at_the_desk.get(f"/quotes/{row.quote_id}/").content.decode()
    assert f"{told}: it can no longer be accepted, re-price it at the number that is left" in words(page)
    again = at_the_desk.post(f"/quotes/{row.quote_id}/drop-outs/", {FIELD: "left-form-1", "version": "1"}, follow=True)
    assert "Revision 2 has 1 sail on terms ASSOC-2026" in words(again.content.decode())
    assert paper.thaw(Revision.objects.get(quote=row.quote_id, revision=2)).tier_from == 5
    assert customer.get(path).status_code == 404


def test_boats_drop_out_on_the_quote_s_page(loft: None, at_the_desk: Client, manager: User) -> None:
    row = offered(manager, 6)
    page = at_the_desk.get(f"/quotes/{row.quote_id}/").content.decode()
    assert "6 sails count; terms ASSOC-2026 ask for at least 5." in words(page)
    assert page.count('name="line"') == 6
    gone = {FIELD: "drop-form-1", "version": "1", "line": ["1", "4"]}
    done = at_the_desk.post(f"/quotes/{row.quote_id}/drop-outs/", gone, follow=True)
    assert "Revision 2 has 4 sails on terms STANDARD. Issue it, so that the customer can accept." in words(done.content.decode())
    again = Revision.objects.get(quote=row.quote_id, revision=2)
    assert [s.boat for s in paper.thaw(again).sails] == ["Boat 401", "Boat 402", "Boat 404", "Boat 405"]
    stale = at_the_desk.post(f"/quotes/{row.quote_id}/drop-outs/", {FIELD: "drop-form-2", "version": "1", "line": ["1"]})
    assert stale.status_code in (409, 412)
    nonsense = at_the_desk.post(f"/quotes/{row.quote_id}/drop-outs/", {FIELD: "drop-form-3", "version": "2", "line": ["x"]}, follow=True)
    assert "Not done: there is no line 0" in words(nonsense.content.decode())
    assert Revision.objects.filter(quote=row.quote_id).count() == 2


def test_a_draft_below_the_minimum_says_so_and_is_not_issued(loft: None, at_the_desk: Client, manager: User) -> None:
    row = desk.draft(boats(4), terms=skerling.TERMS, by=manager)
    told = "terms ASSOC-2026 ask for at least 5 sails and there are 4: re-price at the number that is left, on terms STANDARD"
    assert told in words(at_the_desk.get(f"/quotes/{row.quote_id}/").content.decode())
    refused = at_the_desk.post(f"/quotes/{row.quote_id}/issue/", {"revision": "1"})
    assert (refused.status_code, Revision.objects.get(pk=row.pk).state) == (400, "draft")
    assert told in words(refused.content.decode())


def test_single_sails_have_no_such_box(loft: None, issued: Revision, at_the_desk: Client) -> None:
    assert "The number that is left" not in at_the_desk.get(f"/quotes/{issued.quote_id}/").content.decode()


def test_a_boat_joins_over_http(order: Order, manager: User) -> None:
    client = api(manager)
    body = {"customer": order.customer_id, "pattern": desk.PATTERN, "priced_on": today(), "boats": [PLOVER], "joins": order.pk}
    made = sent(client, "/api/quotes/", body)
    assert (made.status_code, made.json()["joins"]) == (201, order.pk)
    batch = client.get(made["Location"]).json()["batch"]
    assert (batch["joins"], batch["joined"], batch["discount"], batch["minimum_sails"]) == ("O-0001", 9, "0.10", 5)
    other = sent(client, "/api/quotes/", body | {"terms": "STANDARD"})
    assert (other.status_code, [d["path"] for d in other.json()["details"]]) == (400, ["terms"])
    assert sent(client, "/api/quotes/", body | {"joins": 987654}).status_code == 404
    assert Quote.objects.count() == 2
    row = services.issue(revision=Revision.objects.order_by("-pk")[0], by=manager, now=timezone.now())
    joined = services.accept(token=desk.token_of(row), name="Isolde Marr", now=timezone.now())
    assert client.get(f"/api/orders/{joined.pk}/").json()["joins"] == order.pk
    assert client.get(f"/api/orders/{order.pk}/").json()["joins"] is None


def test_boats_drop_out_over_http(loft: None, manager: User) -> None:
    row, client = offered(manager, 6), api(manager)
    path = f"/api/quotes/{row.quote_id}/drop-outs/"
    assert sent(client, path, {}).status_code == 400
    wrong = sent(client, path, {"lines": [7]})
    assert (wrong.status_code, wrong.json()["details"][0]["path"]) == (400, "lines")
    made = sent(client, path, {"lines": [6]})
    assert (made.status_code, made.json()["revisions"][0]["sails"], made.json()["revisions"][0]["terms_code"]) == (201, 5, skerling.TERMS)
    seen = client.post(path, {"lines": [1]}, format="json", headers={"Idempotency-Key": "drop-key-1", "If-Match": '"1-issued"'})
    assert (seen.status_code, Revision.objects.count()) == (412, 2)
