"""The page of an order's members, what it writes, and the one page that a member with a suit has."""

from __future__ import annotations

import re

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone

from loft.catalogue import services as catalogue
from loft.common.models import AuditEntry
from loft.customers.models import Boat
from loft.jobs import services as jobs
from loft.orders import links, selectors, services
from loft.orders.models import MemberLetter, Order, OrderLine
from loft.workshop.models import Requirement
from tests import desk, skerling
from tests.pages.conftest import issue_now
from tests.pages.markup import Page, words

SUITS = (
    b"boat,owner,sail_number,pattern,luff_length,email\n"
    b"Heron,Maud Pellow,214,,5.21 m,maud@skerling.example\n"
    b"Heron,Maud Pellow,214,SK13-JIB,,\n"
    b"Linnet,Morwenna Fell,to follow,,,\n"
)


@pytest.fixture
def order(loft: None, manager: User) -> Order:
    """An association's order of a suit and a main, opened a moment ago."""
    catalogue.load_pattern(text=skerling.text("sk13_jib_v1.toml"))
    return services.accept(token=desk.token_of(issue_now(manager, SUITS)), name="Hester Lorne", now=timezone.now())


def token(order: Order, position: int) -> str:
    """The link of one sail, as it was given before a suit had one of its own."""
    line = OrderLine.objects.get(order=order, position=position)
    nonce = selectors.link_of_order(order).nonce
    return links.member_token(line=line.pk, order=order.pk, nonce=nonce)


def test_a_suit_has_one_link_and_a_sails_old_one_opens_the_same_page(order: Order, client: Client) -> None:
    found = [address for _, address in selectors.member_links(selectors.order(order.pk), base_url="http://loft")]
    assert found[0] == found[1] == f"http://loft/member/{token(order, 1)}/" != found[2]
    pages = [client.get(f"/member/{token(order, position)}/").content.decode() for position in (1, 2, 3)]
    for text in map(words, pages[:2]):
        assert "Your 2 sails for Heron" in text and "You confirm all 2 sails at once" in text
        assert ("Heron 214, mainsail" in text, "Heron 214, headsail" in text, "Linnet" in text) == (True, True, False)
    assert "Your sail: Linnet (number to follow)" in words(pages[2]) and "Heron" not in words(pages[2])
    assert [Page(html).faults for html in pages] == [[], [], []]
    main, jib = (client.get(f"/member/{token(order, 2)}/sail-{position}.svg") for position in (1, 2))
    assert main.content[:4] == jib.content[:4] == b"<svg" and main.content != jib.content
    assert client.get(f"/member/{token(order, 2)}/sail.svg").content == jib.content
    for position in (3, 4):
        assert client.get(f"/member/{token(order, 1)}/sail-{position}.svg").status_code == 404


def test_all_sails_of_the_boat_are_confirmed_at_once_and_none_of_another(order: Order, client: Client) -> None:
    desk.keep_fit_sheets(order)
    needs = Requirement.objects.filter(ticket__line__order=order, kind="fit", met_at=None)
    before = needs.count()
    for name in ("Maud Pellow", "Somebody Else"):
        assert client.post(f"/member/{token(order, 2)}/", {"name": name}).status_code == 302
    kept = OrderLine.objects.filter(order=order).order_by("position").values_list("confirmed_name", flat=True)
    assert list(kept) == ["Maud Pellow", "Maud Pellow", ""]
    assert before > needs.count() and not needs.filter(ticket__line__boat="Heron").exists()
    entries = AuditEntry.objects.filter(action="confirm_details").order_by("pk")
    assert [(e.who, e.after) for e in entries] == [("the member", {"ticket": f"O-0001-0{n}"}) for n in (1, 2)]
    assert "Maud Pellow confirmed them" in words(client.get(f"/member/{token(order, 1)}/").content.decode())


def test_what_one_sail_confirmed_before_stays_and_the_rest_follows(order: Order, client: Client) -> None:
    OrderLine.objects.filter(order=order, position=2).update(confirmed_at=timezone.now(), confirmed_name="M. Pellow")
    assert "You confirm what is left at once" in words(client.get(f"/member/{token(order, 1)}/").content.decode())
    client.post(f"/member/{token(order, 1)}/", {"name": "Maud Pellow"})
    kept = OrderLine.objects.filter(order=order).order_by("position").values_list("confirmed_name", flat=True)
    assert list(kept) == ["Maud Pellow", "M. Pellow", ""]


