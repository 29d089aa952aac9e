"""The desk over HTTP: one POST a batch, the same answer twice, one shape of errors, and who may do what."""

from __future__ import annotations

import json
import uuid
from collections.abc import Callable
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test.utils import CaptureQueriesContext
from rest_framework.authtoken.models import Token
from rest_framework.test import APIClient

from loft.customers.models import Boat, Customer
from loft.orders.models import Order, Payment, Quote, Revision
from loft.workshop.models import Design, Ticket
from tests import desk, skerling

Post = Callable[..., Any]
NEW_CUSTOMER = {"kind": "association", "name": skerling.CUSTOMER, "email": "sails@skerling.example", "buyer": "trade"}
HERON = {"boat": "Heron", "owner": "Maud Pellow", "sail_number": "214", "options": "window"}
ASKED = {"new_customer": NEW_CUSTOMER, "pattern": desk.PATTERN, "priced_on": "2026-03-02", "boats": [HERON]}


@pytest.fixture
def api(manager: User) -> APIClient:
    client = APIClient(headers={"If-Match": "*"})
    client.force_login(manager)
    return client


@pytest.fixture
def post(api: APIClient) -> Post:
    """POST with a new Idempotency-Key, or the one given."""

    def send(path: str, body: object = None, *, key: str | None = None, client: APIClient = api) -> Any:
        return client.post(path, body or {}, format="json", headers={"Idempotency-Key": key or uuid.uuid4().hex})

    return send


def _nothing_is_stored() -> bool:
    return not any(model.objects.exists() for model in (Quote, Revision, Customer, Boat, Design))


def test_a_whole_batch_in_one_post(loft: None, api: APIClient, post: Post) -> None:
    boats = (skerling.FIXTURES / "skerling_batch_2026.csv").read_text(encoding="utf-8")
    body = {"new_customer": NEW_CUSTOMER, "pattern": desk.PATTERN, "terms": skerling.TERMS, "priced_on": "2026-03-02", "csv": boats}
    with CaptureQueriesContext(connection) as captured:
        made = post("/api/quotes/", body)
    assert made.status_code == 201, made.json()
    asked = desk.queries(captured)
    assert len(asked) <= 25, "\n".join(sql[:120] for sql in asked)
    (revision,) = made.json()["revisions"]
    assert (made.json()["number"], revision["state"], revision["sails"], revision["currency"]) == ("", "draft", 12, "GBP")
    batch = api.get(made["Location"]).json()["batch"]
    assert [s["label"] for s in batch["sails"]][:2] == ["Heron 214", "Dipper 187"]
    assert (batch["totals"]["net"], batch["totals"]["gross"]) == (revision["net"], revision["gross"])


def test_rows_and_csv_ask_for_the_same(loft: None, post: Post) -> None:
    csv = "boat;owner;sail_number;options\nHeron;Maud Pellow;214;window\n"
    rows = post("/api/quotes/", ASKED).json()
    text = post("/api/quotes/", {k: v for k, v in ASKED.items() if k != "boats"} | {"csv": "\ufeff" + csv}).json()
    assert rows["revisions"][0]["gross"] == text["revisions"][0]["gross"]
    snapshots = {bytes(r.snapshot) for r in Revision.objects.all()}
    assert len(snapshots) == 1


def test_the_same_key_makes_one_quote_and_another_body_is_refused(loft: None, post: Post) -> None:
    first, again = post("/api/quotes/", ASKED, key="key-00000001"), post("/api/quotes/", ASKED, key="key-00000001")
    assert (first.status_code, again.status_code, again["Idempotent-Replay"]) == (201, 201, "true")
    assert json.loads(again.content) == first.json()
    assert post("/api/quotes/", ASKED | {"terms": "STANDARD"}, key="key-00000001").status_code == 422
    assert (Quote.objects.count(), Customer.objects.count()) == (1, 1)


