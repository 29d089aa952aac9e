"""NON-CLASS on the pages: the list that asks for it, the issue, the customer's answer, the ticket and the member's page."""

from __future__ import annotations

import html
from datetime import date

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone

from loft.catalogue import services as catalogue
from loft.common import selectors as common
from loft.orders import selectors, services
from loft.orders.models import Order, Revision
from loft.workshop.models import Ticket
from loft.workshop.states import Need
from tests import desk
from tests.orders.test_new_edition import TIGHT, edition, line_ticket, release
from tests.orders.test_non_class import MARKED, OVER, YES
from tests.pages.test_quote_pages import form


def words(response: object) -> str:
    return html.unescape(response.content.decode())  # type: ignore[attr-defined]


@pytest.fixture
def draft(loft: None) -> Revision:
    return desk.draft(MARKED)


@pytest.fixture
def order(draft: Revision, manager: User) -> Order:
    now = timezone.now()
    revision = services.issue(revision=draft, by=manager, now=now, reason=YES)
    return services.accept(token=desk.token_of(revision), name="Hester Lorne", now=now)


def test_the_draft_says_it_and_asks_for_the_written_yes(draft: Revision, at_the_desk: Client, office: User) -> None:
    path = f"/quotes/{draft.quote_id}/"
    page = words(at_the_desk.get(path))
    assert "NOT CLASS LEGAL" in page and OVER in page and "write down the owner's yes" in page
    refused = words(at_the_desk.post(f"{path}issue/", {"revision": 1, "reason": ""}))
    assert f"Lapwing 171 is NON-CLASS ({OVER})" in refused
    other = Client()
    other.force_login(office)
    page = words(other.get(path))
    assert "a manager issues it, with the owner's written yes" in page and "Issue to the customer" not in page
    assert other.post(f"{path}issue/", {"revision": 1, "reason": YES}).status_code == 403
    at_the_desk.post(f"{path}issue/", {"revision": 1, "reason": YES})
    draft.refresh_from_db()
    assert (draft.state, draft.reason) == ("issued", YES)


def test_a_form_that_is_refused_tells_the_ways(loft: None, at_the_desk: Client) -> None:
    page = words(at_the_desk.get("/help/"))
    assert "non_class" in page and "manager issues it on the owner's written yes" in page
    answer = at_the_desk.post("/quotes/new/", form(boats=MARKED.replace(b"window,yes", b"window,").decode()))
    assert answer.status_code == 400 and "have the owner sell it as NON-CLASS" in words(answer)


def test_the_customer_reads_it_before_and_after_accepting(draft: Revision, manager: User) -> None:
    revision = services.issue(revision=draft, by=manager, now=timezone.now(), reason=YES)
    path, customer = f"/accept/{desk.token_of(revision)}/", Client()
    page = words(customer.get(path))
    assert f"Lapwing 171: {OVER}" in page and "By accepting you agree to that." in page
    assert "Not so a sail that is NOT CLASS LEGAL." in page
    customer.post(path, {"name": "Hester Lorne", "agreed": "yes"})
    assert f"NOT CLASS LEGAL: Lapwing 171: {OVER}" in words(customer.get(path)).replace("</strong>", "")


def test_a_quote_of_class_sails_says_nothing_of_it(loft: None, manager: User, at_the_desk: Client) -> None:
    revision = services.issue(revision=desk.draft(), by=manager, now=timezone.now())
    for path in (f"/accept/{desk.token_of(revision)}/", f"/quotes/{revision.quote_id}/"):
        assert "NOT CLASS LEGAL" not in words(at_the_desk.get(path))


def test_ticket_order_lists_and_drawing_say_it(order: Order, on_the_floor: Client) -> None:
    ticket, other = line_ticket(order, 2), line_ticket(order, 1)
    page = words(on_the_floor.get(f"/tickets/{ticket.pk}/"))
    assert "NOT CLASS LEGAL" in page and OVER in page and f"sail.svg?ticket={ticket.pk}" in page
    assert "NOT CLASS LEGAL" not in words(on_the_floor.get(f"/tickets/{other.pk}/"))
    assert words(on_the_floor.get("/tickets/")).count("NOT CLASS LEGAL") == 1
    assert words(on_the_floor.get(f"/orders/{order.pk}/")).count("NOT CLASS LEGAL") == 1
    drawing = words(on_the_floor.get(f"/designs/{ticket.design.key}/sail.svg"))
    assert "NOT CLASS LEGAL" in drawing and OVER in drawing
    assert "NOT CLASS LEGAL" not in words(on_the_floor.get(f"/designs/{other.design.key}/sail.svg"))


def test_the_member_s_page_says_it(order: Order) -> None:
    (_, _), (line, address) = selectors.member_links(selectors.order(order.pk), base_url=common.loft_profile().public_base_url)
    assert line.label == "Lapwing 171"
    path = "/member/" + address.split("/member/")[1]
    page = words(Client().get(path))
    assert "NOT CLASS LEGAL" in page and OVER in page and "measurer to say" not in page
    assert OVER in words(Client().get(f"{path}sail.svg"))


def test_the_manager_settles_a_held_ticket_on_its_page(loft: None, manager: User, office: User, at_the_desk: Client) -> None:
    """Days far ahead: the page reads the clock."""
    order = desk.accepted(manager)
    catalogue.load_class(text=edition(TIGHT, valid_from="2100-01-01"))
    services.set_due_date(order=order, due_on=date(2100, 2, 1))
    ticket = release(order, 1, manager)
    path = f"/tickets/{ticket.pk}/"
    assert "Sell as NON-CLASS" in words(at_the_desk.get(path))
    other = Client()
    other.force_login(office)
    page = words(other.get(path))
    assert "Sell as NON-CLASS" not in page and "or a manager sells it as NON-CLASS" in page
    sent = {"version": ticket.version, "name": "Maud Pellow", "said_on": "2026-03-01", "words": "yes"}
    assert other.post(f"{path}non-class/", sent).status_code == 403
    assert "is no day of the written yes" in words(at_the_desk.post(f"{path}non-class/", sent | {"said_on": "May"}, follow=True))
    page = words(at_the_desk.post(f"{path}non-class/", sent, follow=True))
    assert "Sold as NON-CLASS" in page and "is released" in page and "10 mm over the maximum of 1,460 mm" in page
    assert "edition 2026: half width" in words(at_the_desk.get(f"/designs/{ticket.design.key}/sail.svg?ticket={ticket.pk}"))
    assert "NOT CLASS" not in words(at_the_desk.get(f"/designs/{ticket.design.key}/sail.svg"))
    assert not Ticket.objects.get(pk=ticket.pk).requirements.filter(kind=Need.LABEL).exists()