def _press(client: Client, address: str, button: str, **more: str) -> str:
    """Press the button of the form with this letter; the page that it leads to."""
    html = client.get(address).content.decode()
    form = re.search(rf'<form[^>]*>(?:(?!</form>).)*value="{button}".*?</form>', html, re.DOTALL)
    assert form is not None
    hidden = Page(form[0]).hidden
    answer = client.post(f"{address}write/", hidden | more, follow=True)
    assert answer.redirect_chain == [(address, 302)]
    return words(answer.content.decode())


def test_the_buttons_write_and_remind_and_the_page_tells_how_far_it_is(order: Order, at_the_desk: Client, client: Client) -> None:
    address = f"/orders/{order.pk}/members/"
    assert f'href="{address}"' in at_the_desk.get(f"/orders/{order.pk}/").content.decode()
    html = at_the_desk.get(address).content.decode()
    assert Page(html).faults == []
    assert "2 members · 0 written to · 0 confirmed" in words(html) and "Write to the members (1)" in words(html)
    linnet = Boat.objects.get(name="Linnet")
    assert f'No mail address yet: <a href="/boats/{linnet.pk}/">Morwenna Fell</a>' in html
    shown = _press(at_the_desk, address, "details")
    assert "On their way: 1 letter, to Maud Pellow" in shown and "No mail address is kept for Morwenna Fell" in shown
    jobs.run_ready(lane="mail")
    assert "Asked for his details" in (shown := words(at_the_desk.get(address).content.decode()))
    assert "sent to maud@skerling.example" in shown and "1 written to" in shown
    assert "On their way: 1 letter, to Maud Pellow" in _press(at_the_desk, address, "reminder")
    assert "once more (1)" in words(at_the_desk.get(address).content.decode())
    assert "On their way: 1 letter, to Maud Pellow" in _press(at_the_desk, address, "reminder")
    kinds = MemberLetter.objects.order_by("pk").values_list("kind", flat=True)
    assert list(kinds) == ["details", "reminder", "reminder"]
    client.post(f"/member/{token(order, 1)}/", {"name": "Maud Pellow"})
    assert "1 confirmed" in (shown := words(at_the_desk.get(address).content.decode()))
    assert "Write again" not in shown


def test_a_form_that_is_sent_twice_writes_once(order: Order, at_the_desk: Client) -> None:
    address, form = f"/orders/{order.pk}/members/write/", {"kind": "details", "again": "yes", "idempotency_key": "the-same-form"}
    for _ in range(2):
        assert at_the_desk.post(address, form).status_code == 302
    assert MemberLetter.objects.count() == 1
    assert at_the_desk.post(address, {"kind": "invoice", "idempotency_key": "another-form"}).status_code == 400


def test_over_http(order: Order, at_the_desk: Client) -> None:
    address = f"/api/orders/{order.pk}/members/"
    heron, linnet = at_the_desk.get(address).json()
    assert (heron["positions"], heron["owner"], heron["email"], heron["letters"]) == ([1, 2], "Maud Pellow", "maud@skerling.example", [])
    assert (linnet["positions"], linnet["email"], linnet["confirmed_at"]) == ([3], "", None)
    assert heron["address"].endswith(f"/member/{token(order, 1)}/")

    def write(key: str, **body: object) -> tuple[int, dict[str, object]]:
        answer = at_the_desk.post(f"{address}letters/", body, "application/json", headers={"Idempotency-Key": key})
        return answer.status_code, answer.json()

    first = write("letters-0001")
    assert first == (200, {"written": [1], "without_address": [3], "passed_over": []})
    assert write("letters-0001") == first
    assert write("letters-0002") == (200, {"written": [], "without_address": [3], "passed_over": [1]})
    assert write("letters-0003", positions=[2], again=True)[1]["written"] == [1]
    assert [row["letter"] for row in at_the_desk.get(address).json()[0]["letters"]] == ["details", "details"]
    assert write("letters-0004", positions=[7]) == (
        400, {"code": "invalid_input", "message": "One thing in the request is wrong.", "details": [
            {"path": "positions", "code": "unknown", "message": "O-0001 has no line 7"},
        ]},
    )  # fmt: skip


def test_an_order_without_members_has_no_such_page(loft: None, manager: User, at_the_desk: Client) -> None:
    draft = desk.draft(desk.ONE_BOAT, customer=desk.association(kind="person"), by=manager)
    row = services.issue(revision=draft, by=manager, now=timezone.now())
    order = services.accept(token=desk.token_of(row), name="Maud", now=timezone.now())
    assert at_the_desk.get(f"/orders/{order.pk}/members/").status_code == 404
    assert at_the_desk.get(f"/api/orders/{order.pk}/members/").json() == []
    assert f"/orders/{order.pk}/members/" not in at_the_desk.get(f"/orders/{order.pk}/").content.decode()