MAKING = ["/api/quotes/", "/api/customers/", "/api/quotes/1/issue/", "/api/quotes/1/revise/", "/api/orders/1/payments/"]


@pytest.mark.parametrize("path", MAKING)
def test_without_a_key_nothing_is_made(loft: None, api: APIClient, path: str) -> None:
    answer = api.post(path, ASKED, format="json")
    assert (answer.status_code, answer.json()["details"][0]["path"]) == (400, "Idempotency-Key")
    assert _nothing_is_stored()


def test_every_problem_of_every_row_comes_at_once_and_nothing_is_stored(loft: None, post: Post) -> None:
    rows = [
        HERON | {"half_width": "1,45 m"},
        HERON | {"sail_number": "233", "cloth": "DW999"},  # what only the calculation can refuse
        HERON | {"sail_number": "to follow", "luff_length": "6 yards"},
    ]
    answer = post("/api/quotes/", ASKED | {"boats": rows})
    assert answer.status_code == 400
    assert {"code", "message", "details"} == set(answer.json())
    assert [d["path"] for d in answer.json()["details"]] == ["boats[0].half_width", "boats[1].cloth", "boats[2].luff_length"]
    assert _nothing_is_stored()


@pytest.mark.parametrize(
    ("label", "change", "path"),
    [
        ("unknown pattern", {"pattern": "SK13-JIB"}, "pattern"),
        ("unknown terms", {"terms": "NOBODY"}, "terms"),
        ("unknown cloth", {"boats": [HERON | {"cloth": "DW999"}]}, "boats[0].cloth"),
        ("a required option left out", {"boats": [HERON | {"options": "no numbers"}]}, "boats[0].options"),
        ("over a limit", {"boats": [HERON | {"luff_length": "5231"}]}, "boats[0].luff_length"),
        ("no boats", {"boats": []}, "boats"),
        ("a name that is a page long", {"boats": [HERON | {"boat": "x" * 201}]}, "boats[0].boat"),
        ("a customer without a name", {"new_customer": NEW_CUSTOMER | {"name": ""}}, "new_customer.name"),
        ("a line break in the address", {"new_customer": NEW_CUSTOMER | {"email": "a@b.example\nBcc: c@b.example"}}, "new_customer.email"),
        ("both customer and fields", {"customer": 1}, "customer"),
        ("a price day that is none", {"priced_on": "2026-13-01"}, "priced_on"),
        ("a day before every list", {"priced_on": "2020-01-01"}, "on"),
    ],
)
def test_bad_input_is_pointed_at_and_stores_nothing(loft: None, post: Post, label: str, change: dict[str, Any], path: str) -> None:
    answer = post("/api/quotes/", ASKED | change)
    assert answer.status_code == 400, label
    assert path in {d["path"] for d in answer.json()["details"]}, answer.json()
    assert _nothing_is_stored()


def test_another_boats_number_is_told_with_every_other_problem(loft: None, post: Post) -> None:
    Boat.objects.create(class_code="SK13", name="Redshank", owner="Ines Calder", sail_number="214")
    answer = post("/api/quotes/", ASKED | {"boats": [HERON, HERON | {"sail_number": "233", "cloth": "DW999"}]})
    told = [(d["path"], d["code"]) for d in answer.json()["details"]]
    assert (answer.status_code, told) == (400, [("boats[0].sail_number", "number_taken"), ("boats[1].cloth", "unknown_cloth")])
    assert answer.json()["details"][0]["message"].startswith("214 is stored as Redshank of Ines Calder: ")
    assert (Quote.objects.count(), Boat.objects.count()) == (0, 1)


def test_everything_that_an_empty_request_lacks_is_told_at_once(loft: None, post: Post) -> None:
    told = {d["path"]: d["message"] for d in post("/api/quotes/", {}).json()["details"]}
    assert told == {
        "pattern": "This field is required.",
        "customer": "give either customer or new_customer",
        "boats": "give either boats or csv",
    }


