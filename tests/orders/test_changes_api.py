"""Changing an order over HTTP: tried first, drafted, taken back; and what is too late is a conflict with its place in the request."""

from __future__ import annotations

import csv
import io
import uuid
from collections.abc import Callable
from typing import Any

import pytest
from django.contrib.auth.models import User
from rest_framework.test import APIClient

from loft.common.models import AuditEntry
from loft.orders import order_changes, selectors
from loft.orders.models import Order, Revision
from tests import desk
from tests.orders.test_changes import as_stored, issued, release, start

Post = Callable[..., Any]
NO_TELL_TALES = {"lines": [{"position": 1, "columns": {"options": "window; no tell_tales"}}]}


@pytest.fixture
def order(loft: None, manager: User) -> Order:
    return desk.accepted(manager)


@pytest.fixture
def api(manager: User) -> APIClient:
    client = APIClient()
    client.force_login(manager)
    return client


@pytest.fixture
def post(api: APIClient) -> Post:
    def send(path: str, body: object = None, *, tag: str = "*", key: str | None = None) -> Any:
        return api.post(path, body or {}, format="json", headers={"Idempotency-Key": key or uuid.uuid4().hex, "If-Match": tag})

    return send


def changes(order: Order) -> str:
    return f"/api/orders/{order.pk}/changes/"


def test_a_dry_run_says_what_is_free_and_what_it_costs_and_keeps_nothing(order: Order, post: Post) -> None:
    before = as_stored(order)
    answer = post(changes(order), NO_TELL_TALES | {"dry_run": True})
    assert answer.status_code == 200, answer.json()
    told = answer.json()
    (line,) = told["lines"]
    assert (told["possible"], told["revision"], told["state"]) == (True, None, "")
    assert (line["position"], line["label"], line["verdict"], line["fee"]) == (1, "Heron 214", "free", "0")
    (differs,) = line["differences"]
    assert (differs["column"], differs["before"], differs["after"], differs["why"]) == ("options.tell_tales", "yes", "no", "")
    assert float(line["net_after"]) < float(line["net_before"])
    money = told["balance"]
    assert (money["gross_before"], money["paid"], money["owed_back"]) == (f"{order.gross_minor / 100:.2f}", "0.00", "0")
    assert float(money["gross_after"]) < float(money["gross_before"])
    assert (as_stored(order), Revision.objects.count()) == (before, 1)


def test_released_it_costs_the_fee_and_cut_it_is_too_late(order: Order, post: Post, manager: User) -> None:
    ticket = release(order, manager)
    (line,) = post(changes(order), NO_TELL_TALES | {"dry_run": True}).json()["lines"]
    assert (line["verdict"], line["fee"]) == ("charged", "18.00")
    start(ticket, "lay_and_cut", manager)
    wanted = ((1, "no window; no tell_tales"), (2, "no window"))
    both = {"lines": [{"position": position, "columns": {"options": options}} for position, options in wanted]}
    told = post(changes(order), both | {"dry_run": True}).json()
    assert told["possible"] is False
    assert [(one["label"], one["verdict"]) for one in told["lines"]] == [("Heron 214", "too late"), ("Linnet (number to follow)", "free")]
    assert told["lines"][0]["net_after"] == told["lines"][0]["net_before"]
    verdicts = {d["column"]: (d["verdict"], "began on 02 Mar 2026" in d["why"]) for d in told["lines"][0]["differences"]}
    assert verdicts == {"options.window": ("too late", True), "options.tell_tales": ("charged", False)}


def test_a_change_after_cutting_is_a_conflict_with_its_place_and_changes_nothing(order: Order, post: Post, manager: User) -> None:
    start(release(order, manager), "lay_and_cut", manager)
    before = as_stored(order)
    answer = post(changes(order), {"lines": [{"position": 1, "columns": {"options": "no window"}}]})
    assert (answer.status_code, answer.json()["code"]) == (409, "conflict")
    (told,) = answer.json()["details"]
    assert (told["path"], told["code"]) == ("lines[0].columns.options", "too_late")
    assert "Window can no longer be changed: Load the roll, mark and cut began on 02 Mar 2026" in told["message"]
    assert (as_stored(order), Revision.objects.count()) == (before, 1)


def test_it_is_drafted_once_under_one_key_and_issued_as_the_revision_that_it_is(order: Order, post: Post, api: APIClient) -> None:
    seen = api.get(changes(order))
    assert (seen.json(), seen["ETag"]) == ([], f'"{selectors.order(order.pk).version}"')
    made = post(changes(order), NO_TELL_TALES, tag=seen["ETag"], key="one-change-1")
    again = post(changes(order), NO_TELL_TALES, tag=seen["ETag"], key="one-change-1")
    assert (made.status_code, again.status_code, again["Idempotent-Replay"]) == (201, 201, "true")
    assert (made.json()["revision"], made.json()["state"], made["Location"]) == (2, "draft", f"/api/quotes/{order.revision.quote_id}/")
    stored = Revision.objects.get(revision=2)
    assert (stored.change, made.json()["balance"]["gross_after"]) == (True, f"{stored.gross_minor / 100:.2f}")
    assert made["ETag"] != seen["ETag"]
    assert post(f"{made['Location']}issue/").status_code == 200
    (listed,) = api.get(changes(order)).json()
    assert (listed["revision"], listed["state"], listed["change"], listed["quote"]) == (2, "issued", True, order.revision.quote_id)


