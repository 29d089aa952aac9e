"""Two editors: a write decided on an older version changes nothing, and nothing that was typed is lost."""

from __future__ import annotations

import threading
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from rest_framework.test import APIClient

from loft.common import selectors as common
from loft.common.errors import Stale
from loft.common.models import AuditEntry
from loft.customers import selectors, services
from loft.customers.models import Boat, Customer
from loft.orders.models import Order, Revision
from loft.workshop.models import Ticket
from tests import desk
from tests.pages.markup import Page, words

FIELDS = {"kind": "association", "name": "Tarn Sailing Club", "email": "a@tarn.example", "address": "1 Jetty", "buyer": "trade"}
PROFILE = {
    "name": "Larkfield Sail Loft", "address": "1 Quay", "email": "loft@larkfield.example", "phone": "", "tax_number": "", "currency": "GBP",
    "date_format": "%d %b %Y", "public_base_url": "https://loft.example", "time_zone": "Europe/London",
}  # fmt: skip

#: Every write of the API on something that is there already: method, address, body.
EDITS: list[tuple[str, str, dict[str, Any]]] = [
    ("put", "/api/customers/{customer}/", FIELDS),
    ("put", "/api/boats/{boat}/", {"name": "Heron II", "owner": "Maud Pellow", "sail_number": "214"}),
    ("put", "/api/profile/", PROFILE),
    ("post", "/api/quotes/{quote}/revise/", {}),
    ("post", "/api/quotes/{quote}/issue/", {}),
    ("post", "/api/quotes/{quote}/cancel/", {}),
    ("post", "/api/orders/{order}/cloth/", {"roll": "R-7", "lot": "1180"}),
    ("post", "/api/orders/{order}/due/", {"due_on": "2026-05-01"}),
    ("post", "/api/orders/{order}/deliver/", {}),
    ("post", "/api/orders/{order}/lines/2/sail-number/", {"number": "251"}),
    ("post", "/api/tickets/{ticket}/fit/", {}),
    ("post", "/api/tickets/{ticket}/options/", {}),
    ("post", "/api/tickets/{ticket}/label/", {"label_number": "SK 1"}),
    ("post", "/api/tickets/{ticket}/scrap/", {"reason": "torn"}),
    ("post", "/api/tickets/{ticket}/steps/1/start/", {}),
    ("post", "/api/tickets/{ticket}/steps/1/finish/", {}),
]


def place(address: str, order: Order) -> str:
    draft = Revision.objects.filter(state="draft").first()
    return address.format(
        customer=order.customer_id, boat=Boat.objects.order_by("pk")[0].pk, order=order.pk, ticket=Ticket.objects.order_by("pk")[0].pk,
        quote=order.revision.quote_id if draft is None else draft.quote_id,
    )  # fmt: skip


def stored() -> list[Any]:
    rows: list[Any] = [list(m.objects.order_by("pk").values()) for m in (Customer, Boat, Order)]
    rows.append(list(Ticket.objects.order_by("pk").values("state", "roll", "sail_number", "label_number", "version")))
    rows.append(list(Revision.objects.order_by("pk").values("state", "revision")))
    return [*rows, common.loft_profile().version, AuditEntry.objects.count()]


@pytest.mark.parametrize(("method", "address", "body"), EDITS)
def test_the_api_asks_which_version_a_write_was_decided_on(
    accepted: Order, manager: User, method: str, address: str, body: dict[str, Any]
) -> None:
    desk.draft(desk.ONE_BOAT, by=manager)
    api, path, before = APIClient(), place(address, accepted), stored()
    api.force_login(manager)
    for number, (tag, status, code) in enumerate(
        [(None, 428, "if_match_missing"), ('"999"', 412, "stale"), ('W/"1"', 412, "stale"), ("1", 412, "stale"), ('"x y"', 412, "stale")]
    ):
        headers = {"Idempotency-Key": f"key-{number:06d}"} | ({} if tag is None else {"If-Match": tag})
        answer = getattr(api, method)(path, body, format="json", headers=headers)
        assert (answer.status_code, answer.json()["code"]) == (status, code), tag
        assert stored() == before, tag


@pytest.mark.parametrize(
    "address", ["customers/{customer}", "boats/{boat}", "quotes/{quote}", "orders/{order}", "tickets/{ticket}", "profile"]
)
def test_what_is_edited_answers_with_its_version(accepted: Order, manager: User, address: str) -> None:
    api = APIClient()
    api.force_login(manager)
    tag = api.get(place(f"/api/{address}/", accepted))["ETag"]
    assert tag.startswith('"') and tag.endswith('"') and len(tag) > 2


