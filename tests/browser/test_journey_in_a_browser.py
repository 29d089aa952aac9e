"""The main job by hand: a manager drafts and issues, the customer accepts through the mail's link, the board shows the order."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from django.contrib.auth.models import User

from loft.orders.models import Order, Quote
from tests import desk, skerling
from tests.browser.conftest import OpenPage
from tests.pages.conftest import issue_now

if TYPE_CHECKING:
    from playwright.sync_api import Page

_FIXTURE = skerling.FIXTURES / "skerling_batch_2026.csv"


def sign_in(page: Page, site: str, name: str) -> None:
    page.goto(f"{site}/")
    page.get_by_label("Name").fill(name)
    page.get_by_label("Password").fill("a-long-password")
    page.get_by_role("button", name="Sign in").click()


def draft(page: Page, site: str) -> None:
    """Fill in the form as a manager does, with the association's own file."""
    page.goto(f"{site}/quotes/new/")
    page.get_by_label("For whom").select_option(label="a new customer (fields below)")
    page.get_by_label("Name", exact=True).fill(skerling.CUSTOMER)
    page.get_by_label("Mail address").fill("sails@skerling.example")
    page.get_by_label("Prices of the day").fill("2026-03-02")
    page.get_by_label("Terms").select_option("ASSOC-2026")
    page.get_by_label("File").set_input_files(_FIXTURE)
    page.get_by_role("button", name="Price and keep as a draft").click()
    page.get_by_role("heading", name="Draft quote").wait_for()


@pytest.mark.parametrize("scripts", [True, False], ids=["with scripts", "without scripts"])
def test_from_the_list_of_boats_to_the_order_board(scripts: bool, site: str, manager: User, open_page: OpenPage) -> None:
    at_the_desk = open_page(scripts=scripts)
    sign_in(at_the_desk, site, "manager")
    assert "No open orders" in at_the_desk.inner_text("main")

    draft(at_the_desk, site)
    assert "Wagtail 240" in at_the_desk.inner_text("main")
    at_the_desk.get_by_role("button", name="Issue to the customer").click()
    at_the_desk.get_by_role("heading", name="Quote Q-0001").wait_for()

    quote = Quote.objects.get()
    letter = desk.sent(f"quote_issued:{quote.revisions.get().pk}")
    customer = open_page(width=390, scripts=scripts)
    customer.goto(desk.link_in(letter))
    assert "Quote Q-0001" in customer.inner_text("h1")
    assert Order.objects.count() == 0
    customer.get_by_label("Your name").fill("Hester Lorne")
    customer.get_by_label("I accept quote Q-0001").check()
    customer.get_by_role("button", name="Accept and order").click()
    customer.get_by_role("heading", name="Thank you: your order is O-0001").wait_for()

    at_the_desk.goto(f"{site}/")
    row = at_the_desk.get_by_role("row", name="O-0001")
    assert skerling.CUSTOMER in row.inner_text()
    assert "12 held" in row.inner_text()
    assert "sail number (1 of 12) from Morwenna Fell" in row.inner_text()


def test_a_double_click_drafts_one_quote(site: str, manager: User, open_page: OpenPage) -> None:
    page = open_page()
    sign_in(page, site, "manager")
    page.goto(f"{site}/quotes/new/")
    page.get_by_label("For whom").select_option("new")
    page.get_by_label("Name", exact=True).fill(skerling.CUSTOMER)
    page.get_by_label("Prices of the day").fill("2026-03-02")
    page.get_by_label("Or the text").fill(desk.TWO_BOATS.decode())
    page.get_by_role("button", name="Price and keep as a draft").dblclick()
    page.get_by_role("heading", name="Draft quote").wait_for()
    assert Quote.objects.count() == 1


def test_what_is_wrong_gets_the_focus_and_the_text_stays(site: str, manager: User, open_page: OpenPage) -> None:
    page = open_page()
    sign_in(page, site, "manager")
    page.goto(f"{site}/quotes/new/")
    page.get_by_label("Or the text").fill('boat,owner,sail_number,luff_length\nHeron,Maud Pellow,214,"5,21 m"\n')
    page.get_by_role("button", name="Price and keep as a draft").click()
    page.get_by_role("heading", name="2 things are wrong: nothing was stored").wait_for()
    assert page.evaluate("document.activeElement.id") == "problems"
    assert page.get_by_role("row", name="2 luff_length 5,21 m").count() == 1
    assert '214,"5,21 m"' in page.get_by_label("Or the text").input_value()


def test_no_page_is_wider_than_a_phone(site: str, manager: User, open_page: OpenPage) -> None:
    order = desk.accepted(manager)
    ticket = order.lines.order_by("position")[1].ticket_id
    page = open_page(width=390)
    sign_in(page, site, "manager")
    quote = order.revision.quote_id
    paths = ("/", "/quotes/", "/quotes/new/", f"/quotes/{quote}/", f"/orders/{order.pk}/", "/tickets/", f"/tickets/{ticket}/", "/help/")
    links = [f"/accept/{desk.token_of(revision)}/" for revision in (order.revision, issue_now(manager))]
    for path in (*paths, *links, "/accept/no-such-link/", "/no-such-page/"):
        page.goto(f"{site}{path}")
        page.evaluate("for (const more of document.querySelectorAll('details')) more.open = true")
        assert page.evaluate("document.documentElement.scrollWidth") <= 390, path


def test_drawings_are_drawn(site: str, manager: User, open_page: OpenPage) -> None:
    order = desk.accepted(manager, desk.ONE_BOAT)
    page = open_page()
    sign_in(page, site, "manager")
    page.goto(f"{site}/quotes/{order.revision.quote_id}/")
    for picture in page.locator("img.drawing").all():
        picture.scroll_into_view_if_needed()
        picture.evaluate("image => image.decode()")
        assert picture.evaluate("image => image.naturalWidth > 100 && image.naturalHeight > 100")
    assert page.locator("img.drawing").count() == 2


def test_the_pages_of_the_api_run_under_the_content_policy(site: str, manager: User, open_page: OpenPage) -> None:
    page = open_page()
    sign_in(page, site, "manager")
    page.goto(f"{site}/help/")
    page.get_by_role("link", name="the API's own pages").click()
    page.locator(".opblock", has_text="/api/quotes/{id}/issue/").wait_for()