def test_of_two_changes_at_once_the_second_is_told_to_look_again(order: Order, post: Post, api: APIClient) -> None:
    tag = api.get(changes(order))["ETag"]
    assert post(changes(order), NO_TELL_TALES, tag=tag).status_code == 201
    assert post(changes(order), NO_TELL_TALES, tag=tag).status_code == 412
    assert post(changes(order), NO_TELL_TALES | {"dry_run": True}, tag=tag).status_code == 412
    assert api.post(changes(order), NO_TELL_TALES, format="json", headers={"Idempotency-Key": "without-a-tag"}).status_code == 428
    assert api.post(changes(order), NO_TELL_TALES, format="json", headers={"If-Match": "*"}).status_code == 400
    assert Revision.objects.count() == 2


def test_the_whole_list_as_text_or_as_rows_asks_for_the_same(order: Order, post: Post) -> None:
    text = order_changes.current_list(selectors.order(order.pk)).decode().replace("214,,,window", "214,,,window; no tell_tales")
    rows = list(csv.DictReader(io.StringIO(text)))
    by_line = post(changes(order), NO_TELL_TALES | {"dry_run": True}).json()
    assert post(changes(order), {"csv": text, "dry_run": True}).json() == by_line
    assert post(changes(order), {"boats": rows, "dry_run": True}).json() == by_line


@pytest.mark.parametrize(
    ("label", "body", "told"),
    [
        ("nothing asked", {}, [("lines", "invalid")]),
        ("two ways", NO_TELL_TALES | {"csv": "boat,owner,sail_number\n"}, [("lines", "invalid")]),
        (
            "all that is wrong at once",
            {"lines": [{"position": 3, "columns": {"note": "x"}}, {"position": 1, "columns": {"boat": "Egret", "sizes": "1"}}]},
            [
                ("lines[0].position", "no_such_line"), ("lines[1].columns.boat", "unknown_column"),
                ("lines[1].columns.sizes", "unknown_column"),
            ],
        ),
        ("a line twice", {"lines": [{"position": 1, "columns": {"note": "x"}}] * 2}, [("lines[1].position", "twice")]),
        (
            "no such option", {"lines": [{"position": 2, "columns": {"options": "porthole"}}]},
            [("lines[0].columns.options", "unknown_option")],
        ),
        ("nothing new", {"lines": [{"position": 1, "columns": {"options": "window"}}]}, [("boats", "nothing_changed")]),
        ("an object's row", {"boats": [{"boat": "Heron", "owner": "Maud Pellow", "sail_number": "214"}]}, [("boats", "other_sails")]),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told_at_its_place(
    order: Order, post: Post, label: str, body: dict[str, Any], told: list[tuple[str, str]]
) -> None:
    answer = post(changes(order), body)
    assert answer.status_code == 400, (label, answer.json())
    assert [(p["path"], p["code"]) for p in answer.json()["details"]] == told
    assert Revision.objects.count() == 1


def test_a_change_is_taken_back_and_the_order_stays(order: Order, post: Post, api: APIClient, manager: User) -> None:
    change = issued(order, manager)
    before, tag = as_stored(order), api.get(changes(order))["ETag"]
    assert post(f"{changes(order)}1/cancel/", tag=tag).status_code == 404  # the quote itself is no change
    assert post(f"{changes(order)}2/cancel/", tag='"0"').status_code == 412
    done = post(f"{changes(order)}2/cancel/", tag=tag)
    assert (done.status_code, done.json()[0]["state"]) == (200, "cancelled")
    assert Revision.objects.get(pk=change.pk).link.revoked_at is not None
    assert as_stored(order) == before
    assert post(f"{changes(order)}2/cancel/").status_code == 409
    entry = AuditEntry.objects.get(action="cancel")
    assert (entry.who, entry.before, entry.after) == ("manager", {"state": "issued"}, {"state": "cancelled", "revision": 2})


def test_the_audit_says_who_changed_what_from_what_to_what(order: Order, post: Post, manager: User) -> None:
    post(changes(order), {"lines": [{"position": 1, "columns": {"options": "no tell_tales", "note": "for Maud"}}]})
    entry = AuditEntry.objects.get(action="draft_change")
    assert (entry.who, entry.before["line 1 options.tell_tales"], entry.after["line 1 options.tell_tales"]) == ("manager", "yes", "no")
    assert entry.before["gross_minor"] == order.gross_minor != entry.after["gross_minor"]
    assert "for Maud" not in str(entry.after)
    assert entry.personal.after == {"line 1 note": "for Maud"}


@pytest.mark.parametrize(
    "body", [r'{"lines": [{"position": 1, "columns": {"\ud800": "x"}}]}', r'{"boats": [{"boat": "Heron", "a\ud800": "x"}]}']
)
def test_a_column_name_that_cannot_be_written_is_refused(order: Order, api: APIClient, body: str) -> None:
    headers = {"Idempotency-Key": uuid.uuid4().hex, "If-Match": "*"}
    refused = api.post(f"/api/orders/{order.pk}/changes/", body, content_type="application/json", headers=headers)
    assert refused.status_code == 400 and "cannot be written" in refused.json()["details"][0]["message"]
    assert Revision.objects.count() == 1
