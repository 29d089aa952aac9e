"""Roles by pages: a stranger signs in first, the floor sees no money, and every page keeps to the house rules of HTML."""

from __future__ import annotations

import io
from decimal import Decimal

from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone
from pypdf import PdfReader

from loft.orders import paper, services
from loft.orders.models import Order
from tests import desk
from tests.pages.markup import Page, words

# page, allowed to a cutter
PAGES = [
    ("/", True),
    ("/quotes/", False),
    ("/quotes/?state=accepted", False),
    ("/quotes/new/", False),
    ("/quotes/{quote}/", False),
    ("/quotes/{quote}/revisions/1/quote.pdf", False),
    ("/quotes/{quote}/revisions/1/cost-sheet.pdf", False),
    ("/customers/{customer}/", False),
    ("/orders/{order}/", True),
    ("/tickets/", True),
    ("/tickets/?state=all&order=O-0001&waiting=cloth", True),
    ("/tickets/{ticket}/", True),
    ("/tickets/{ticket}/cutter.pdf", True),
    ("/tickets/{ticket}/sewer.pdf", True),
    ("/tickets/{ticket}/finisher.pdf", True),
    ("/designs/{design}/sail.svg", True),
    ("/designs/{design}/lay.svg", True),
    ("/help/", True),
    ("/help/boats-example.csv", True),
]

# address, allowed to a cutter
WRITES = [
    ("/quotes/{quote}/issue/", False),
    ("/quotes/{quote}/cancel/", False),
    ("/quotes/{quote}/revise/", False),
    ("/orders/{order}/payments/", False),
    ("/orders/{order}/due/", False),
    ("/orders/{order}/deliver/", False),
    ("/orders/{order}/cancel/", False),
    ("/tickets/{ticket}/fit/", False),
    ("/tickets/{ticket}/options/", False),
    ("/tickets/{ticket}/scrap/", False),
    ("/tickets/{ticket}/sail-number/", False),
    ("/orders/{order}/cloth/", True),
    ("/tickets/{ticket}/cloth/", True),
    ("/tickets/{ticket}/label/", True),
    ("/tickets/{ticket}/steps/1/start/", True),
    ("/tickets/{ticket}/steps/1/finish/", True),
]


def place(address: str, order: Order) -> str:
    line = order.lines.select_related("ticket__design").order_by("position")[1]
    return address.format(
        quote=order.revision.quote_id, customer=order.customer_id, order=order.pk, ticket=line.ticket_id, design=line.ticket.design.key
    )


def test_pages_by_role(accepted: Order, client: Client, at_the_desk: Client, on_the_floor: Client) -> None:
    for address, for_cutter in PAGES:
        path = place(address, accepted)
        stranger = client.get(path)
        assert (stranger.status_code, stranger["Location"].split("?")[0]) == (302, "/login/"), address
        assert at_the_desk.get(path).status_code == 200, address
        assert on_the_floor.get(path).status_code == (200 if for_cutter else 403), address


def test_writes_by_role(accepted: Order, client: Client, on_the_floor: Client) -> None:
    for address, for_cutter in WRITES:
        path = place(address, accepted)
        stranger = client.post(path)
        assert (stranger.status_code, stranger["Location"].split("?")[0]) == (302, "/login/"), address
        answer = on_the_floor.post(path)
        assert answer.status_code in ((302, 409) if for_cutter else (403,)), address
        if not for_cutter:
            assert "This needs the role manager" in words(answer.content.decode()), address


def test_no_write_answers_to_get(accepted: Order, at_the_desk: Client) -> None:
    for address, _ in WRITES:
        if not address.endswith("/revise/"):
            assert at_the_desk.get(place(address, accepted)).status_code == 405, address


def test_a_person_without_a_role_may_see_and_do_nothing(accepted: Order, client: Client) -> None:
    client.force_login(User.objects.create_user("passer-by", password="a-long-password"))
    for address, _ in PAGES:
        assert client.get(place(address, accepted)).status_code == 403, address
    for address, _ in WRITES:
        assert client.post(place(address, accepted)).status_code == 403, address