def test_boats_that_are_no_list_are_told_how_to_send_them(loft: None, post: Post) -> None:
    told = post("/api/quotes/", {"boats": "boat,owner,sail_number\n", "new_customer": "Hester Lorne"}).json()["details"]
    assert {d["path"]: d["message"] for d in told} == {
        "pattern": "This field is required.",
        "boats": "give the rows as a list; send CSV text as csv",
        "new_customer": "give the customer as an object with his kind, name, email and address",
    }
    (row,) = post("/api/quotes/", ASKED | {"boats": ["Heron"]}).json()["details"]
    assert (row["path"], row["message"]) == ("boats[0]", "a row is an object with the columns of the CSV as names")


def test_more_than_400_boats_are_refused(loft: None, post: Post) -> None:
    rows = [HERON | {"sail_number": str(i)} for i in range(401)]
    assert post("/api/quotes/", ASKED | {"boats": rows}).status_code == 400
    csv = "boat,owner,sail_number\n" + "".join(f"Boat {i},Owner {i},{i}\n" for i in range(1, 402))
    answer = post("/api/quotes/", {k: v for k, v in ASKED.items() if k != "boats"} | {"csv": csv})
    assert (answer.status_code, answer.json()["details"][0]["code"]) == (400, "too_many_boats")
    assert _nothing_is_stored()


@pytest.mark.parametrize("pk", ["7", "99999999999999999999999"])
def test_what_is_not_there_is_404(loft: None, api: APIClient, pk: str) -> None:
    for path in ("quotes", "orders", "tickets", "customers"):
        answer = api.get(f"/api/{path}/{pk}/")
        assert (answer.status_code, answer.json()["code"]) == (404, "not_found"), path


def test_issue_pdf_and_cost_sheet(loft: None, api: APIClient, post: Post) -> None:
    place = post("/api/quotes/", ASKED)["Location"]
    draft = api.get(f"{place}pdf/")
    assert draft.content.startswith(b"%PDF-")
    issued = post(f"{place}issue/")
    assert (issued.status_code, issued.json()["number"], issued.json()["revisions"][0]["state"]) == (200, "Q-0001", "issued")
    stored = Revision.objects.get()
    answer = api.get(f"{place}pdf/")
    assert (answer.content, answer["Content-Type"]) == (bytes(stored.pdf or b""), "application/pdf")
    assert api.get(f"{place}cost-sheet/").content.startswith(b"%PDF-")
    assert post(f"{place}issue/").status_code == 409


def test_an_order_runs_through_the_api(loft: None, api: APIClient, post: Post, manager: User) -> None:
    order = desk.accepted(manager)
    place = f"/api/orders/{order.pk}/"
    money = api.get(place).json()["money"]
    assert money["paid"] == "0.00"
    paid = {"amount": money["deposit"], "received_on": "2026-03-05"}
    assert post(f"{place}payments/", paid, key="pay-0000001").status_code == 201
    assert post(f"{place}payments/", paid, key="pay-0000001").status_code == 201
    assert Payment.objects.count() == 1
    assert api.post(f"{place}cloth/", {"roll": "R-7", "lot": "1180"}, format="json").json()["progress"] == "released"
    numbered = api.post(f"{place}lines/2/sail-number/", {"number": "251"}, format="json")
    assert (numbered.status_code, numbered.json()["lines"][1]["label"]) == (200, "Linnet 251")
    assert api.post(f"{place}lines/2/sail-number/", {"number": "252"}, format="json").status_code == 409
    assert {m["kind"] for m in api.get(place).json()["missing"]} == {"fit", "label"}
    assert api.post(f"{place}due/", {"due_on": "2026-04-20"}, format="json").json()["due_on"] == "2026-04-20"
    assert api.get("/api/orders/?state=open").json()["count"] == 1
    assert api.get("/api/orders/?state=gone").status_code == 400