def test_an_edit_on_the_version_that_was_read_is_stored_once(accepted: Order, manager: User) -> None:
    api = APIClient()
    api.force_login(manager)
    path = f"/api/customers/{accepted.customer_id}/"
    tag = api.get(path)["ETag"]
    first = api.put(path, FIELDS, format="json", headers={"If-Match": tag})
    second = api.put(path, FIELDS | {"name": "Another"}, format="json", headers={"If-Match": tag})
    assert (first.status_code, second.status_code, first["ETag"] == tag) == (200, 412, False)
    assert api.get(path).json()["name"] == "Tarn Sailing Club"


def test_the_desk_sees_both_versions_and_its_own_words_again(accepted: Order, manager: User, at_the_desk: Client) -> None:
    pk = accepted.customer_id
    seen = selectors.customer(pk).version
    services.save_customer(pk=pk, kind="association", name="Typed by the other", email="b@tarn.example", buyer="trade", by=manager)
    mine = FIELDS | {"name": 'Mine & "no" other', "address": "line one\nline two", "version": str(seen)}
    answer = at_the_desk.post(f"/customers/{pk}/", mine)
    html = answer.content.decode()
    assert answer.status_code == 409
    assert Page(html).faults == []
    for said in ("Somebody else has changed this meanwhile", "Typed by the other", 'Mine & "no" other', "line two"):
        assert said in words(html), said
    assert selectors.customer(pk).name == "Typed by the other"
    hidden = Page(html).hidden
    assert {name: hidden[name] for name in FIELDS} == {name: mine[name] for name in FIELDS}
    again = at_the_desk.post(f"/customers/{pk}/", hidden)
    assert again.status_code == 302
    assert selectors.customer(pk).name == 'Mine & "no" other'


def test_a_revision_made_meanwhile_keeps_the_list_of_a_chosen_file(loft: None, manager: User, at_the_desk: Client) -> None:
    first = desk.draft(by=manager)
    page = f"/quotes/{first.quote_id}/revise/"
    hidden = Page(at_the_desk.get(page).content.decode()).hidden
    desk_form = {"pattern": desk.PATTERN, "terms": "", "on": "2026-03-02"}
    file = SimpleUploadedFile("boats.csv", desk.ONE_BOAT, content_type="text/csv")
    assert at_the_desk.post(page, hidden | desk_form | {"file": SimpleUploadedFile("b.csv", desk.ONE_BOAT)}).status_code == 302
    fresh = Page(at_the_desk.get(page).content.decode()).hidden
    answer = at_the_desk.post(page, fresh | desk_form | {"version": hidden["version"], "file": file})
    kept = Page(answer.content.decode()).hidden
    assert (answer.status_code, kept["boats"].split("\n")[1], kept["version"]) == (409, "Heron,Maud Pellow,214", "2")
    assert at_the_desk.post(page, kept).status_code == 302
    assert Revision.objects.filter(quote=first.quote_id).count() == 3


def test_every_form_that_edits_carries_the_version(accepted: Order, manager: User, at_the_desk: Client) -> None:
    ticket = Ticket.objects.order_by("pk")[1]
    boat = Boat.objects.order_by("pk")[0]
    pages = [f"/customers/{accepted.customer_id}/", f"/boats/{boat.pk}/", "/profile/", f"/orders/{accepted.pk}/", f"/tickets/{ticket.pk}/"]
    forms = [(page, form) for page in pages for form in at_the_desk.get(page).content.decode().split("<form")[1:]]
    editing = [(page, form.split("</form>")[0]) for page, form in forms if "/logout/" not in form.split(">")[0]]
    adding = ("/payments/", "/steps/")  # what adds a row, or moves a step that its own state guards
    without = [(page, form[:90]) for page, form in editing if 'name="version"' not in form and not any(a in form for a in adding)]
    assert (len(editing) >= 10, without) == (True, [])


@pytest.mark.django_db(transaction=True)
def test_two_editors_lose_nothing_in_a_hundred_rounds() -> None:
    pk = services.save_customer(kind="person", name="Maud Pellow", buyer="private").pk
    refused = []

    def edit(letter: str) -> None:
        written = 0
        while written < 50:
            row = selectors.customer(pk)
            try:
                text = row.address + letter
                services.save_customer(pk=pk, kind="person", name="Maud Pellow", address=text, buyer="private", version=row.version)
                written += 1
            except Stale:
                refused.append(letter)
        connection.close()

    editors = [threading.Thread(target=edit, args=(letter,)) for letter in "ab"]
    for editor in editors:
        editor.start()
    for editor in editors:
        editor.join()
    row = selectors.customer(pk)
    assert (sorted(row.address), row.version) == (["a"] * 50 + ["b"] * 50, 101)
    assert AuditEntry.objects.filter(action="change").count() == 100