def amounts_of(order: Order) -> set[str]:
    """Every amount of an order that is too large to be a size or minutes by chance, as pages and papers write it."""
    batch = paper.thaw(order.revision)
    values = {batch.totals.net, batch.totals.gross, batch.totals.tax, batch.totals.deposit, batch.cost}
    for sail in batch.sails:
        values |= {sail.net, sail.cost, sail.one_off_cost, *(item.unit_price for item in sail.items), *(item.net for item in sail.items)}
        values |= {line.amount for line in (*sail.cost_lines, *sail.alone_lines)}
    return {text for value in values if value > Decimal(50) for text in (f"{value:,.2f}", f"{value:.2f}")}


def test_the_floor_sees_no_money_anywhere(accepted: Order, at_the_desk: Client, on_the_floor: Client) -> None:
    amounts = amounts_of(accepted)
    assert len(amounts) > 10
    for address in (a for a, for_cutter in PAGES if for_cutter):
        response = on_the_floor.get(place(address, accepted))
        text = text_of(response.content, response["Content-Type"])
        assert "GBP" not in text, address
        assert "£" not in text, address
        assert not {a for a in amounts if a in text}, address
    # The same page shows a manager the money: the check above looks for what is really there.
    shown = at_the_desk.get(f"/orders/{accepted.pk}/").content.decode()
    assert {a for a in amounts if a in shown}
    assert "GBP" in shown


def text_of(content: bytes, kind: str) -> str:
    if kind == "application/pdf":
        return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(content)).pages)
    return content.decode() if kind.startswith("text/csv") else words(content.decode())


def test_every_page_keeps_to_the_content_policy_and_names_its_fields(accepted: Order, at_the_desk: Client, client: Client) -> None:
    token = desk.token_of(accepted.revision)
    seen = [("/login/", client.get("/login/")), ("/accept/", client.get(f"/accept/{token}/")), ("404", at_the_desk.get("/no-such-page/"))]
    seen += [(a, at_the_desk.get(place(a, accepted))) for a, _ in PAGES]
    html = [(a, r) for a, r in seen if r["Content-Type"].startswith("text/html")]
    assert len(html) >= 12
    for address, response in html:
        assert Page(response.content.decode()).faults == [], address
        assert "unsafe-inline" not in response["Content-Security-Policy"]


def test_the_content_policy_check_sees_what_it_is_for() -> None:
    head = '<html><body onload="x()"><h1>a</h1><h1>b</h1><style>p{}</style><p style="x">y</p>'
    faults = Page(head + '<input id="q"><script>1</script><img src="https://e.example/x">').faults
    assert {"onload on body", "2 h1", "inline style on style", "inline style on p", "no language"} < set(faults)
    assert {"input 'q' has no label", "inline script", "img from elsewhere: https://e.example/x"} < set(faults)
    assert "a picture without words for it" in faults


def test_names_with_markup_are_shown_as_they_are_written(loft: None, manager: User, at_the_desk: Client, client: Client) -> None:
    customer = desk.association(name='<script>alert(1)</script> & "Sons"')
    boats = b'boat,owner,sail_number,note\n<b>Teal</b>,Ann <i>O\'Dell</i>,77,"<img src=x onerror=alert(2)>"\n'
    revision = desk.draft(boats, customer=customer, by=manager)
    services.issue(revision=revision, by=manager, now=timezone.now())
    token = desk.token_of(revision)
    pages = [client.get(f"/accept/{token}/"), at_the_desk.get(f"/quotes/{revision.quote_id}/"), at_the_desk.get("/quotes/")]
    order = services.accept(token=token, name="<u>Hester</u>", now=timezone.now())
    ticket = order.lines.get().ticket_id
    pages += [at_the_desk.get(a) for a in ("/", f"/orders/{order.pk}/", "/tickets/", f"/tickets/{ticket}/")]
    pages += [client.get(f"/accept/{token}/")]
    for page in pages:
        html = page.content.decode()
        for raw in ("<script>alert", "<b>Teal", "<i>O'Dell", "<img src=x", "<u>Hester"):
            assert raw not in html, page.request["PATH_INFO"]
        assert Page(html).faults == []
    assert "&lt;script&gt;alert(1)&lt;/script&gt; &amp; &quot;Sons&quot;" in pages[3].content.decode()
    assert "&lt;b&gt;Teal&lt;/b&gt;" in pages[6].content.decode()