@pytest.mark.parametrize("amount", ["0", "-5", "NaN", "Infinity", "1e99", "12345678901234", "ten"])
def test_an_amount_out_of_bounds_is_refused(loft: None, post: Post, manager: User, amount: str) -> None:
    order = desk.accepted(manager, desk.ONE_BOAT)
    answer = post(f"/api/orders/{order.pk}/payments/", {"amount": amount, "received_on": "2026-03-05"})
    assert (answer.status_code, answer.json()["details"][0]["path"]) == (400, "amount")
    assert Payment.objects.count() == 0


EVERYTHING = [
    ("get", "/api/classes/"), ("get", "/api/patterns/"), ("get", "/api/supplier-lists/"), ("get", "/api/customers/"),
    ("get", "/api/customers/1/"), ("post", "/api/customers/"), ("get", "/api/boats/"), ("get", "/api/quotes/"), ("post", "/api/quotes/"),
    ("get", "/api/quotes/1/"), ("get", "/api/quotes/1/pdf/"), ("get", "/api/quotes/1/cost-sheet/"), ("post", "/api/quotes/1/issue/"),
    ("post", "/api/quotes/1/revise/"), ("post", "/api/quotes/1/cancel/"), ("get", "/api/orders/"), ("get", "/api/orders/1/"),
    ("post", "/api/orders/1/payments/"), ("post", "/api/orders/1/cloth/"), ("post", "/api/orders/1/due/"),
    ("post", "/api/orders/1/deliver/"),
    ("post", "/api/orders/1/lines/1/sail-number/"), ("get", "/api/tickets/"), ("get", "/api/tickets/1/"),
    ("get", "/api/tickets/1/sheets/cutter/"), ("post", "/api/tickets/1/steps/1/start/"), ("post", "/api/tickets/1/steps/1/finish/"),
    ("post", "/api/tickets/1/fit/"), ("post", "/api/tickets/1/options/"),
    ("post", "/api/tickets/1/label/"), ("post", "/api/tickets/1/scrap/"),
    ("get", "/api/schema/"), ("get", "/api/docs/"),
]  # fmt: skip

CUTTER_MAY = {
    ("get", "/api/classes/"), ("get", "/api/patterns/"), ("get", "/api/orders/"), ("get", "/api/orders/1/"),
    ("post", "/api/orders/1/cloth/"), ("get", "/api/tickets/"), ("get", "/api/tickets/1/"), ("get", "/api/tickets/1/sheets/cutter/"),
    ("post", "/api/tickets/1/steps/1/start/"), ("post", "/api/tickets/1/steps/1/finish/"), ("post", "/api/tickets/1/label/"),
    ("get", "/api/schema/"), ("get", "/api/docs/"),
}  # fmt: skip


@pytest.mark.parametrize(("method", "path"), EVERYTHING)
def test_who_may_call_what(loft: None, manager: User, cutter: User, method: str, path: str) -> None:
    order = desk.accepted(manager, desk.ONE_BOAT)
    real = path.replace("orders/1", f"orders/{order.pk}").replace("tickets/1", f"tickets/{Ticket.objects.get().pk}")
    before = _figures()
    nobody, at_the_table = APIClient(headers={"If-Match": "*"}), APIClient(headers={"If-Match": "*"})
    at_the_table.force_login(cutter)
    assert getattr(nobody, method)(real, {}, format="json").status_code in (401, 403)
    assert _figures() == before
    answer = getattr(at_the_table, method)(real, {}, format="json")
    if (method, path) in CUTTER_MAY:
        assert answer.status_code in (200, 400, 409)
    else:
        assert (answer.status_code, answer.json()["code"]) == (403, "not_allowed")
        assert _figures() == before


def _figures() -> list[Any]:
    return [list(Revision.objects.values_list("state")), list(Ticket.objects.values_list("state", "roll")), Customer.objects.count()]


def test_the_cutter_sees_no_money(loft: None, manager: User, cutter: User) -> None:
    order = desk.accepted(manager, desk.ONE_BOAT)
    client = APIClient(headers={"If-Match": "*"})
    client.force_login(cutter)
    gross = str(desk.paper_of(order).totals.gross)
    for path in ("/api/orders/", f"/api/orders/{order.pk}/", "/api/tickets/", f"/api/tickets/{Ticket.objects.get().pk}/"):
        answer = client.get(path)
        assert answer.status_code == 200
        assert gross not in answer.content.decode()
    assert client.get(f"/api/orders/{order.pk}/").json()["money"] is None


def test_a_token_signs_in_and_a_wrong_one_does_not(loft: None, manager: User) -> None:
    token = Token.objects.create(user=manager)
    right, wrong = APIClient(headers={"If-Match": "*"}), APIClient(headers={"If-Match": "*"})
    right.credentials(HTTP_AUTHORIZATION=f"Token {token.key}")
    wrong.credentials(HTTP_AUTHORIZATION=f"Token {token.key[:-1]}x")
    assert right.get("/api/quotes/").status_code == 200
    assert wrong.get("/api/quotes/").status_code in (401, 403)


def test_steps_and_sheets_on_the_floor(loft: None, manager: User, cutter: User, post: Post) -> None:
    order = desk.accepted(manager, desk.ONE_BOAT)
    client, pk = APIClient(headers={"If-Match": "*"}), Ticket.objects.get().pk
    client.force_login(cutter)
    assert client.post(f"/api/tickets/{pk}/steps/1/start/").status_code == 409  # held
    post(f"/api/orders/{order.pk}/payments/", {"amount": str(desk.paper_of(order).totals.deposit), "received_on": "2026-03-05"})
    client.post(f"/api/orders/{order.pk}/cloth/", {"roll": "R-7", "lot": "1180"}, format="json")
    started = client.post(f"/api/tickets/{pk}/steps/1/start/")
    assert (started.status_code, started.json()["state"], started.json()["steps"][0]["started_by"]) == (200, "in_work", "cutter")
    done = client.post(f"/api/tickets/{pk}/steps/1/finish/", {"metres_used": "11.2"}, format="json")
    assert (done.json()["metres_used"], done.json()["steps"][0]["finished_by"]) == ("11.200", "cutter")
    for station in ("cutter", "sewer", "finisher"):
        assert client.get(f"/api/tickets/{pk}/sheets/{station}/").content.startswith(b"%PDF-")
    assert client.get(f"/api/tickets/{pk}/sheets/desk/").status_code == 404
    assert client.get(f"/api/tickets/?state=in_work&order_number={order.reference}").json()["count"] == 1


def test_the_catalogue_is_there_to_read(loft: None, api: APIClient) -> None:
    (edition,) = api.get("/api/classes/").json()["results"]
    luff = next(x for x in edition["sails"][0]["limits"] if x["measurement"] == "luff_length")
    assert (edition["edition"], luff["maximum"], luff["rule"]) == ("2025", "5230", "C.6.3 (a)")
    (pattern,) = api.get("/api/patterns/").json()["results"]
    assert (pattern["code"], pattern["version"]) == (desk.PATTERN, 3)
    assert api.get("/api/supplier-lists/").json()["count"] == len(skerling.SUPPLIER_FILES)


def test_a_draft_revised_and_cancelled(loft: None, post: Post) -> None:
    place = post("/api/quotes/", ASKED)["Location"]
    revised = post(f"{place}revise/", {"csv": desk.TWO_BOATS.decode(), "priced_on": "2026-03-03"})
    assert [(r["revision"], r["state"], r["sails"]) for r in revised.json()["revisions"]] == [(2, "draft", 2), (1, "superseded", 1)]
    assert post(f"{place}cancel/").json()["revisions"][0]["state"] == "cancelled"
    assert Order.objects.count() == 0
